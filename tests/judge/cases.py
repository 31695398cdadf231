"""The cases of the verdict corpus: judging them, and writing what is found. See README.md."""

import os
from contextlib import chdir
from datetime import date
from pathlib import Path

from sitelog.findings import Finding
from sitelog.fleet.workspace import Workspace, load
from sitelog.judging.limits import describe
from sitelog.judging.results import Result
from sitelog.notation.places import compress
from sitelog.notation.quantities import format_quantity
from tests import corpora

HERE = Path(__file__).parent
FILES = sorted((HERE / "corpus").glob("*.txt"))
TODAY = date(2029, 1, 1)  # later than any day in the corpus

HEADS = {
    "log": (
        "log.site",
        "site here\nsheet asks\nkit van\ncrew mo lead\ncrew jp apprentice\n"
        "day 2026-03-02\nuse TW3, MF1, MM1, VT1\n",
    ),
    "asks": ("asks.sheet", "sheet asks\n"),
}
"""The short names of a case's files: the real name, and the lines put in front."""

ALL = [case for path in FILES for case in corpora.read(path)]


# ---- judging ---------------------------------------------------------------------------------------------
def judged(files: dict[str, str], folder: Path, today: date = TODAY) -> Workspace:
    """What stands in some files, judged. A case without a kit has the tools of van.kit."""
    if not any(name.endswith(".kit") for name in files):
        files = {**files, "van.kit": (HERE / "van.kit").read_text(encoding="utf-8")}
    for short, text in files.items():
        name, head = HEADS.get(short, (short, ""))
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(head + text, encoding="utf-8")
    with chdir(folder):
        return load([os.curdir], today)


def results_of(workspace: Workspace, figures: bool = False) -> str:
    """The results as the corpus writes them: places that differ in nothing else stand together."""
    lines = []
    for site in workspace.judged:
        prefix = f"{site.name}: " if len(workspace.judged) > 1 else ""
        groups: dict[tuple[str, str], list[str]] = {}
        for result in site.results:
            purpose = site.log.visits[result.visit].purpose
            sheet = (
                f"[{result.requirement.sheet}] "
                if result.requirement is not None and len(site.log.sheets) > 1
                else ""
            )
            about = f"{result.kind} {result.what}".strip()
            key = (prefix + sheet + about, _rest(result, purpose, figures))
            groups.setdefault(key, []).append(result.place)
        for (about, rest), places in groups.items():
            named = compress(place.replace(" ", "+") for place in places)
            lines.append(f"{about} {named}".strip() + rest)
    return "".join(f"{line}\n" for line in lines)


def _rest(result: Result, purpose: str, figures: bool) -> str:
    asked_at = result.requirement.at if result.requirement is not None else ""
    text = f" at {asked_at}" if asked_at else ""
    text += "" if purpose == "install" else f" ({purpose})"
    verdicts = dict.fromkeys([result.verdict, *(reason.verdict for reason in result.reasons)])
    parts = [f"{text}: {' '.join(verdicts)}"]
    mark = result.observation
    value = result.value or (mark.value if mark is not None else None)
    written = format_quantity(value) if value is not None else mark.word if mark is not None else ""
    if mark is not None and mark.second is not None:
        written += f" x {format_quantity(mark.second)}"
    parts += [written, describe(result.limits)]
    behind = result.instrument
    parts.append(" ".join(filter(None, (behind.name, behind.cert))))
    if figures and result.margin is not None:
        parts.append(f"margin {result.margin:+.3f}")
    if figures and result.probability is not None:
        parts.append(f"P {result.probability:.4f}")
    return " | ".join(part for part in parts if part)


def findings_of(workspace: Workspace, case_files: dict[str, str]) -> str:
    """The findings as the corpus writes them; lines are those of the case, `head` those put in front."""
    return "".join(f"{_finding(finding, case_files)}\n" for finding in workspace.findings)


def _finding(finding: Finding, case_files: dict[str, str]) -> str:
    name = os.path.normpath(finding.file)
    short = next((short for short, (real, _) in HEADS.items() if real == name and short in case_files), name)
    line = finding.line - (HEADS[short][1].count("\n") if short in HEADS else 0)
    span = finding.text[finding.column - 1 : finding.end_column - 1].strip()
    where = f"{short}:{line}:{finding.column}" if line > 0 else f"{short}:head"
    where += f" {finding.severity} {finding.slug}" + (f" `{span}`" if span and line > 0 else "")
    return corpora.finding_text(where, finding)
