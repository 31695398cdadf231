"""The rows of the stage table: reading them, breaking a twin, and what is said of it. See README.md."""

import re
from collections.abc import Iterator
from contextlib import chdir
from datetime import date
from pathlib import Path
from typing import NamedTuple

from sitelog.asking.store.answer import answer
from sitelog.files.signatures import SignedFiles, digest_of
from sitelog.fleet.workspace import Workspace, load, rows
from sitelog.views.rows import cell_text
from tests import corpora

HERE = Path(__file__).parent
TODAY = date(2026, 5, 20)


class Edit(NamedTuple):
    """Lines taken out and lines put in their place; `behind` is the line they go behind if none is taken."""

    out: tuple[str, ...]
    into: tuple[str, ...]
    behind: str


class Twin(NamedTuple):
    """A broken copy of a row's log: what goes wrong in it, how, and the case that expects what is said."""

    item: str
    case: corpora.Case
    edits: tuple[Edit, ...]
    questions: tuple[str, ...]


class Stage(NamedTuple):
    """One row of the table."""

    name: str
    wrong: tuple[str, ...]
    files: dict[str, str]
    twins: tuple[Twin, ...]


def stage_of(path: Path) -> Stage:
    """One row, read from its file: the log that is right, then its twins."""
    right, *twins = corpora.read(path)
    files = corpora.files_of(right.parts[0])
    if not any(name.endswith(".kit") for name in files):
        files["barge-1.kit"] = (HERE / "barge-1.kit").read_text(encoding="utf-8")
    wrong = tuple(line.removeprefix("wrong ") for line in right.attributes)
    return Stage(right.title, wrong, files, tuple(_twin(case) for case in twins))


def _twin(case: corpora.Case) -> Twin:
    edits, _, _, asked = case.parts
    questions = (line[2:] for line in asked.splitlines() if line.startswith("? "))
    return Twin(case.title.split(":")[0], case, tuple(_edits(edits)), tuple(questions))


def _edits(text: str) -> Iterator[Edit]:
    edits: list[tuple[list[str], list[str], str]] = []
    last = ""
    for line in text.splitlines():
        sign, rest = line[:1], line[2:]
        match sign:
            case "@":
                edits.append(([], [], rest))
            case "-":
                if last != "-":
                    edits.append(([], [], ""))
                edits[-1][0].append(rest)
            case "+":
                edits[-1][1].append(rest)
            case _:
                assert sign == "#", line
        last = sign
    return (Edit(tuple(out), tuple(into), behind) for out, into, behind in edits)


STAGES = [stage_of(path) for path in sorted((HERE / "rows").glob("*.txt"))]


# ---- files -----------------------------------------------------------------------------------------------
def signed(files: dict[str, str]) -> dict[str, str]:
    """The files with every `{digest}` made, over what stands above it and the sheets and kits."""
    sheets, kits = (
        [text.splitlines() for name, text in files.items() if name.endswith(end)]
        for end in (".sheet", ".kit")
    )
    used = SignedFiles(sheets, kits)
    found = dict(files)
    for name, text in files.items():
        lines = text.splitlines()
        for at, line in enumerate(lines):
            if "{digest}" in line:
                lines[at] = line.replace(
                    "{digest}", str(digest_of(lines[:at], line.replace("{digest}", ""), used))
                )
        found[name] = "\n".join(lines) + "\n"
    return found


def broken(files: dict[str, str], twin: Twin) -> dict[str, str]:
    """The files with a twin's edits; each names lines that stand once in one file."""
    found = {name: text.splitlines() for name, text in files.items()}
    for edit in twin.edits:
        anchors = edit.out or (edit.behind,)
        places = [
            (name, at)
            for name, lines in found.items()
            for at in range(len(lines))
            if [line.strip() for line in lines[at : at + len(anchors)]]
            == [anchor.strip() for anchor in anchors]
        ]
        assert len(places) == 1, (twin.case.title, anchors, places)
        name, at = places[0]
        start = at if edit.out else at + 1
        found[name][start : start + len(edit.out)] = edit.into
    return {name: "\n".join(lines) + "\n" for name, lines in found.items()}


def judged(files: dict[str, str], folder: Path, today: date = TODAY) -> Workspace:
    """The files written to a folder and judged."""
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
        for photo in re.findall(r'photo +"?([^"\s]+[.]jpg)', text):
            (folder / photo).write_bytes(b"seen")  # a photo that is not there shows nothing
    with chdir(folder):
        return load(["."], today)


# ---- what is said ----------------------------------------------------------------------------------------
def open_verdicts(workspace: Workspace) -> list[str]:
    """Everything asked that does not pass: `under clearance unit/door`."""
    found = []
    for site in workspace.judged:
        prefix = f"{site.name}: " if len(workspace.judged) > 1 else ""
        for result in site.results:
            if result.requirement is not None and result.verdict not in ("pass", "n/a"):
                purpose = site.log.visits[result.visit].purpose
                during = "" if purpose == "install" else f" ({purpose})"
                about = f"spread of {result.what}" if result.kind == "spread" else result.requirement.name
                found.append(f"{prefix}{result.verdict} {about}{during}")
    return found


def warnings(workspace: Workspace) -> list[str]:
    """Errors and warnings with their words, a line each."""
    return [
        corpora.finding_text(f"{finding.file}:{finding.line} {finding.severity} {finding.slug}", finding)
        for finding in workspace.findings
        if finding.severity != "info"
    ]


def answers(workspace: Workspace, question: str) -> list[str]:
    """The rows of an answer, cells with ` | ` between them."""
    found = answer(question, rows(workspace), workspace.today)
    return [
        " | ".join(cell_text(column, cell) for column, cell in zip(found.columns, row.cells, strict=True))
        for row in found.rows
    ]
