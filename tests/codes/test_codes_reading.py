"""What barcode readers type, against the structures of GS1 and ISO/IEC 15434 and documented examples."""

import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitelog.notation.codes import Code, MissingLibraryError, read_code

GS, RS, EOT = "\x1d", "\x1e", "\x04"  # ISO/IEC 15434:2019, from memory
ITEM = "06291041500213"  # GS1 help page on check digits, as a GTIN-14


@pytest.mark.parametrize(
    "raw",
    [
        f"01{ITEM}21QX2607-00418",
        f"]C101{ITEM}21QX2607-00418",  # GS1-128 (ISO/IEC 15424)
        f"]d201{ITEM}21QX2607-00418",  # GS1 DataMatrix
        f"]Q301{ITEM}21QX2607-00418",  # GS1 QR code
        f"{GS}01{ITEM}21QX2607-00418",  # FNC1 typed as the separator
        f"01{ITEM}21QX2607-00418{GS}10AB7",
        f"(01){ITEM}(21)QX2607-00418",  # as printed below the code
        f"]d1[)>{RS}05{GS}01{ITEM}{GS}21QX2607-00418{RS}{EOT}",  # ISO/IEC 15434 format 05, from memory
        f"https://example.com/01/{ITEM}/21/QX2607-00418",  # GS1 Digital Link
    ],
)
def test_gs1_in_every_form_gives_the_same(raw: str) -> None:
    """GS1 General Specifications: AI 01 is N2+N14, AI 21 is N2+X..20, ended by a separator unless last."""
    code = read_code(raw)
    assert (code.serial, code.item, code.digits, code.trouble) == ("QX2607-00418", ITEM, (), "")


def test_elements_without_separators_as_documented() -> None:
    """biip, documentation of gs1_messages: (01)07032069804988(15)210526(10)0329, without a serial."""
    code = read_code("010703206980498815210526100329")
    assert code.fields == (("01", "07032069804988"), ("15", "210526"), ("10", "0329"))
    assert (code.serial, code.item, code.lot) == ("", "07032069804988", "0329")


def test_compact_and_printed_form_are_one() -> None:
    """python-stdnum, doctest of stdnum.gs1_128: (01)38425876095074(17)181119(37)1."""
    compact, printed = "013842587609507417181119371", "(01)38425876095074(17)181119(37)1"
    assert read_code(compact) == read_code(printed)
    assert read_code(compact).fields == (("01", "38425876095074"), ("17", "181119"), ("37", "1"))


@pytest.mark.parametrize("day", ["260200", "260228"])
def test_a_day_of_00_loses_no_serial(day: str) -> None:
    """GS1 General Specifications, AI 11: YYMMDD, where DD may be 00."""
    assert read_code(f"01{ITEM}11{day}21QX12").serial == "QX12"


def test_a_parcel_is_no_serial() -> None:
    """GS1 General Specifications, AI 00: N2+N18, a logistic unit, whose 18th digit checks."""
    code = read_code("00123456789012345675")
    assert (code.fields, code.serial, code.digits) == ((("00", "123456789012345675"),), "", ())


def test_a_wrong_check_digit_is_said_and_the_serial_kept() -> None:
    """GS1 General Specifications, 7.9.1: 3 checks 0629104150021."""
    code = read_code("(01)06291041500214(21)QX12")
    assert code.serial == "QX12"
    assert code.digits == ("`06291041500214`: the check digit is 4, and should be 3",)


@pytest.mark.parametrize("raw", ["6291041500213", "]E06291041500213", "73513537", "8904000210037"])
def test_a_trade_item_alone_is_no_serial(raw: str) -> None:
    """GS1 help pages and python-stdnum's doctests: every box of its sort has the same GTIN."""
    code = read_code(raw)
    assert (code.serial, code.item) == ("", raw.removeprefix("]E0"))


@pytest.mark.parametrize(
    "raw", ["QX2607-00418", "]C0QX2607-00418", "]A0QX2607-00418", "6291041500214", "4711"]
)
def test_a_plain_code_is_the_serial(raw: str) -> None:
    """ISO/IEC 15424: C0 is Code 128 and A0 Code 39, neither with GS1 data."""
    assert read_code(raw).serial == raw.removeprefix("]C0").removeprefix("]A0")


@pytest.mark.parametrize("end", [RS + EOT, RS, ""])
def test_envelope_with_data_identifiers(end: str) -> None:
    """ANSI MH10.8.2: S serial, 1P supplier's part number, 1T lot; ISO/IEC 15434 from memory."""
    code = read_code(f"[)>{RS}06{GS}1PKD-3{GS}SQX2607-00418{GS}1TL9{GS}Q1{end}")
    assert (code.serial, code.item, code.lot) == ("QX2607-00418", "KD-3", "L9")
    assert code.fields[-1] == ("Q", "1")


def test_the_plainest_serial_comes_first() -> None:
    """ANSI MH10.8.2, from memory: 25S is a serial with its issuer in front."""
    assert read_code(f"[)>{RS}06{GS}25SUN123QX1{GS}SQX1{RS}{EOT}").serial == "QX1"
    assert read_code(f"[)>{RS}06{GS}25SUN123QX1{RS}{EOT}").serial == "UN123QX1"


def test_format_01_holds_no_data_identifiers() -> None:
    """ISO/IEC 15434: format 01 is transportation; a public page wrongly calls it data identifiers."""
    assert "format '01'" in read_code(f"[)>{RS}01{GS}SQX1{RS}{EOT}").trouble


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ("[)>06SQX1", "lost its separators"),
        (f"[)>{RS}06{GS}-1{RS}{EOT}", "no data identifier"),
        (f"[)>{RS}{EOT}", "is empty"),
        ("]C1", "is empty"),
        ("", "is empty"),
        (f"]C101{ITEM}21{'A' * 21}", "no GS1 element string"),  # AI 21 has at most 20 characters
        ("(9753)1", "no GS1 element string"),
        ("https://example.com/manual.pdf", "web address"),
        ("http://[", "web address"),
        (f"QX{RS}12", "control characters"),
        (RS + GS, "no GS1 element string"),  # separators and nothing between them
    ],
)
def test_what_cannot_be_read_says_why(raw: str, words: str) -> None:
    """Common practice, no source."""
    code = read_code(raw)
    assert words in code.trouble
    assert code == Code(trouble=code.trouble, help=code.help)


@given(st.text(alphabet=f"01249S1PAB]C()[>-/ {GS}{RS}{EOT}", max_size=60) | st.text(max_size=40))
def test_nothing_that_is_typed_raises(raw: str) -> None:
    code = read_code(raw)
    assert code.trouble or code.fields


@pytest.mark.parametrize("raw", [f"(01){ITEM}(21)QX1", f"https://example.com/01/{ITEM}"])
def test_gs1_without_its_library_says_so(monkeypatch: pytest.MonkeyPatch, raw: str) -> None:
    monkeypatch.setitem(sys.modules, "biip", None)
    with pytest.raises(MissingLibraryError, match="biip"):
        read_code(raw)
    assert read_code(f"[)>{RS}06{GS}SQX1{RS}{EOT}").serial == "QX1"  # needs none
