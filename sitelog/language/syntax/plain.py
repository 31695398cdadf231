"""Look-alike characters made plain, one for one, so that every column stays what it was.

Phones and word processors put curly quotes, no-break blanks and other minus signs where the
installer typed plain ones; the grammar need not know.
"""

_LOOK_ALIKE = str.maketrans(
    {
        **dict.fromkeys(
            "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a", " "
        ),
        **dict.fromkeys("\u202f\u205f\u3000\u000b\u000c\r\u200b\ufeff", " "),
        **dict.fromkeys("\u201c\u201d\u201e\u201f\u2033\u00ab\u00bb", '"'),
        **dict.fromkeys("\u2018\u2019\u201a\u2032", "'"),
        **dict.fromkeys("\u2212\u2010\u2011\ufe63\uff0d", "-"),
        "\u02da": "°",  # ring above
        "\u00ba": "°",  # masculine ordinal, beside the degree sign on some keyboards
        "\u2126": "Ω",  # ohm sign
        "\u00b5": "µ",
        "\u03bc": "µ",
        "\u22c5": "·",
        "\u2219": "·",
        "\u2715": "×",
        "\u2a2f": "×",
    }
)


def plain(line: str) -> str:
    """The line with its look-alike characters replaced; as long as before."""
    return line if line.isascii() else line.translate(_LOOK_ALIKE)
