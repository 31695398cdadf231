"""A line made of one read before is the line read anew: entry, record and findings."""

import re
from random import Random

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


@pytest.mark.parametrize("case", _LOGS)
def test_corpus_with_other_numbers(case) -> None:  # type: ignore[no-untyped-def]
    """Every line after the same with some of its digits changed, as often as it takes to learn that."""
    random = Random(case.title)
    text = case.data.decode("utf-8", "surrogateescape")
    lines = [line for line in text.splitlines() for _ in range(8)]
    first = "\n".join(_other_digits(random, line, 0.3) for line in lines)
    others = [_other_digits(random, line, share) for line in lines for share in (0.1, 0.6)]
    expected = [_alone(line) for line in others]
    _alone(first)
    assert [read_log(from_bytes(line.encode("utf-8", "surrogateescape"), "a.site")) for line in others] == (
        expected
    )


def _other_digits(random: Random, line: str, share: float) -> str:
    """The line with digits changed behind its time, which is learnt by itself."""
    return line[:5] + re.sub(
        "[0-9]", lambda one: one[0] if random.random() > share else str(random.randrange(10)), line[5:]
    )


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
    ("line", "first", "second", "third"),
    [
        ("torque a-1..3 {} Nm  with T1", "12.1 11.9 12.0", "12.0 12.0 12.0", "13.4 11.9 09.8"),
        ("torque a-1  click {} Nm -- {}", "12", "14", "15"),
        ("torque a-1..3  {} Nm", "12", "14", "15"),
        ("torque a-1  moved {} deg at 12 Nm", "12", "14", "15"),
        ("reading insulation a/b {} MΩ at 500 V", ">500", ">900", ">999"),
        ("reading voltage a/b {}Vac from unit", "230", "231", "229"),
        ("reading voltage a/b  230 V after {} min", "5", "6", "7"),
        ("dead a/b {} V", "0", "1", "2"),
        ("cable a/b {} m  20 A at 307 V dc", "6 mm2 Cu 4.5", "6 mm2 Cu 4.7", "9 mm2 Cu 3.0"),
    ],
)
def test_other_numbers(line: str, first: str, second: str, third: str) -> None:
    """Two lines show how one of the sort is read; a third with other values is made of them."""
    lines = [line.format(numbers, "dry") for numbers in (first, second, third)]
    expected = _alone(lines[2]).lines[0].record
    assert expected is not None
    _alone("\n".join(lines[:2]))
    made = repeated("a.site", lines[2], 1)
    assert (made is None) == line.startswith("dead")  # of which nobody measures many
    assert made in (None, expected)


@pytest.mark.parametrize(
    "line",
    [
        "torque a-1..3 12.1 12,1 12.1 Nm",  # how a comma was read is said each time
        "torque a-4..6 12.1 12.2 12.1 Nm",  # other places
        "torque a-1..3 12.1 12.2 12.1 Nm  with T2",
        "torque a-1..3 12.1 12.2 12.1 mm",
        "torque a-1..3 12.1 ___  12.1 Nm",
    ],
)
def test_more_than_other_numbers(line: str) -> None:
    """What differs in more than its values is read from the start."""
    _alone("torque a-1..3 12.1 12.2 12.3 Nm\ntorque a-1..3 12.0 12.2 12.4 Nm")
    assert repeated("a.site", "torque a-1..3 12.1 12.2 12.1 Nm", 1) is not None
    assert repeated("a.site", line, 1) is None


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
