"""A line made of one read before is the line read anew: entry, record and findings."""

import re

import pytest

from sitelog.files.records import Log, read_log
from sitelog.files.records.repeats import forget, repeated
from sitelog.files.source import from_bytes
from tests.bench.fleet import logs
from tests.corpus.cases import ALL

_LOGS = [pytest.param(case, id=f"{case.path.stem}:{case.title}") for case in ALL if case.role == "log"]


def _alone(text: str) -> Log:
    """Read with nothing remembered; a line at a time, so that no line helps another."""
    forget()
    return read_log(from_bytes(text.encode("utf-8", "surrogateescape"), "a.site"))


def _shifted(text: str) -> str:
    """The same at other times, and with other remarks."""
    text = re.sub(
        r"(?m)^([01]\d):([0-5]\d)(?=[ \t])", lambda time: f"0{int(time[1]) % 10}:{59 - int(time[2]):02}", text
    )
    return re.sub(r'(?m)(?<=[a-z\d]) -- [^"\n]*$', " -- said in other words", text)


@pytest.mark.parametrize("case", _LOGS)
def test_corpus(case) -> None:  # type: ignore[no-untyped-def]
    """Every line after the same line, and after the same at another time and with another remark."""
    text = case.data.decode("utf-8", "surrogateescape")
    expected, of_shifted = _alone(text), _alone(_shifted(text))
    for first, second, wanted in (
        (text, text, expected),
        (_shifted(text), text, expected),
        (text, _shifted(text), of_shifted),
    ):
        _alone(first)
        assert read_log(from_bytes(second.encode("utf-8", "surrogateescape"), "a.site")) == wanted


@pytest.mark.parametrize("faulty", [0, 4])
def test_fleet(faulty: int) -> None:
    """A fleet read in one go is each of its logs read alone."""
    texts = ["\n".join(log) for log in logs(2_000, seed=7, faulty=faulty)]
    alone = [_alone(text) for text in texts]
    forget()
    assert [read_log(from_bytes(text.encode(), "a.site")) for text in texts] == alone


def test_it_is_remembered() -> None:
    """Another time and another remark are the line's own; everything else is as it was."""
    _alone("09:20  torque  bracket-4  12.1 Nm  by jp with TW3  -- first pass")
    record = repeated("b.site", "17:05  torque  bracket-4  12.1 Nm  by jp with TW3  -- again", 7)
    assert record is None  # at a time that was not read yet
    _alone("17:05  torque  bracket-4  12.1 Nm  by jp with TW3  -- again\n09:20  did  delivery")
    record = repeated("b.site", "09:20  torque  bracket-4  12.1 Nm  by jp with TW3  -- first pass", 7)
    assert record is not None
    head = record.head
    assert (head.file, head.line, str(head.clock), head.by, head.tool) == (
        "b.site",
        7,
        "09:20",
        ("jp",),
        "TW3",
    )
    assert head.entry.remark == "first pass"
    assert repeated("b.site", "09:20  torque  bracket-5  12.1 Nm  by jp with TW3  -- first pass", 7) is None


@pytest.mark.parametrize(
    "line",
    [
        "09:20  look  wall-sound not ok  -- crumbling",  # the remark answers what is asked of it
        "09:20  torque  bracket-4  12,1 Nm",  # something is to be said of it each time
        "09:20  torque  bracket-4  12 Nm  # dry",
        "9:20  torque  bracket-4  12 Nm",
        '09:20  photo  "a -- b.jpg"  -- far away',
    ],
)
def test_it_is_read_anew(line: str) -> None:
    """What depends on more than the words, or has something wrong with it, is never taken from memory."""
    _alone(line)
    assert repeated("a.site", line, 1) is None
