"""What stood on an earlier day: which lines of a log, and which calibrations of a kit, are taken."""

from datetime import date

import pytest

from sitelog.files.records import read_kit, read_log
from sitelog.files.records.kit import Kit
from sitelog.files.records.log import Log
from sitelog.files.source import from_bytes
from sitelog.judging.site.until import kit_until, log_until


def _log(*lines: str) -> Log:
    return read_log(from_bytes("\n".join(lines).encode(), "a-1.site"))


def _kit(*lines: str) -> Kit:
    return read_kit(from_bytes("\n".join(lines).encode(), "a.kit"))


TWO_VISITS = _log(
    "site a-1",
    "crew mo lead",
    "visit install",
    "day 2026-03-02",
    "08:00 did delivery",
    "2026-03-05 09:00 note a card was left",
    "08:10 torqe x 1 Nm",
    "visit service",
    "kit van-9",
    "day 2026-09-01",
    "08:00 look vent ok",
    "visit removal",
    "sheet other",
)


@pytest.mark.parametrize(
    ("day", "numbers"),
    [
        (date(2026, 3, 2), [1, 2, 3, 4, 5, 7, 12, 13]),
        (date(2026, 3, 5), [1, 2, 3, 4, 5, 6, 7, 12, 13]),
        (date(2026, 8, 31), [1, 2, 3, 4, 5, 6, 7, 12, 13]),
        (date(2026, 9, 1), list(range(1, 14))),
    ],
)
def test_lines_belong_to_their_day(day: date, numbers: list[int]) -> None:
    """An entry to its own date or the day above it, a visit to the first day below; without a day, kept."""
    log = log_until(TWO_VISITS, day)
    assert log is not None
    assert [line.entry.number for line in log.lines] == numbers


def test_what_is_wrong_with_a_later_line_was_not_said_then() -> None:
    """Findings go with their lines."""
    lines = ("site a-1", "day 2026-03-02", "torqe x 1 Nm", "day 2026-03-03", "torqe y 1 Nm")
    assert len(_log(*lines).findings) == 2
    log = log_until(_log(*lines), date(2026, 3, 2))
    assert log is not None
    assert [finding.line for finding in log.findings] == [3]


def test_a_log_not_yet_begun_is_none() -> None:
    """Whatever its head says; a log without any day may be of any day."""
    assert log_until(_log("site a-1", "crew mo", "day 2026-03-02", "did x"), date(2026, 3, 1)) is None
    undated = _log("site a-1", "did x")
    assert log_until(undated, date(2026, 3, 1)) is undated


def test_days_that_go_back_and_forth() -> None:
    """Two crews, or a merge: each day stands for itself."""
    log = log_until(_log("site a-1", "day 2026-03-03", "did x", "day 2026-03-02", "did y"), date(2026, 3, 2))
    assert log is not None
    assert [line.entry.number for line in log.lines] == [1, 4, 5]


def test_a_kit_knows_only_the_calibrations_so_far() -> None:
    """The one of the day itself is one of them."""
    kit = _kit(
        "kit a",
        "tool W1 torque-wrench 4..20 Nm +-4 %",
        "calibrated W1 2025-01-10 due 2026-01-10 cert A",
        "calibrated W1 2026-01-09 due 2027-01-09 cert B",
    )
    certs = {
        day: [one.cert for some in kit_until(kit, day).calibrations.values() for one in some]
        for day in (date(2025, 1, 9), date(2025, 1, 10), date(2026, 1, 8), date(2026, 1, 9))
    }
    assert list(certs.values()) == [[], ["A"], ["A"], ["A", "B"]]
    assert kit_until(kit, date(2025, 1, 9)).tools == kit.tools
