"""`check --format junit`: a report that readers of JUnit XML take, and that counts what `check` says.

Every report is held against the schema of the xUnit plugin, `junit-10.xsd`, as it stands in the source
archive of pytest, and the example's is read back by junitparser, a library of others.
"""

import io
import json
import os
import re
import sys
from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest
from junitparser import Failure, JUnitXml, Skipped
from lxml import etree

from sitelog.asking.rows.cases import SuiteCase
from sitelog.cli.main import main
from sitelog.findings.catalog import CATALOG
from sitelog.findings.finding import Finding
from sitelog.views.findings import CAUTION
from sitelog.views.junit import as_junit
from tests.archives import JUNIT_SCHEMA, Fetch
from tests.cli.runs import output_by_hash_seed
from tests.cli.test_sarif import FAULTY
from tests.findings.pages import examples

CHECKOUT = Path(__file__).parents[2]

# XML 1.0 (fifth edition), production 2: what is no character of a document.
NO_CHARACTER = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@pytest.fixture(scope="session")
def schema(from_archive: Fetch) -> etree.XMLSchema:
    """The published schema."""
    return etree.XMLSchema(etree.parse(from_archive(JUNIT_SCHEMA, "testing/*/junit-10.xsd")))


def test_the_schema_refuses_what_is_none(schema):
    assert not schema.validate(etree.fromstring(b'<testsuites><testsuite name="a"/></testsuites>'))


def _valid(schema: etree.XMLSchema, text: str) -> Xml.Element:
    """The report, found to be as the schema wants it."""
    schema.assertValid(etree.fromstring(text.encode()))
    root = Xml.fromstring(text.encode())
    assert root.tag == "testsuites"
    for element in root.iter():
        for words in (element.text or "", *element.attrib.values()):
            assert not NO_CHARACTER.search(words)
    for suite in root:
        cases = suite.findall("testcase")
        assert int(suite.attrib["tests"]) == len(cases)
        for count, tag in (("failures", "failure"), ("skipped", "skipped")):
            assert int(suite.attrib[count]) == len(suite.findall(f"testcase/{tag}"))
        names = [(case.attrib["classname"], case.attrib["name"]) for case in cases]
        assert len(set(names)) == len(names)  # or a server takes two cases for one
    for count in ("tests", "failures", "errors"):
        assert int(root.attrib[count]) == sum(int(suite.attrib[count]) for suite in root)
    return root


def _check(capsys, *arguments: str) -> tuple[int, str]:
    status = main(["check", *arguments, "--format", "junit", "--today", "2026-11-25"])
    out = capsys.readouterr().out
    assert out.isascii()
    return status, out


def _findings(capsys, *arguments: str) -> list[dict]:
    main(["check", *arguments, "--format", "json", "--today", "2026-11-25"])
    return json.loads(capsys.readouterr().out)["findings"]


@pytest.fixture(autouse=True)
def _nothing_is_kept(monkeypatch):
    monkeypatch.setitem(os.environ, "SITELOG_CACHE", "")


def _each_error_is_a_failure(root: Xml.Element, findings: list[dict]) -> None:
    """Every error is told in a failure, at its file and line; and without an error nothing has failed."""
    told = "".join(failure.text or "" for failure in root.iter("failure"))
    for one in findings:
        if (
            one["severity"] == "error" and one["slug"] != "signed-with-missing"
        ):  # that stands with what is missing
            at = f"{re.escape(one['file'])}:{one['line']}:\\d+: error: .*\\[{one['slug']}\\]"
            assert re.search(at, told), one
    assert bool(told) == any(one["severity"] == "error" for one in findings)


def test_the_example_logs(monkeypatch, capsys, schema):
    monkeypatch.chdir(CHECKOUT)
    status, out = _check(capsys, "example_logs")
    root = _valid(schema, out)
    assert status == 1
    _each_error_is_a_failure(root, _findings(capsys, "example_logs"))
    suites = {suite.attrib["name"]: suite for suite in root}
    assert suites["hopfield-7"].attrib["failures"] == suites["hopfield-7"].attrib["skipped"] == "0"
    assert suites["tannery-3"].attrib["file"] == "example_logs/sites/tannery-3.site"
    properties = {one.attrib["name"]: one.attrib["value"] for one in suites["tannery-3"].iter("property")}
    assert properties == {"sheets": "gandle-3, house-rules", "judged by": "2026-11-25", "caution": CAUTION}


def test_a_joint_under_torque_is_a_failure_with_its_place(monkeypatch, capsys, schema):
    monkeypatch.chdir(CHECKOUT)
    root = _valid(schema, _check(capsys, "example_logs/sites/tannery-3.site")[1])
    cases = {case.attrib["name"]: case for case in root.iter("testcase")}
    assert cases["joint clamp-4"].find("*") is None
    assert cases["joint clamp-4"].attrib["classname"] == "tannery-3.gandle-3"
    failure = cases["joint clamp-5"].find("failure")
    assert failure is not None
    assert failure.attrib["type"] == "under-torque"
    assert failure.attrib["message"].startswith(
        "under: clamp-5 14.1 Nm is below 14.4 Nm, the lowest allowed ("
    )
    assert re.match(r"example_logs/sites/tannery-3\.site:\d+:\d+: error: ", failure.text or "")
    assert "certificate" in (failure.text or "")


def test_what_is_missing_is_skipped_and_points_at_the_sheet(monkeypatch, capsys, schema):
    monkeypatch.chdir(CHECKOUT)
    root = _valid(schema, _check(capsys, "example_logs/sites/chapel-row-5.site")[1])
    skipped = root.find(".//testcase[@name='joint clamp-1']/skipped")
    assert skipped is not None
    assert skipped.attrib == {"type": "missing", "message": "missing: joint clamp-1 (16 Nm +-10 %)"}
    assert (skipped.text or "").startswith("example_logs/gandle-3.sheet:21:1: info: missing: joint clamp-1")


def test_what_a_later_visit_did_again_stays_one_case(monkeypatch, capsys, schema):
    monkeypatch.chdir(CHECKOUT)
    root = _valid(schema, _check(capsys, "example_logs/sites/station-40.site")[1])
    names = [case.attrib["name"] for case in root.iter("testcase")]
    again = [name.removesuffix(", visit 2") for name in names if name.endswith(", visit 2")]
    assert "joint pole-1" in again
    assert not set(again) & set(names)


def test_nothing_that_did_not_pass_looks_passed(monkeypatch, capsys, schema):
    from datetime import date

    from sitelog.fleet.workspace import load

    monkeypatch.chdir(CHECKOUT)
    root = _valid(schema, _check(capsys, "example_logs")[1])
    sites = load(["example_logs"], date(2026, 11, 25)).judged
    assert sites
    for site in sites:
        suite = root.find(f"./testsuite[@name='{site.name}']")
        assert suite is not None
        passed = sum(case.find("*") is None for case in suite.findall("testcase"))
        assert passed == sum(one.requirement is not None and one.verdict == "pass" for one in site.results)


def test_another_library_reads_the_same_counts(monkeypatch, capsys):
    monkeypatch.chdir(CHECKOUT)
    out = _check(capsys, "example_logs")[1]
    root = Xml.fromstring(out)
    read = JUnitXml.fromstring(out.encode())
    assert (read.tests, read.failures, read.errors) == tuple(
        int(root.attrib[name]) for name in ("tests", "failures", "errors")
    )
    assert [suite.name for suite in read] == [suite.attrib["name"] for suite in root]
    results = [type(result) for suite in read for case in suite for result in case.result]
    assert results.count(Failure) == read.failures
    assert results.count(Skipped) == sum(int(suite.attrib["skipped"]) for suite in root)


def test_faulty_files_give_a_valid_report(tmp_path, monkeypatch, capsys, schema):
    for name, data in FAULTY.items():
        (path := tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    monkeypatch.chdir(tmp_path)
    status, out = _check(capsys)
    root = _valid(schema, out)
    assert status == 1
    _each_error_is_a_failure(root, _findings(capsys))
    assert {"odd.sheet", "odd.kit", "no site.site"} <= {suite.attrib["name"] for suite in root}
    assert all(suite.attrib["name"] for suite in root)


@pytest.mark.parametrize("slug", [slug for slug in CATALOG if examples(slug)])
def test_what_the_pages_call_wrong_is_told(slug, tmp_path, monkeypatch, capsys, schema):
    monkeypatch.chdir(tmp_path)
    for name, text in examples(slug)[0].items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    _each_error_is_a_failure(_valid(schema, _check(capsys)[1]), _findings(capsys))


def test_signed_while_something_is_missing_is_a_failure(tmp_path, monkeypatch, capsys, schema):
    (tmp_path / "a.sheet").write_text("sheet a\nlook wall-sound\nlook ventilation\n", encoding="utf-8")
    (tmp_path / "a.site").write_text(
        "site a-1\nsheet a\ncrew mo lead\nday 2026-03-02\nlook wall-sound ok\nsign mo installed\n",
        encoding="utf-8",
    )
    monkeypatch.chdir(tmp_path)
    status, out = _check(capsys)
    failure = _valid(schema, out).find(".//testcase[@name='ventilation']/failure")
    assert status == 1
    assert failure is not None
    assert "error: missing: ventilation" in (failure.text or "")


def test_no_such_file(tmp_path, monkeypatch, capsys, schema):
    monkeypatch.chdir(tmp_path)
    status, out = _check(capsys, "none.site")
    assert status == 2
    assert [one.attrib["type"] for one in _valid(schema, out).iter("failure")] == ["no-such-file"]


def test_nothing_to_say_is_a_valid_report(tmp_path, monkeypatch, capsys, schema):
    (tmp_path / "a.kit").write_text("kit a\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    status, out = _check(capsys)
    assert status == 0
    assert _valid(schema, out).attrib == {
        "name": "sitelog check",
        "tests": "0",
        "failures": "0",
        "errors": "0",
    }


def test_standard_input(monkeypatch, capsys, schema):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"site a-1\nnosuchthing here\n")))
    root = _valid(schema, _check(capsys, "-")[1])
    assert root[0].attrib["file"] == "-"
    assert [(failure.text or "")[:12] for failure in root.iter("failure")] == ["-:1:1: error", "-:2:1: error"]


class _Suite:
    def __init__(self, name: str, *cases: SuiteCase) -> None:
        self.name, self.file, self.sheets, self.cases = name, name, (name,), cases


def test_characters_that_xml_cannot_hold_are_shown_as_escapes(schema):
    odd = "a\x00\x07\x1b[31m\x85\ud800\ufffe\uffff]]>&<\"'\u202eö🔋\nb"
    told = Finding("under", "error", odd, odd, odd, 1, 1, 2, odd.replace("\n", ""))
    text = "".join(as_junit([_Suite(odd, SuiteCase(odd, odd, "failed", "under", (told,)))], "2026-03-02"))
    assert text.isascii()
    root = _valid(schema, text)
    shown = r"a\x00\x07\x1b[31m\x85\ud800\ufffe\uffff]]>&<" + "\"'" + r"\u202eö🔋\x0ab"
    assert root[0].attrib["name"] == shown
    assert root[0].find("testcase").attrib["name"] == shown
    assert shown in (root[0].find("testcase/failure").text or "")


def test_two_runs_give_the_same_bytes(monkeypatch, tmp_path):
    monkeypatch.chdir(CHECKOUT)
    outputs = output_by_hash_seed("check", "example_logs", "--format", "junit", cache=tmp_path / "c")
    assert "<testcase" in outputs[0]
    assert outputs[0] == outputs[1]
