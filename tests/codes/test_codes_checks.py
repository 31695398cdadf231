"""Check digits against published examples, and what they let through against arithmetic."""

import sys
from itertools import combinations

import pytest

from sitelog.notation.codes import SCHEMES, MissingLibraryError, fault

# Each number with its check characters, and where it is published.
RIGHT = [
    ("gs1", "6291041500213"),  # GS1 help page on check digits, worked example
    ("gs1", "8904000210037"),  # GS1 India help page on check digits, worked example
    ("gs1", "73513537"),  # python-stdnum, doctest of stdnum.ean (GTIN-8)
    ("gs1", "9780471117094"),  # python-stdnum, doctest of stdnum.ean (ISBN as EAN-13)
    ("gs1", "98412345678908"),  # python-stdnum, doctest of stdnum.ean (GTIN-14)
    ("mod-97-10", "79444"),  # ISO/IEC 7064, clause 7.4: 98 - (79400 mod 97) = 44
    ("mod-97-10", "060000123456758"),  # bank example quoted with ISO/IEC 7064, clause 7.4
    ("mod-97-10", "060000123458698"),  # the same: 98 where the remainder is 0
    ("mod-97-10", "9999123456789012141490"),  # python-stdnum, doctest of stdnum.iso7064.mod_97_10
    ("mod-11-2", "07940"),  # python-stdnum, doctest of stdnum.iso7064.mod_11_2
    ("mod-11-2", "079X"),  # the same: the check character may be X
    ("mod-37-36", "A12425GABC1234002M"),  # python-stdnum, doctest of stdnum.iso7064.mod_37_36
    ("mod-37-2", "G123489654321Y"),  # python-stdnum, doctest of stdnum.iso7064.mod_37_2
    ("luhn", "78949"),  # python-stdnum, doctest of stdnum.luhn
    ("mod-11-10", "794623"),  # python-stdnum, doctest of stdnum.iso7064.mod_11_10
    ("mod-11-10", "002006673085"),  # the same
    ("verhoeff", "12340"),  # python-stdnum, doctest of stdnum.verhoeff
    ("damm", "5724"),  # python-stdnum, doctest of stdnum.damm
]


@pytest.mark.parametrize(("scheme", "number"), RIGHT)
def test_published_numbers_hold(scheme: str, number: str) -> None:
    assert fault(scheme, number) == ""


@pytest.mark.parametrize(("scheme", "number"), RIGHT)
def test_every_single_wrong_digit_is_caught(scheme: str, number: str) -> None:
    """ISO/IEC 7064 and the two modulo 10 schemes catch every single substitution of a digit."""
    for at, sign in enumerate(number):
        for other in "0123456789":
            if other != sign and sign.isdigit():
                assert fault(scheme, number[:at] + other + number[at + 1 :])


def _exchanges_let_through(scheme: str) -> int:
    """Of the 45 pairs of unlike digits, those whose exchange leaves the check characters as they are."""
    found = 0
    for one in range(10):
        for other in range(one):
            right = next(
                number
                for check in range(10 ** SCHEMES[scheme].check * 11 // 10)
                if fault(scheme, number := f"4{one}{other}7" + _check(scheme, check)) == ""
            )
            found += fault(scheme, right[0] + right[2] + right[1] + right[3:]) == ""
    return found


def _check(scheme: str, number: int) -> str:
    last = SCHEMES[scheme].last
    return f"{number:02}" if SCHEMES[scheme].check == 2 else last[number % len(last)]


def test_what_exchanges_the_modulo_10_schemes_let_through() -> None:
    """By their definitions: GS1 one in nine (five pairs of 45), Luhn one in 45 (0 and 9)."""
    assert _exchanges_let_through("gs1") == 5
    assert _exchanges_let_through("luhn") == 1


def test_what_exchanges_mod_37_36_lets_through() -> None:
    """By its definition (ISO/IEC 7064): one pair of 630 neighbours, whatever stands in front of them."""
    signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    for before in "0H":
        let_through = 0
        for one, other in combinations(signs, 2):
            number = f"{before}{one}{other}"
            right = next(sign for sign in signs if fault("mod-37-36", number + sign) == "")
            let_through += fault("mod-37-36", f"{before}{other}{one}{right}") == ""
        assert let_through == 1


@pytest.mark.parametrize("scheme", ["mod-97-10", "mod-11-2", "verhoeff", "damm"])
def test_pure_systems_let_no_exchange_through(scheme: str) -> None:
    """ISO/IEC 7064: the pure systems catch every exchange of two neighbours; so do Verhoeff's and Damm's."""
    assert _exchanges_let_through(scheme) == 0


def test_an_exchange_that_gs1_catches_and_one_that_it_does_not() -> None:
    """GS1 General Specifications, 7.9.1, recomputed: a check digit promises nothing."""
    assert "should be" in fault("gs1", "8904000210073")  # 37 exchanged in 8904000210037
    assert fault("gs1", "1600000000001") == fault("gs1", "6100000000001") == ""


@pytest.mark.parametrize(
    ("scheme", "number", "words"),
    [
        ("gs1", "8904000210073", "the check character is 3, and by gs1 should be 5"),
        ("mod-97-10", "79445", "the check digits are 45, and by mod-97-10 should be 44"),
        ("luhn", "QX7894-9", "has `Q`, which luhn does not know"),
        ("mod-11-2", "X794", "has `X`, which mod-11-2 does not know"),  # X may only check
        ("mod-97-10", "4", "too short"),
        ("luhn", "", "too short"),
    ],
)
def test_what_is_said(scheme: str, number: str, words: str) -> None:
    """Common practice, no source: the message names what stands there and what should."""
    assert words in fault(scheme, number)


def test_separators_and_letter_case_count_for_nothing() -> None:
    """ISO/IEC 7064 works on the characters of the number; blanks and hyphens are printed for the eye."""
    assert fault("mod-37-36", "a12425-gabc-1234002-m") == ""


def test_a_scheme_without_its_library_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "stdnum", None)
    with pytest.raises(MissingLibraryError, match="python-stdnum"):
        fault("luhn", "78949")
