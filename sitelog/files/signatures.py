"""Signatures: a digest of what stands above, written into the line, and whether it still holds.

It catches accidents and quiet edits, not a forger: whoever can change the log can sign it again.

`digest-1:` is followed by hexadecimal digits: 64 for SHA-256 over the normalised lines above, 8 for the
sheets and kits used, and then one for each line, by which the first changed line can be named.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.files.records import Log
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.language.kinds.paper import DIGEST, Sign

_WHOLE, _USED = 64, 8
# A line is quotes, which stay as they are, a tail (remark or comment), which stays too, and the rest.
# Compiled when first needed, which for most sites is never.
_PIECES = r'(?s)"[^"]*"|--.*|[—–].*|(?<!\S)#(?:\s.*)?$|[ \t]+|.'


class Digest(NamedTuple):
    """The three parts of a digest, as hexadecimal digits."""

    whole: str
    used: str
    lines: str

    def __str__(self) -> str:
        return f"{DIGEST}{self.whole}{self.used}{self.lines}"


def normalised(lines: Iterable[str]) -> list[tuple[int, str]]:
    """The lines that count, with their numbers from 1: NFC, blanks as one, blank lines left out."""
    from unicodedata import normalize

    found: list[tuple[int, str]] = []
    for number, line in enumerate(lines, 1):
        pieces = re.findall(_PIECES, normalize("NFC", line).strip(" \t\r\ufeff"))
        text = "".join(" " if not piece.strip(" \t") else piece for piece in pieces)
        if text:
            found.append((number, text))
    return found


def digest_of(above: Sequence[str], used: Iterable[Sequence[str]]) -> Digest:
    """The digest of the lines above a signature, and of the lines of the sheets and kits used."""
    from hashlib import sha256

    lines = normalised(above)
    whole = sha256("\n".join(text for _, text in lines).encode()).hexdigest()
    files = sorted("\n".join(text for _, text in normalised(file)) for file in used)
    other = sha256("\0".join(files).encode()).hexdigest()[:_USED]
    return Digest(whole, other, "".join(sha256(text.encode()).hexdigest()[0] for _, text in lines))


def read_digest(text: str) -> Digest | None:
    """A digest as written; None for anything else."""
    digits = text.removeprefix(DIGEST)
    if not text.startswith(DIGEST) or not re.fullmatch(rf"[0-9a-f]{{{_WHOLE + _USED},}}", digits):
        return None
    return Digest(digits[:_WHOLE], digits[_WHOLE : _WHOLE + _USED], digits[_WHOLE + _USED :])


class SignatureCheck(NamedTuple):
    """One signature of a log and whether what it signs is unchanged.

    `holds` is None where it has no digest, `changed` the number of the first changed line where that
    can be told, `used` whether the sheets and kits are still the same.
    """

    sign: Sign
    line: int
    holds: bool | None
    changed: int
    used: bool


def signatures(log: Log, used: Sequence[Sequence[str]]) -> list[SignatureCheck]:
    """Every signature of a log, compared with the lines that stand above it now.

    `used` are the lines of each sheet and kit that the site is judged by.
    """
    found: list[SignatureCheck] = []
    for line in log.lines:
        record = line.record
        if not isinstance(record, Sign):
            continue
        number = line.entry.number
        written = read_digest(record.digest)
        if written is None:
            found.append(SignatureCheck(record, number, False if record.digest else None, 0, True))
            continue
        now = digest_of(log.text[: number - 1], used)
        holds = now.whole == written.whole
        changed = 0 if holds else _first_changed(log.text[: number - 1], written.lines, now.lines)
        found.append(SignatureCheck(record, number, holds, changed, now.used == written.used))
    return found


def _first_changed(above: Sequence[str], before: str, now: str) -> int:
    """The first line whose own digit differs; where lines were only cut off the end, the last that stands."""
    numbers = [number for number, _ in normalised(above)]
    for at, (signed, found) in enumerate(zip(before, now, strict=False)):
        if signed != found:
            return numbers[at]
    if len(before) == len(now):
        return 0  # one line in sixteen keeps its digit though it was changed
    return numbers[min(len(before), len(numbers) - 1)] if numbers else 0


def findings(log: Log, checks: Sequence[SignatureCheck]) -> list[Finding]:
    """What is wrong with a log's signatures, given as `signatures` found them, in the order of the log.

    A later valid signature with a reason turns a broken one into a warning.
    """
    found: list[Finding] = []
    for at, check in enumerate(checks):
        if check.holds is None or (check.holds and check.used):
            continue
        entry = check.sign.head.entry
        mended = next((later for later in checks[at + 1 :] if later.holds and reason(later.sign)), None)
        if check.holds:
            slug = "signed-with-other-sheets"
            message = f"the sheets or kits changed since {check.sign.who} signed in line {check.line}"
            help = "what was signed was judged by other limits or calibrations; sign again where it matters"
        elif read_digest(check.sign.digest) is None:
            slug, message, help = (
                "signature-broken",
                "the digest of this signature is damaged",
                "sign again, and say why",
            )
        else:
            slug = "signature-broken"
            where = f" (the first change is in line {check.changed})" if check.changed else ""
            message = f"what {check.sign.who} signed was changed afterwards{where}"
            help = 'put it back as it was, or sign again and say why: `sitelog sign WHO --because "…"`'
        severity = ""
        if mended is not None and slug == "signature-broken":
            severity, message = "warning", f"{message}; {mended.sign.who} signed again in line {mended.line}"
        end = entry.text.find(DIGEST)
        end = len(entry.text[:end].rstrip()) if end > 0 else entry.end
        found.append(finding_at(entry.span(log.file, entry.start, end), slug, message, help, severity))
    return found


def reason(sign: Sign) -> str:
    """Why it was signed all the same, or again; without the digest."""
    return sign.head.entry.remark.removesuffix(sign.digest).strip()
