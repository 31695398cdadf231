"""Findings as a SARIF 2.1.0 log, for code review and CI servers that show them beside the line.

What the format wants is in "Static Analysis Results Interchange Format (SARIF) Version 2.1.0", an OASIS
Standard; the numbers in the comments are its clauses.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from urllib.parse import quote

from sitelog.findings.catalog import CATALOG, Slug
from sitelog.findings.finding import Finding
from sitelog.views.findings import CAUTION

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"

_LEVELS = {"error": "error", "warning": "warning", "info": "note"}
_BASE = "%SRCROOT%"
_LONGEST = 1000  # characters of a line that is shown with its result
_NO_LINE = frozenset({"no-such-file", "unreadable-file", "no-logs", "empty-file"})  # about a file, not a line
_FEW = 100  # results written at a time

Json = dict[str, object]


def as_sarif(findings: Sequence[Finding], version: str, page: Callable[[str], str]) -> Iterator[str]:
    """The pieces of the log, in order; `page` gives the page of a slug.

    It has the rules that a finding speaks of, in the order of the catalog, and the results in the order of
    the findings. All of it is ASCII, other characters as JSON escapes: so it is UTF-8 on every output.
    """
    said = {one.slug for one in findings}
    slugs = [one for one in CATALOG.values() if one.slug in said]
    index = {one.slug: at for at, one in enumerate(slugs)}
    driver: Json = {
        "name": "sitelog",
        "version": version,
        "fullDescription": _text(f"The site log of the installer of wall-mounted battery storage. {CAUTION}"),
        "rules": [_rule(one, page(one.slug)) for one in slugs],
    }
    yield "{\n"
    yield f'"$schema": {_json(SCHEMA)},\n"version": "2.1.0",\n"runs": [{{\n'
    yield f'"tool": {_json({"driver": driver})},\n'
    # The columns of a finding count characters; the default would be UTF-16 code units.
    yield f'"columnKind": "unicodeCodePoints",\n"originalUriBaseIds": {_json(_BASES)},\n"results": ['
    for at in range(0, len(findings), _FEW):
        some = (_json(_result(one, index[one.slug])) for one in findings[at : at + _FEW])
        yield ("\n" if at == 0 else ",\n") + ",\n".join(some)
    yield "\n]\n}]\n}\n"


def _json(thing: object) -> str:
    return json.dumps(thing, separators=(", ", ": "))


_BASES: Json = {_BASE: {"description": {"text": "The folder in which the command was run."}}}


def _rule(slug: Slug, page: str) -> Json:
    """A slug of the catalog with its page, whose paragraphs say what it means and how to clear it."""
    meaning = next((part for part in page.split("\n\n") if part.startswith("Meaning: ")), slug.title)
    return {
        "id": slug.slug,
        "shortDescription": _text(f"{slug.title[0].upper()}{slug.title[1:]}."),
        "fullDescription": _text(" ".join(meaning.removeprefix("Meaning: ").split())),
        "help": {"text": page, "markdown": page},
        "defaultConfiguration": {"level": _LEVELS[slug.severity]},
    }


def _result(one: Finding, rule: int) -> Json:
    said = f"{one.message}\nhelp: {one.help}" if one.help else one.message
    return {
        "ruleId": one.slug,
        "ruleIndex": rule,
        "kind": "fail",  # any other kind may have no level (3.27.9)
        "level": _LEVELS[one.severity],
        "message": _text(said),
        "locations": [{"physicalLocation": _place(one)}],
    }


def _text(text: str) -> Json:
    """A plain text message: braces would begin a placeholder and are doubled (3.11.5)."""
    return {"text": text.replace("{", "{{").replace("}", "}}")}


def _place(one: Finding) -> Json:
    place: Json = {"artifactLocation": location(one.file)}
    if one.slug in _NO_LINE:
        return place
    if not one.text:  # the line is not known: the file as a whole is meant
        place["region"] = {"startLine": one.line}
        return place
    end = max(one.end_column, one.column)  # equal: a place between two characters
    place["region"] = {"startLine": one.line, "startColumn": one.column, "endColumn": end}
    if len(one.text) <= _LONGEST:
        place["contextRegion"] = {"startLine": one.line, "snippet": {"text": one.text}}
    return place


def location(file: str) -> Json:
    """Where a file is: a path of the folder the command was run in as a relative URI, others as they are."""
    if file == "-":
        return {"uri": "-", "description": {"text": "standard input"}}
    if os.path.isabs(file):
        return {"uri": Path(file).as_uri()}
    steps = [step for step in file.replace(os.sep, "/").split("/") if step not in ("", ".")]
    uri = quote(os.fsencode("/".join(steps))) or "."
    if ".." in steps:  # above the base, from which a relative URI only leads downwards
        return {"uri": uri}
    return {"uri": uri, "uriBaseId": _BASE}
