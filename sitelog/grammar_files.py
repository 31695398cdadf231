"""Where the grammars are: beside the package's modules when installed, one level up in a checkout."""

from pathlib import Path

_PACKAGE = Path(__file__).parent


def grammar_text(name: str) -> str:
    """The text of `grammar/<name>`, such as `query.lark`; FileNotFoundError where there is none."""
    installed = _PACKAGE / "grammar" / name
    if installed.is_file():
        return installed.read_text(encoding="utf-8")
    return (_PACKAGE.parent / "grammar" / name).read_text(encoding="utf-8")
