"""Signatures: a digest of what stands above, written into the line, and whether it still holds.

It catches accidents and quiet edits, not a forger: whoever can change the log can sign it again.

`digest-2:` is followed by hexadecimal digits: 64 for SHA-256 over the normalised lines above and the
signature's own line without its digest; 8 for the sheets and 8 for the kits; 4 each for how many lines the
kits have and how many photos and trials are named above; 3 for each line of the kits, 8 for the bytes of
each such file; and then one for each line, by which the first changed line can be named.

`digest-1:` covers the lines above (64), and the sheets and kits together (8). Its own line, the photos and
the trials are not in it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.files.attachments import file_hash
from sitelog.files.records import Log
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.language.kinds.electric import Series
from sitelog.language.kinds.paper import DIGEST, OLD_DIGEST, Photo, Sign

_WHOLE, _USED, _COUNT, _KIT_LINE, _FILE = 64, 8, 4, 3, 8
_ABSENT = "0" * _FILE
# A line is quotes, which stay as they are, a tail (remark or comment), which stays too, and the rest.
# Compiled when first needed, which for most sites is never.
_PIECES = r'(?s)"[^"]*"|--.*|[—–].*|(?<!\S)#(?:\s.*)?$|[ \t]+|.'


class Digest(NamedTuple):
    """The parts of a digest, as hexadecimal digits; `kit_lines` and `files` have a piece for each.

    Of a `digest-1:` only `whole`, `lines` and, for sheets and kits together, `sheets` are filled.
    """

    whole: str
    sheets: str
    kits: str
    kit_lines: tuple[str, ...]
    files: tuple[str, ...]
    lines: str

    def __str__(self) -> str:
        counts = f"{len(self.kit_lines):0{_COUNT}x}{len(self.files):0{_COUNT}x}"
        pieces = "".join((*self.kit_lines, *self.files))
        return f"{DIGEST}{self.whole}{self.sheets}{self.kits}{counts}{pieces}{self.lines}"


class SignedFiles(NamedTuple):
    """What a signature rests on besides its log: the lines of each sheet and kit, the paths it names."""

    sheets: Sequence[Sequence[str]] = ()
    kits: Sequence[Sequence[str]] = ()
    paths: Sequence[str] = ()


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


def digest_of(above: Sequence[str], own: str, files: SignedFiles) -> Digest:
    """The digest of the lines above a signature, of its own line, and of what it rests on."""
    lines = normalised((*above, own_line(own)))
    kit_lines = [text for kit in files.kits for _, text in normalised(kit)]
    return Digest(
        _hash("\n".join(text for _, text in lines)),
        _hash_of_all(files.sheets),
        _hash_of_all(files.kits),
        tuple(_hash(text)[:_KIT_LINE] for text in kit_lines),
        tuple((file_hash(path) or _ABSENT)[:_FILE] for path in files.paths),
        "".join(_hash(text)[0] for _, text in lines),
    )


def own_line(line: str) -> str:
    """A signature's own line without its digest: who, for what, when, and why."""
    return re.sub(rf"\s*(?:{DIGEST}|{OLD_DIGEST})\S*", "", line).rstrip()


def _old_digest_of(above: Sequence[str], files: SignedFiles) -> Digest:
    """What a `digest-1:` covers, as it would be now."""
    lines = normalised(above)
    whole, other = _hash("\n".join(text for _, text in lines)), _hash_of_all((*files.sheets, *files.kits))
    return Digest(whole, other, "", (), (), "".join(_hash(text)[0] for _, text in lines))


def _hash(text: str) -> str:
    from hashlib import sha256

    return sha256(text.encode()).hexdigest()


def _hash_of_all(files: Iterable[Sequence[str]]) -> str:
    return _hash("\0".join(sorted("\n".join(text for _, text in normalised(file)) for file in files)))[:_USED]


def read_digest(text: str) -> Digest | None:
    """A digest as written; None for anything else."""
    method = DIGEST if text.startswith(DIGEST) else OLD_DIGEST
    digits = text.removeprefix(method)
    least = _WHOLE + _USED if method == OLD_DIGEST else _WHOLE + 2 * (_USED + _COUNT)
    if not text.startswith(method) or not re.fullmatch(rf"[0-9a-f]{{{least},}}", digits):
        return None
    pieces = _Digits(digits)
    whole, sheets = pieces.take(_WHOLE), pieces.take(_USED)
    if method == OLD_DIGEST:
        return Digest(whole, sheets, "", (), (), pieces.left)
    kits = pieces.take(_USED)
    kit_lines, files = int(pieces.take(_COUNT), 16), int(pieces.take(_COUNT), 16)
    if kit_lines * _KIT_LINE + files * _FILE > len(pieces.left):
        return None
    return Digest(
        whole,
        sheets,
        kits,
        tuple(pieces.take(_KIT_LINE) for _ in range(kit_lines)),
        tuple(pieces.take(_FILE) for _ in range(files)),
        pieces.left,
    )


class _Digits:
    """Digits that are taken from the front."""

    def __init__(self, digits: str) -> None:
        self.left = digits

    def take(self, many: int) -> str:
        taken, self.left = self.left[:many], self.left[many:]
        return taken


class SignatureCheck(NamedTuple):
    """One signature of a log and whether what it signs is unchanged.

    `holds` is None where it has no digest, `changed` the number of the first changed line where that
    can be told, `used` whether the sheets and kits are still the same. `file` is the first photo or trial
    that is another than was signed, `added` whether lines were only added to the kits and no sheet changed.
    """

    sign: Sign
    line: int
    holds: bool | None
    changed: int
    used: bool
    file: str = ""
    added: bool = False


def named_files(log: Log, before: int) -> list[str]:
    """The paths of the photos and trials that a log names above a line, in order."""
    folder = os.path.dirname(log.file)
    names = [
        line.record.file_name
        for line in log.lines
        if line.entry.number < before and isinstance(line.record, (Photo, Series))
    ]
    return [os.path.join(folder, *name.split("/")) for name in names] if log.file != "-" else []


def signatures(log: Log, files: SignedFiles) -> list[SignatureCheck]:
    """Every signature of a log, compared with the lines that stand above it now.

    `files` are the sheets and kits that the site is judged by; the photos and trials are looked up here.
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
        above, own = log.text[: number - 1], log.text[number - 1]
        old = record.digest.startswith(OLD_DIGEST)
        paths = [] if old else named_files(log, number)
        files = files._replace(paths=paths)
        now = _old_digest_of(above, files) if old else digest_of(above, own, files)
        unchanged = now.whole == written.whole
        changed = 0 if unchanged else _first_changed(log.text[:number], written.lines, now.lines)
        other = _other_file(paths, written.files, now.files) if unchanged else ""
        used = (now.sheets, now.kits) == (written.sheets, written.kits)
        added = not old and now.sheets == written.sheets and _only_added(written.kit_lines, now.kit_lines)
        holds = unchanged and not other
        found.append(SignatureCheck(record, number, holds, changed, used, other, added))
    return found


def _other_file(paths: Sequence[str], before: Sequence[str], now: Sequence[str]) -> str:
    """The first file that was there when it was signed, is there now, and is another."""
    for path, signed, found in zip(paths, before, now, strict=False):
        if signed != found and _ABSENT not in (signed, found):
            return os.path.basename(path)
    return ""


def _only_added(before: Sequence[str], now: Iterable[str]) -> bool:
    """Whether all lines of before stand in the same order among those of now."""
    left = iter(now)
    return all(line in left for line in before)


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
        severity = ""
        if check.holds:
            slug = "signed-with-other-sheets"
            what, severity = _other_papers(check)
            message = f"{what} since {check.sign.who} signed in line {check.line}"
            help = "what was signed was judged by other limits or calibrations; sign again where it matters"
        elif read_digest(check.sign.digest) is None:
            slug, message, help = (
                "signature-broken",
                "the digest of this signature is damaged",
                "sign again, and say why",
            )
        elif check.file:
            slug = "signature-broken"
            message = f"{check.file}, which {check.sign.who} signed for, is not the file it was"
            help = 'put the file back, or sign again and say why: `sitelog sign WHO --because "…"`'
        else:
            slug = "signature-broken"
            where = f" (the first change is in line {check.changed})" if check.changed else ""
            message = f"what {check.sign.who} signed was changed afterwards{where}"
            help = 'put it back as it was, or sign again and say why: `sitelog sign WHO --because "…"`'
        if mended is not None and slug == "signature-broken":
            severity, message = "warning", f"{message}; {mended.sign.who} signed again in line {mended.line}"
        end = entry.text.find(check.sign.digest)
        end = len(entry.text[:end].rstrip()) if end > 0 else entry.end
        found.append(finding_at(entry.span(log.file, entry.start, end), slug, message, help, severity))
    return found


def _other_papers(check: SignatureCheck) -> tuple[str, str]:
    """What is another than when it was signed, and how grave that is; a digest-1 does not tell which."""
    if check.sign.digest.startswith(OLD_DIGEST):
        return "the sheets or kits changed", "info"
    if check.added:
        return "lines were added to the kits", "info"
    return "the sheets, or lines of the kits that stood then, changed", "warning"


def reason(sign: Sign) -> str:
    """Why it was signed all the same, or again; without the digest."""
    return sign.head.entry.remark.removesuffix(sign.digest).strip()
