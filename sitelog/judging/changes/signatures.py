"""Signatures that are new, gone or broken."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.files.meaning import essence
from sitelog.files.signatures import SignatureCheck
from sitelog.judging.changes.shapes import Signature
from sitelog.judging.judged import Site


def signatures(before: Site, after: Site) -> Iterator[Signature]:
    """The signatures of a site that are new, gone, broken, whole again or made again."""
    old, new = list(before.signature_checks), list(after.signature_checks)
    pairs: list[tuple[SignatureCheck | None, SignatureCheck | None]] = []
    for exact in (True, False):
        for now in new.copy():
            was = next((check for check in old if _hand(check, exact) == _hand(now, exact)), None)
            if was is not None:
                old.remove(was)
                new.remove(now)
                pairs.append((was, now))
    pairs += [(None, check) for check in new]
    pairs += [(check, None) for check in old]
    for earlier, later in pairs:
        if how := _how_signed(earlier, later):
            check = later or earlier
            assert check is not None
            changed = check.changed if how == "broken" else 0
            sign = check.sign
            yield Signature(how, sign.who, sign.purpose, sign.head.file, check.line, changed)


def _hand(check: SignatureCheck, exact: bool) -> tuple[str, ...]:
    """Who signed for what; exactly that signature with its digest."""
    sign = check.sign
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
