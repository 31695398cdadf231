"""`sitelog explain`: the page of a finding, or a part of the reference.

Exit status 0, or 2 for an unknown word.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator

from sitelog.base.verdicts import VERDICTS
from sitelog.cli.edges import complain
from sitelog.findings.catalog import CATALOG, GROUPS, page_path
from sitelog.language.grammar_files import grammar_text

LANGUAGE, QUESTIONS = "LANGUAGE.md", "QUESTIONS.md"

# Topic → the heading of its section; a paper as a whole has none.
TOPICS: dict[str, tuple[str, str]] = {
    "language": (LANGUAGE, ""),
    "lines": (LANGUAGE, "How a line is written"),
    "times": (LANGUAGE, "Days, times, people"),
    "log": (LANGUAGE, "A log, every kind of line"),
    "corrections": (LANGUAGE, "Putting a thing right"),
    "sheet": (LANGUAGE, "A sheet, every kind of line"),
    "kit": (LANGUAGE, "A kit, every kind of line"),
    "units": (LANGUAGE, "Units"),
    "verdicts": (LANGUAGE, "Verdicts"),
    "commands": (LANGUAGE, "Commands"),
    "questions": (QUESTIONS, ""),
}
_WIDTH = 100  # where no terminal says how wide it is


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of `explain`."""
    parser.add_argument(
        "word",
        metavar="WORD",
        nargs="?",
        help="the word in brackets behind a finding, a topic such as units, or a kind of line such as torque "
        "(default: list all)",
    )


def run(args: argparse.Namespace) -> int:
    """Print the page, the topic or the kind that is asked for; without a word, all slugs and topics."""
    if args.word is None:
        sys.stdout.write(_listing())
        return 0
    word = args.word.strip("[]").lower()
    if word in CATALOG:
        sys.stdout.write(page_of(word))
        return 0
    text = reference_of(word)
    if not text:
        complain(_unknown(args.word))
        return 2
    from sitelog.views.paper import dressed

    sys.stdout.write(dressed(text, _columns()))
    return 0


def page_of(slug: str) -> str:
    """The page of a slug of the catalog."""
    with open(page_path(slug), encoding="utf-8") as page:
        return page.read()


def reference_of(word: str) -> str:
    """What the papers say of a topic, a kind of line, a command or a verdict, as written; else empty."""
    from sitelog.views.paper import section

    if word in TOPICS:
        paper, heading = TOPICS[word]
        text = grammar_text(paper)
        return section(text, heading) if heading else text
    return _mentions(word) if word in _words() else ""


def _words() -> dict[str, None]:
    """The kinds of line, the commands and the verdicts, each once."""
    from sitelog.cli.main import COMMANDS
    from sitelog.language.syntax import kinds

    found = [kind for role in ("log", "sheet", "kit") for kind in kinds(role)]
    return dict.fromkeys((*found, *COMMANDS, *VERDICTS))


def _mentions(word: str) -> str:
    """The rows and paragraphs of the language that show the word, each below its heading."""
    shown = [f"# {word}"]
    for heading, blocks in _by_heading(grammar_text(LANGUAGE)):
        found = [about for block in blocks if (about := _about(word, block))]
        if found:
            shown += [heading, *found]
    return "\n\n".join(shown)


def _by_heading(text: str) -> Iterator[tuple[str, list[str]]]:
    from sitelog.views.paper import blocks

    heading, below = "", list[str]()
    for block in blocks(text):
        if block.startswith("#"):
            if heading.startswith("##"):
                yield heading, below
            heading, below = block, []
        else:
            below.append(block)
    yield heading, below


def _about(word: str, block: str) -> str:
    """The rows of a table that show the word, or the whole of another block that shows it; else empty."""
    if block.startswith("```"):
        return ""
    shows = re.compile(rf"`(?:[\d:]+ |sitelog )?{re.escape(word)}(?![\w-])")
    if not block.startswith("|"):
        return block if shows.search(block) else ""
    head, rule, *rows = block.split("\n")
    found = [row for row in rows if shows.search(row)]
    return "\n".join((head, rule, *found)) if found else ""


def _columns() -> int:
    """The columns of the terminal."""
    if not sys.stdout.isatty():
        return _WIDTH
    import shutil

    return shutil.get_terminal_size().columns


def _listing() -> str:
    width = max(map(len, CATALOG))
    text = ""
    for group, slugs in GROUPS.items():
        text += f"{group}\n"
        text += "".join(f"  {slug.slug:<{width}}  {slug.severity:<7}  {slug.title}\n" for slug in slugs)
    text += "topics\n"
    text += "".join(f"  {topic:<{width}}  {heading}".rstrip() + "\n" for topic, heading in _titles().items())
    return text + "\n`sitelog explain torque` explains a kind of line; commands and verdicts likewise.\n"


def _titles() -> dict[str, str]:
    whole = {LANGUAGE: "Logs, sheets and kits, and the commands: all of it", QUESTIONS: "What can be asked"}
    return {topic: heading or whole[paper] for topic, (paper, heading) in TOPICS.items()}


def _unknown(word: str) -> str:
    from difflib import get_close_matches

    nearest = get_close_matches(word.lower(), dict.fromkeys((*TOPICS, *_words(), *CATALOG)), 3, 0.5)
    hint = f"the nearest: {', '.join(nearest)}" if nearest else "`sitelog explain` lists all"
    return f"no finding or topic is called {word!r}; {hint}"
