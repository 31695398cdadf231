"""What the views need to know of a site, a gap, a case: any object with these attributes will do.

Only type checkers load this file: making a protocol costs as much as reading a short log.
"""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.findings.finding import Finding

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol
else:
    Protocol = object


class SiteSummary(Protocol):
    """What the summary needs to know of one site; the fields are those of `check --format json`."""

    @property
    def site(self) -> str:
        """The site's name."""

    @property
    def file(self) -> str | None:
        """The first file of its log."""

    @property
    def sheets(self) -> Sequence[str]:
        """The names of its sheets."""

    @property
    def joints(self) -> int:
        """How many joints the sheets ask for."""

    @property
    def joints_under(self) -> int:
        """How many of them are under torque."""

    @property
    def readings(self) -> int:
        """How many readings the sheets ask for."""

    @property
    def readings_failing(self) -> int:
        """How many of them fail."""

    @property
    def defects_open(self) -> int:
        """How many defects are open."""

    @property
    def missing(self) -> int:
        """How many things are still missing."""

    @property
    def errors(self) -> int:
        """How many findings are errors."""

    @property
    def warnings(self) -> int:
        """How many findings are warnings."""

    @property
    def ready(self) -> bool:
        """Whether nothing is missing by its sheets."""

    @property
    def headlines(self) -> Sequence[str]:
        """What stands above everything else, such as an open danger."""


class GapLike(Protocol):
    """One thing asked and not there: for which site and stage, in words, with the caution before it."""

    @property
    def site(self) -> str:
        """The site's name."""

    @property
    def stage(self) -> str:
        """The stage it belongs to; empty without one."""

    @property
    def text(self) -> str:
        """What is missing, in words."""

    @property
    def severity(self) -> str:
        """`error`, `warning` or `info`."""

    @property
    def caution(self) -> str:
        """What to heed before the act; empty without one."""

    @property
    def file(self) -> str:
        """The file of the line that asks it."""

    @property
    def line(self) -> int:
        """That line, from 1."""


class SuiteCase(Protocol):
    """One thing asked, or one fault: `pass`, `failed` or `open`, and the findings on it."""

    @property
    def group(self) -> str:
        """The sheet that asks, or `log`."""

    @property
    def name(self) -> str:
        """What is asked, or the fault."""

    @property
    def outcome(self) -> str:
        """`pass`, `open` or `failed`."""

    @property
    def verdict(self) -> str:
        """The verdict; empty for a fault."""

    @property
    def findings(self) -> Sequence[Finding]:
        """The findings that are its reasons."""


class SuiteLike(Protocol):
    """The cases of one site, or of a file that belongs to none."""

    @property
    def name(self) -> str:
        """The site's name."""

    @property
    def file(self) -> str | None:
        """The first file of its log."""

    @property
    def sheets(self) -> Sequence[str]:
        """The names of its sheets."""

    @property
    def cases(self) -> Sequence[SuiteCase]:
        """A case for each requirement, and for each fault besides."""
