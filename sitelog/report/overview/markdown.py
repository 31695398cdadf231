"""The facts of an overview as Markdown: the same words and numbers, readable as they stand."""

from __future__ import annotations

from collections.abc import Iterator

from sitelog.report.handover.markdown import part_lines
from sitelog.report.overview.document import Overview, OverviewPicture, Ranking
from sitelog.views.rows import markdown_text


def markdown(facts: Overview) -> str:
    """The page as Markdown; what its pictures show stands in the tables."""
    return "\n".join(_lines(facts)).rstrip() + "\n"


def _lines(facts: Overview) -> Iterator[str]:
    yield f"# {markdown_text(facts.title)}"
    yield from ("", f"Overview, judged by {facts.judged}", "")
    for state in facts.states:
        yield f"- {state.shape} {state.number} {state.word}"
    yield from ("", f"**{markdown_text(facts.cautions[-1])}**")
    for section in facts.sections:
        yield from ("", f"## {markdown_text(section.title)}")
        for part in section.parts:
            if isinstance(part, OverviewPicture):
                continue
            yield ""
            if isinstance(part, Ranking):
                yield from _ranking(part)
            else:
                yield from part_lines(part)
    yield ""
    for words in facts.how:
        yield from (markdown_text(words), "")


def _ranking(part: Ranking) -> Iterator[str]:
    for number, one in enumerate(part.listed, 1):
        yield f"{number}. {markdown_text(one.site.text)}"
        indent = " " * len(f"{number}. ")
        for reason in one.reasons:
            yield f"{indent}- {markdown_text(reason.text)}"
