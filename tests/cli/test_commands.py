"""What check, gaps and explain print, where, and with which exit status."""

import datetime
import json

import pytest

from sitelog.cli.main import main
from sitelog.findings.catalog import CATALOG
from sitelog.views.findings import CAUTION, READY
from tests.cli.fakes import UNDER, Gap, Site, Workspace, pretend


def test_check_text(monkeypatch, capsys):
    pretend(monkeypatch, Workspace(findings=(UNDER,)))
    assert main(["check", "hill-9.site"]) == 1
    out, err = capsys.readouterr()
    assert out == (
        "hill-9.site:7:31: error: foot-2: 5.9 Nm is under 7.2 Nm [under-torque]\n"
        "    09:05 torque foot-1..2  8 Nm,  5.9 Nm\n"
        "                                  ^^^^^^\n"
        "    help: tighten it again\n"
        "\n"
        "site    joints  joints under  readings  readings failing  defects open  missing  errors  warnings"
        "  state\n"
        "hill-9       4             1         3                 0             0        2       1         0"
        "  not ready (twin-5, house)\n"
        "\n"
        f"{CAUTION}\n"
    )
    assert err == ""


def test_check_json_has_the_promised_keys_and_no_caution(monkeypatch, capsys):
    pretend(monkeypatch, Workspace(findings=(UNDER,), sites=(Site(file=None),)))
    assert main(["check", "--format", "json"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert list(answer) == ["findings", "sites"]
    assert answer["findings"] == [
        {
            "slug": "under-torque",
            "severity": "error",
            "message": "foot-2: 5.9 Nm is under 7.2 Nm",
            "help": "tighten it again",
            "file": "hill-9.site",
            "line": 7,
            "column": 31,
            "end_column": 37,
        }
    ]
    assert answer["sites"] == [
        {
            "site": "hill-9",
            "file": None,
            "sheets": ["twin-5", "house"],
            "joints": 4,
            "joints_under": 1,
            "readings": 3,
            "readings_failing": 0,
            "defects_open": 0,
            "missing": 2,
            "errors": 1,
            "warnings": 0,
            "ready": False,
        }
    ]


@pytest.mark.parametrize(
    ("severities", "readable", "status"),
    [((), 1, 0), (("info", "warning"), 1, 0), (("warning", "error"), 1, 1), ((), 0, 2), (("error",), 0, 2)],
)
def test_check_status(monkeypatch, capsys, severities, readable, status):
    findings = tuple(UNDER._replace(severity=severity) for severity in severities)
    pretend(monkeypatch, Workspace(findings=findings, readable=readable))
    for extra in ([], ["--format", "json"]):
        assert main(["check", *extra]) == status
        assert ("no log could be read" in capsys.readouterr().err) == (status == 2)


def test_paths_and_today_reach_the_workspace(monkeypatch, capsys):
    calls = []
    pretend(monkeypatch, Workspace(), calls)
    main(["check", "a", "-", "--today", "2026-03-02"])
    main(["gaps", "--today", "2026-03-02"])
    assert calls == [(["a", "-"], datetime.date(2026, 3, 2)), (["."], datetime.date(2026, 3, 2))]
    assert main(["check", "--today", "2.3.26"]) == 2
    assert "write it as 2026-03-02" in capsys.readouterr().err


def test_ready_is_worded_by_the_sheets_and_what_is_dangerous_stands_first(monkeypatch, capsys):
    danger = Site(headlines=("D1 danger: live part within reach", "away: locked"))
    pretend(monkeypatch, Workspace(sites=(danger, Site(site="hill-11", ready=True, missing=0))))
    assert main(["check"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[:2] == ["hill-9: D1 danger: live part within reach", "hill-9: away: locked"]
    assert f"{READY} (twin-5, house)" in lines[5]
    assert lines[-1] == CAUTION
    assert not any(word in "\n".join(lines[:-1]).lower() for word in ("safe", "complian"))


def test_gaps(monkeypatch, capsys):
    gaps = (
        Gap("hill-9", "fixing", "torque foot-2"),
        Gap("hill-9", "power", "breaker-on", caution="cover closed"),
        Gap("hill-9", "power", "lamp-check", severity="error", line=9),
    )
    sites = (Site(headlines=("away: locked",)), Site(site="hill-11"))
    pretend(monkeypatch, Workspace(findings=(UNDER,), sites=sites, wanted=gaps))
    assert main(["gaps"]) == 1
    out, err = capsys.readouterr()
    assert out == (
        "hill-9: away: locked\n"
        "\n"
        "hill-9: 3 still to do\n"
        "  fixing\n"
        "    torque foot-2  (twin-5.sheet:4)\n"
        "  power\n"
        "    caution: cover closed\n"
        "    breaker-on  (twin-5.sheet:4)\n"
        "    error: lamp-check  (twin-5.sheet:9)\n"
        f"hill-11: {READY}\n"
        "\n"
        f"{CAUTION}\n"
    )
    assert err == "sitelog: 1 error found: see `sitelog check`\n"


@pytest.mark.parametrize(("readable", "status"), [(1, 0), (0, 2)])
def test_gaps_status_without_gaps(monkeypatch, capsys, readable, status):
    pretend(monkeypatch, Workspace(readable=readable))
    assert main(["gaps"]) == status
    assert (READY in capsys.readouterr().out) == (status == 0)


@pytest.mark.parametrize("written", ["under-torque", "[under-torque]", "Under-Torque"])
def test_explain_prints_the_page(capsys, written):
    assert main(["explain", written]) == 0
    assert capsys.readouterr().out.startswith("# under-torque\n")


def test_explain_alone_lists_every_finding(capsys):
    assert main(["explain"]) == 0
    words = capsys.readouterr().out.split()
    assert set(CATALOG) <= set(words)


def test_explain_names_the_nearest(capsys):
    assert main(["explain", "under-torqe"]) == 2
    assert "the nearest: under-torque" in capsys.readouterr().err
    assert main(["explain", "zzzz"]) == 2
    assert "lists all" in capsys.readouterr().err
