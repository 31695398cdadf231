"""Reads the papers: the files they show, the commands with their output, the tables of examples.

The papers are README.md, grammar/QUESTIONS.md and grammar/LANGUAGE.md. They are run in this order in
one folder, because the second and the third use the files that README has its reader write.
"""

import io
import re
import shlex
import subprocess
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path

from sitelog.cli.main import main

CHECKOUT = Path(__file__).parents[2]
README = CHECKOUT / "README.md"
LANGUAGE = CHECKOUT / "grammar" / "LANGUAGE.md"
QUESTIONS = CHECKOUT / "grammar" / "QUESTIONS.md"
PAPERS = (README, QUESTIONS, LANGUAGE)

# The headings of LANGUAGE.md below which a table has an example of every kind of line.
HEADINGS = {
    "log": "A log, every kind of line",
    "sheet": "A sheet, every kind of line",
    "kit": "A kit, every kind of line",
}

_STEP = re.compile(
    r"^<!-- (?P<way>file|add to): (?P<name>\S+) -->\n```\n(?P<content>.*?)^```$"
    r"|^<!-- commit: (?P<commit>.+?) -->$"
    r"|^(?P<fence>`{3,})console\n\$ (?P<command>.*?)\n(?P<output>.*?)^(?P=fence)$",
    re.DOTALL | re.MULTILINE,
)


def steps(text: str) -> list[re.Match[str]]:
    """Every file and every command, in the order in which a reader meets them."""
    return list(_STEP.finditer(text))


def take(step: re.Match[str], folder: Path) -> str:
    """Do one step in a folder: write the file, or run the command and return what it printed."""
    if step["commit"] is not None:
        _commit(folder, step["commit"])
        return ""
    if step["command"] is None:
        path = folder / step["name"]
        path.parent.mkdir(exist_ok=True)
        before = path.read_text(encoding="utf-8") if step["way"] == "add to" else ""
        path.write_text(before + step["content"], encoding="utf-8")
        return ""
    program, *arguments = shlex.split(step["command"])
    assert program == "sitelog"
    said = io.StringIO()
    with chdir(folder), redirect_stdout(said), redirect_stderr(said):
        main(arguments)
    return said.getvalue()


def _commit(folder: Path, message: str) -> None:
    who = ("-c", "user.name=mo", "-c", "user.email=mo@example.invalid")
    for words in (("init", "-q"), ("add", "-A"), (*who, "commit", "-q", "-m", message)):
        subprocess.run(["git", *words], cwd=folder, check=True)


def with_output(text: str, folder: Path) -> str:
    """The text with what each command really prints."""

    def written(step: re.Match[str]) -> str:
        said = take(step, folder)
        if step["command"] is None:
            return step[0]
        return f"{step['fence']}console\n$ {step['command']}\n{said}{step['fence']}"

    return _STEP.sub(written, text)


def examples(text: str, heading: str) -> dict[str, str]:
    """The first table below a heading: kind of line → the example in its second column."""
    section = text.split(f"\n## {heading}\n", 1)[1].split("\n#", 1)[0]
    table = section.split("| kind | an example |", 1)[1].split("\n\n", 1)[0]
    return dict(re.findall(r"^\| `(.+?)` \| `(.+)` \|$", table, re.MULTILINE))


def table(text: str, first_column: str) -> list[list[list[str]]]:
    """The rows of the table that begins with such a column, each cell as its words in backquotes."""
    body = text.split(f"\n| {first_column} |", 1)[1].split("\n", 2)[2].split("\n\n", 1)[0]
    return [[re.findall(r"`([^`]+)`", cell) for cell in row.split(" | ")] for row in body.splitlines()]
