"""Cases as a JUnit XML report, for CI servers: a suite for each site, a test case for each thing asked."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree as Xml

from sitelog.base.text import printable
from sitelog.views.findings import CAUTION, finding_text

if TYPE_CHECKING:
    from sitelog.views.shapes import SuiteCase, SuiteLike

_SEVERITIES = ("error", "warning", "info")
# XML 1.0, 2.2: beside what `printable` shows already, these two are no characters of a document.
_NO_CHARACTERS = re.compile("[\ufffe\uffff]")


def as_junit(suites: Sequence[SuiteLike], today: str) -> Iterator[str]:
    """The pieces of the report, in order.

    A case with an error is a failure, one that neither fails nor passes is skipped and says why; nothing is
    an `error`, which would be a fault of the test itself. All of it is ASCII, other characters standing as
    references: so it is UTF-8 on every output.
    """
    totals = {
        "tests": str(sum(len(suite.cases) for suite in suites)),
        "failures": str(sum(_count(suite, "failed") for suite in suites)),
        "errors": "0",
    }
    attributes = "".join(f' {name}="{value}"' for name, value in totals.items())
    yield f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="sitelog check"{attributes}>\n'
    for suite in suites:
        element = _suite(suite, today)
        Xml.indent(element)
        yield Xml.tostring(element, encoding="us-ascii").decode("ascii") + "\n"
    yield "</testsuites>\n"


def _count(suite: SuiteLike, outcome: str) -> int:
    return sum(case.outcome == outcome for case in suite.cases)


def _suite(suite: SuiteLike, today: str) -> Xml.Element:
    found = Xml.Element("testsuite", {"name": _word(suite.name)})
    for name, count in (
        ("tests", len(suite.cases)),
        ("failures", _count(suite, "failed")),
        ("errors", 0),
        ("skipped", _count(suite, "open")),
    ):
        found.set(name, str(count))
    if suite.file:
        found.set("file", _word(suite.file))
    properties = Xml.SubElement(found, "properties")
    for name, value in (("sheets", ", ".join(suite.sheets)), ("judged by", today), ("caution", CAUTION)):
        if value:
            Xml.SubElement(properties, "property", name=name, value=_word(value))
    for case in suite.cases:
        found.append(_case(suite.name, case))
    return found


def _case(suite: str, case: SuiteCase) -> Xml.Element:
    classname = _word(f"{suite}.{case.group}" if case.group else suite)
    found = Xml.Element("testcase", classname=classname, name=_word(case.name))
    if case.outcome == "pass":
        return found
    findings = sorted(case.findings, key=lambda one: _SEVERITIES.index(one.severity))  # the gravest first
    said = findings[0].message if findings else case.verdict
    if case.verdict and not said.startswith(case.verdict):
        said = f"{case.verdict}: {said}"
    failed = case.outcome == "failed"
    attributes = {"type": findings[0].slug if findings else case.verdict, "message": _word(said)}
    why = Xml.SubElement(found, "failure" if failed else "skipped", attributes)
    why.text = _characters("".join(finding_text(one) for one in findings))
    return found


def _word(text: str) -> str:
    return _characters(printable(text))


def _characters(text: str) -> str:
    return _NO_CHARACTERS.sub(lambda match: f"\\u{ord(match[0]):04x}", text)
