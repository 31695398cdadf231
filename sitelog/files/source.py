"""Bytes in, lines out: what stands in a file, with exact positions, whatever shape it is in.

Nothing is thrown away. What cannot be read as text becomes a finding, and the rest is still read.
This room knows nothing of what the lines mean, but for the first word that tells a log from a
sheet or a kit where the file's ending does not.
"""

import os
import re
import sys
from collections.abc import Iterable, Iterator
from operator import attrgetter

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding, Span
from sitelog.notation.lookalikes import BLANKS

ROLES = {"site": "log", "sheet": "sheet", "kit": "kit"}
"""The file endings, which are also the first words, with the role each gives."""

_USUAL = (".site", ".sheet", ".kit")

LONGEST_LINE = 10_000
"""Characters; no entry comes near it, and a longer line would slow down everything behind it."""

_MOST_ALIKE = 50  # findings of one sort in one file; a binary file would make millions

# Compiled when first needed, which for most files is never; only the test for control characters is.
_BAD_BYTES = "[\udc80-\udcff]+"  # what the decoder makes of bytes that are not UTF-8
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]+")  # all but tab and line feed
# Barcode readers send GS, RS and EOT (ISO/IEC 15434), so a scan may hold them.
_CONTROLS_NOT_OF_SCANS = r"[\x00-\x03\x05-\x08\x0b-\x1c\x1f\x7f-\x9f]+"
_SCAN = r"(?i)[ \t]*(?:[\d:.\-]+[ \t]+(?:[ap]m[ \t]+)?){0,2}scan[ \t]"
_MARKER = r"(<{7}|\|{7}|={7}|>{7})(?: |$)"
_MARKERS = ("<<<<<<<", "|||||||", "=======", ">>>>>>>")
_PARTS_OF_LETTERS = re.compile(r"[^\W\d_][\u0300-\u036f]+")
"""A letter and its marks in pieces (Unicode normal form D), which are put together."""
_BLANKS = " \t" + BLANKS


class Source(NamedTuple):
    """The text of one file.

    `file` is the name as shown, `role` is `log`, `sheet`, `kit` or empty where nothing tells,
    `lines` are without line ends, `skip` are the numbers (from 1) of lines not to be parsed.
    """

    file: str
    role: str
    lines: tuple[str, ...]
    skip: frozenset[int] = frozenset()
    findings: tuple[Finding, ...] = ()


def role_of(path: str) -> str:
    """What the ending says: `log`, `sheet`, `kit`, or empty where it says nothing."""
    return ROLES.get(path.lower().removesuffix(".txt").rpartition(".")[2], "") if "." in path else ""


def from_bytes(data: bytes, file: str, role: str = "") -> Source:
    """The lines of a file's bytes. Never raises: bytes that are no text become findings.

    `file` is the name as shown; the role is the one given, else the ending's, else the first entry's.
    """
    text, damaged, findings = _decode(data, file)
    if "\r" in text:
        text = text.replace("\r\n", "\n").removesuffix("\r")
    if not text.isascii() and _PARTS_OF_LETTERS.search(text):
        from unicodedata import normalize  # few files need it

        text = _PARTS_OF_LETTERS.sub(lambda letter: normalize("NFC", letter[0]), text)
    lines = text.split("\n")
    if lines[-1] == "":
        lines.pop()
    if not text.strip(_BLANKS + "\n"):
        findings.append(finding_at(_whole(file), "empty-file", "the file is empty"))
    skip: set[int] = set()
    if damaged:
        findings += _at_most(_bad_bytes(lines, file))
        lines = [_with_replacements(line) for line in lines]
    if _CONTROLS.search(text):
        findings += _at_most(_control_characters(lines, file))
    if len(text) > LONGEST_LINE:
        long = _long_lines(lines, file)
        findings += _at_most(long)
        skip.update(found.line for found in long)
    if any(marker in text for marker in _MARKERS):
        conflicts, inside = _conflicts(lines, file)
        findings += conflicts
        skip |= inside
    findings.sort(key=lambda found: (found.line, found.column))
    role = role or role_of(file) or _role_of_first_entry(lines, skip)
    return Source(file, role, tuple(lines), frozenset(skip), tuple(findings))


def read(path: str | os.PathLike[str]) -> Source:
    """Read one file, or standard input for `-`. What goes wrong is a finding, never an exception."""
    file = os.fspath(path)
    try:
        if file == "-":
            data = sys.stdin.buffer.read()
        else:
            with open(file, "rb") as stream:
                data = stream.read()
    except OSError as error:
        return Source(file, role_of(file), (), frozenset(), (_cannot_read(file, error),))
    return from_bytes(data, file)


def discover(paths: Iterable[str | os.PathLike[str]]) -> tuple[list[str], list[Finding]]:
    """The files to read: those named, and in folders every log, sheet and kit below, sorted by name.

    Hidden files and folders inside a folder are passed over, no folder is entered twice (so a
    loop of links ends), and no file is listed twice. `-` stands for standard input.
    """
    found: list[str] = []
    findings: list[Finding] = []
    seen: set[str] = set()
    for given in paths:
        path = os.fspath(given)
        if path == "-":
            if "-" not in found:
                found.append("-")
        elif os.path.isdir(path):
            known = len(findings)
            if (
                not _walk(path, "" if path == os.curdir else path, seen, found, findings)
                and len(findings) == known
            ):
                message = "no *.site, *.sheet or *.kit file in this folder"
                findings.append(finding_at(_whole(path), "no-logs", message))
        elif os.path.exists(path):
            _add(path, os.path.realpath(path), seen, found)
        else:
            findings.append(finding_at(_whole(path), "no-such-file", "no such file or folder"))
    return found, findings


def _walk(folder: str, shown: str, seen: set[str], found: list[str], findings: list[Finding]) -> bool:
    """Add what lies below a folder; False where no log, sheet or kit does."""
    real_folder = os.path.realpath(folder)
    if real_folder in seen:
        return True
    seen.add(real_folder)
    try:
        with os.scandir(folder) as listing:
            entries = sorted(listing, key=attrgetter("name"))
    except OSError as error:
        findings.append(_cannot_read(folder, error))
        return False
    any_found = False
    before, before_real = os.path.join(shown, ""), os.path.join(real_folder, "")
    for entry in entries:
        name = entry.name
        if name[0] == ".":
            continue
        path = before + name
        if name.endswith(_USUAL) and entry.is_file(follow_symlinks=False):  # nearly all
            any_found = True
            real = before_real + name
            if real not in seen:  # as `_add` does, which would take as long again
                seen.add(real)
                found.append(path)
        elif entry.is_dir():
            any_found |= _walk(entry.path, path, seen, found, findings)
        elif role_of(name) and entry.is_file():
            any_found = True
            # Only a link needs the costly look-up; the folder's real name is known.
            _add(path, os.path.realpath(path) if entry.is_symlink() else before_real + name, seen, found)
        elif role_of(name) and entry.is_symlink():
            findings.append(finding_at(_whole(path), "unreadable-file", "the link leads to nothing"))
    return any_found


def _add(path: str, real: str, seen: set[str], found: list[str]) -> None:
    if real not in seen:
        seen.add(real)
        found.append(path)


def named_in(folder: str) -> list[str]:
    """The sheets and kits in a folder, by their names; none where it cannot be read."""
    try:
        names = sorted(os.listdir(folder))
    except OSError:
        return []
    return [
        os.path.join(folder, name) for name in names if name[0] != "." and role_of(name) in ("sheet", "kit")
    ]


def is_repository(folder: str) -> bool:
    """Whether a folder is the root of a repository."""
    return os.path.exists(os.path.join(folder, ".git"))


def _whole(file: str) -> Span:
    """The place of a finding about a whole file."""
    return Span(file, 1, 1, 1)


def _cannot_read(file: str, error: OSError) -> Finding:
    if isinstance(error, FileNotFoundError):
        return finding_at(_whole(file), "no-such-file", "no such file or folder")
    reason = (error.strerror or type(error).__name__).lower()
    return finding_at(_whole(file), "unreadable-file", f"cannot be read: {reason}")


def _decode(data: bytes, file: str) -> tuple[str, bool, list[Finding]]:
    """The text, whether bytes in it are not UTF-8 (lone surrogates stand for them), and what was wrong."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        message = "the file is UTF-16, not UTF-8"
        help = "save it again as UTF-8; it was read all the same"
        wrong = finding_at(_whole(file), "not-utf8", message, help)
        return data.decode("utf-16", "replace"), False, [wrong]
    try:
        return data.decode().removeprefix("\ufeff"), False, []
    except UnicodeDecodeError:
        return data.decode("utf-8", "surrogateescape").removeprefix("\ufeff"), True, []


def _bad_bytes(lines: list[str], file: str) -> Iterator[Finding]:
    for number, line in enumerate(lines, 1):
        for run in re.finditer(_BAD_BYTES, line):
            values = " ".join(f"{ord(character) - 0xDC00:02X}" for character in run[0][:8])
            message = f"not UTF-8 text: byte{'s' * (len(run[0]) > 1)} {values}"
            help = "save the file as UTF-8; the rest of the line was read"
            text = _with_replacements(line[:LONGEST_LINE])
            span = Span(file, number, run.start() + 1, run.end() + 1, text)
            yield finding_at(span, "not-utf8", message, help)


def _with_replacements(line: str) -> str:
    """U+FFFD for every byte that is not UTF-8, so that columns stay what they were."""
    return re.sub(_BAD_BYTES, lambda run: "\ufffd" * len(run[0]), line)


def _control_characters(lines: list[str], file: str) -> Iterator[Finding]:
    for number, line in enumerate(lines, 1):
        if not _CONTROLS.search(line):
            continue
        pattern = _CONTROLS_NOT_OF_SCANS if re.match(_SCAN, line) else _CONTROLS
        text = line[:LONGEST_LINE]
        for run in re.finditer(pattern, line):
            codes = " ".join(f"U+{ord(character):04X}" for character in run[0][:8])
            if run[0] == "\r":
                message = "a carriage return in the middle of a line"
                help = "save the file with LF or CRLF line ends"
            else:
                message = f"control character {codes}"
                help = "delete it; most editors can show invisible characters"
            span = Span(file, number, run.start() + 1, run.end() + 1, text)
            yield finding_at(span, "control-character", message, help)


def _long_lines(lines: list[str], file: str) -> list[Finding]:
    return [
        finding_at(
            Span(file, number, 1, 1, line[:60] + "…"),
            "line-too-long",
            f"the line has {len(line)} characters and was not read; the most is {LONGEST_LINE}",
            "one record a line: break it up",
        )
        for number, line in enumerate(lines, 1)
        if len(line) > LONGEST_LINE
    ]


def _conflicts(lines: list[str], file: str) -> tuple[list[Finding], set[int]]:
    """One finding per conflict, and every line from its first marker to its last.

    A marker without its partner hides only itself: rather one line too many read than a day lost.
    """
    markers = [
        (number, match[1][0]) for number, line in enumerate(lines, 1) if (match := re.match(_MARKER, line))
    ]
    findings: list[Finding] = []
    skip: set[int] = set()
    help = "choose what stands, then delete the marker lines"
    for at, (number, sign) in enumerate(markers):
        if number in skip:
            continue
        last = _end_of_conflict(markers, at) if sign == "<" else 0
        skip.update(range(number, max(number, last) + 1))
        if last:
            message = f"merge conflict: lines {number} to {last} were not read"
        else:
            message = "a merge marker was left in the file"
        text = lines[number - 1][:LONGEST_LINE]
        findings.append(finding_at(Span(file, number, 1, 8, text), "merge-conflict", message, help))
    return _at_most(findings), skip


def _end_of_conflict(markers: list[tuple[int, str]], at: int) -> int:
    """The line of the marker that closes the one at index `at`; 0 where another opens before."""
    for index in range(at + 1, len(markers)):
        line, sign = markers[index]
        if sign in "<>":
            return line if sign == ">" else 0
    return 0


def _role_of_first_entry(lines: list[str], skip: set[int]) -> str:
    for number, line in enumerate(lines, 1):
        words = line.strip(_BLANKS).split(None, 1) if number not in skip else []
        if words and not words[0].startswith("#"):
            return ROLES.get(words[0].rstrip(".:").lower(), "")
    return ""


def _at_most(findings: Iterable[Finding]) -> list[Finding]:
    """The first of many alike; the last of them says that there are more."""
    first: list[Finding] = []
    for found in findings:
        if len(first) == _MOST_ALIKE:
            first[-1] = first[-1]._replace(message=f"{first[-1].message} (and more in this file)")
            break
        first.append(found)
    return first
