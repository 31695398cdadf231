"""Signatures that are new, gone or broken."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.files.meaning import essence
from sitelog.files.signatures import SignatureCheck
from sitelog.judging.changes.shapes import Signature
from sitelog.judging.judged import Site


def signatures(before: Site, after: Site) -> Iterator[Signature]:
    old, new = list(before.signature_checks), list(after.signature_checks)
    pairs: list[tuple[SignatureCheck | None, SignatureCheck | None]] = []
    for exact in (True, False):
        for one in new.copy():
            other = next((held for held in old if _hand(held, exact) == _hand(one, exact)), None)
            if other is not None:
                old.remove(other)
                new.remove(one)
                pairs.append((other, one))
    pairs += [(None, one) for one in new]
    pairs += [(one, None) for one in old]
    for was, now in pairs:
        if how := _how_signed(was, now):
            held = now or was
            assert held is not None
            changed = held.changed if how == "broken" else 0
            yield Signature(how, held.sign.who, held.sign.purpose, held.sign.head.file, held.line, changed)


def _hand(held: SignatureCheck, exact: bool) -> tuple[str, ...]:
    sign = held.sign
    return (sign.who.casefold(), sign.purpose, *((sign.digest, str(essence(sign.head))) if exact else ()))


def _how_signed(was: SignatureCheck | None, now: SignatureCheck | None) -> str:
    if now is None:
        return "gone"
    if was is None:
        return "broken" if now.holds is False else "new"
    if was.holds is not False and now.holds is False:
        return "broken"
    if was.holds is False and now.holds:
        return "holds again" if was.sign.digest == now.sign.digest else "signed again"
    if was.sign.digest != now.sign.digest:
        return "signed again"
    if was.used and not now.used:
        return "sheets or kits changed"
    return "holds again" if now.used and not was.used else ""
