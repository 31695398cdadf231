"""Every finding sitelog can make: its slug, its usual severity, and its title.

The table is the one registry. Each slug has a page `pages/<slug>.md` beside this file, which
`sitelog explain <slug>` prints; tests walk both ways. Slugs are stable: they are never renamed
or given another meaning.
"""

import os

from sitelog.base.frozen import NamedTuple
from sitelog.findings.finding import Finding, Span

_ERROR, _WARNING, _INFO = "error", "warning", "info"


class Slug(NamedTuple):
    """One sort of finding: its name, its usual severity (`error`, `warning`, `info`), its title."""

    slug: str
    severity: str
    title: str


GROUPS: dict[str, tuple[Slug, ...]] = {
    "files": (
        Slug("no-such-file", _ERROR, "the path named does not exist"),
        Slug("unreadable-file", _ERROR, "the file or folder cannot be read"),
        Slug("no-logs", _ERROR, "nothing to read in the paths given"),
        Slug("empty-file", _WARNING, "the file is empty"),
        Slug("not-utf8", _ERROR, "a byte that is not UTF-8 text"),
        Slug("control-character", _ERROR, "an invisible control character in a line"),
        Slug("line-too-long", _ERROR, "a line too long to be an entry"),
        Slug("merge-conflict", _ERROR, "a merge conflict that was left in the file"),
    ),
    "lines": (
        Slug("unknown-kind", _ERROR, "the first word is no kind of entry"),
        Slug("unreadable", _ERROR, "the line cannot be read from here on"),
        Slug("begins-with-dash", _ERROR, "a line begins with a dash"),
        Slug("stray-quote", _ERROR, "a quotation mark without its partner"),
        Slug("text-after-value", _ERROR, "loose text behind a complete entry"),
        Slug("wrong-count", _ERROR, "not as many values as places"),
        Slug("duplicate-clause", _ERROR, "the same clause stands twice in one entry"),
        Slug("bad-range", _ERROR, "the range of places cannot be meant"),
        Slug("range-too-long", _ERROR, "the range has too many places"),
        Slug("bad-name", _ERROR, "the name has characters a name cannot have"),
        Slug("reserved-word", _ERROR, "a word of the language used as a name"),
        Slug("comment-ate-size", _ERROR, "a wire size after `#` was read as a comment"),
        Slug("single-dash", _INFO, "a single dash was read as the start of the remark"),
        Slug("blank-left", _INFO, "a blank of the form is still to be filled in"),
        Slug("password", _ERROR, "a password has no place in a log"),
    ),
    "days and times": (
        Slug("bad-date", _ERROR, "the date does not exist or is not written as one"),
        Slug("ambiguous-date", _ERROR, "the date can be read in two ways"),
        Slug("bad-time", _ERROR, "the time does not exist or is not written as one"),
        Slug("time-with-dot", _INFO, "a time written with a dot was read with a colon"),
        Slug("no-day", _ERROR, "an entry stands before any day"),
        Slug("time-backwards", _WARNING, "the time is earlier than the one above it"),
        Slug("future-day", _WARNING, "the day is still to come"),
        Slug("dated-after-signature", _ERROR, "an entry is dated later than the signature below it"),
    ),
    "numbers and units": (
        Slug("bad-number", _ERROR, "the number cannot be read"),
        Slug("capacity-not-judged", _INFO, "a cable is asked for its drop alone, not for what it carries"),
        Slug("impossible-value", _ERROR, "no such value can be: it is out of the domain of its kind"),
        Slug("decimal-comma", _INFO, "a decimal comma was read as a decimal point"),
        Slug("thousands-separator", _ERROR, "the comma may be a decimal or a thousands separator"),
        Slug("unknown-unit", _ERROR, "the unit is not known"),
        Slug("unit-case", _ERROR, "the unit's capital letters decide what it means"),
        Slug("unit-kind", _ERROR, "the unit belongs to another sort of quantity"),
        Slug("no-unit", _ERROR, "the value has no unit"),
        Slug("unknown-gauge", _ERROR, "the wire gauge is not known"),
    ),
    "logs, sheets and kits": (
        Slug("no-site", _ERROR, "the log does not say which site it is about"),
        Slug("two-sites", _ERROR, "one log names two sites"),
        Slug("no-sheet", _ERROR, "no sheet is named"),
        Slug("no-kit", _ERROR, "no kit is named"),
        Slug("missing-sheet", _ERROR, "the sheet named is not in reach"),
        Slug("missing-kit", _ERROR, "the kit named is not in reach"),
        Slug("sheet-cycle", _ERROR, "sheets are based on each other in a circle"),
        Slug("duplicate-name", _ERROR, "the same name is given twice"),
        Slug("duplicate-requirement", _ERROR, "the same thing is asked twice in one sheet"),
        Slug("two-meanings", _ERROR, "a name that means two things"),
        Slug("wrong-file", _ERROR, "the entry belongs in another sort of file"),
    ),
    "places, people and steps": (
        Slug("unknown-place", _WARNING, "no sheet knows this place"),
        Slug("unknown-person", _WARNING, "nobody of that name is in the crew"),
        Slug("which-lead", _WARNING, "two leads could have done it"),
        Slug("unknown-step", _WARNING, "no sheet knows this step"),
        Slug("unknown-name", _WARNING, "no sheet asks anything of this name, but of one much like it"),
        Slug("not-a-lead", _ERROR, "only a lead may do this"),
        Slug("sign-purpose", _WARNING, "the signature is for another sort of visit"),
        Slug("away", _WARNING, "the job was left half way"),
        Slug("todo", _INFO, "something was noted that is still to be done"),
    ),
    "tools": (
        Slug("unknown-tool", _ERROR, "no kit in reach has this tool"),
        Slug("which-tool", _ERROR, "more than one tool could have been used"),
        Slug("no-tool", _ERROR, "no tool is named for the value"),
        Slug("wrong-tool", _ERROR, "the tool does not measure this"),
        Slug("tool-out-of-calibration", _ERROR, "the tool's calibration was not in force that day"),
        Slug("tool-out-of-range", _ERROR, "the value lies outside the tool's range"),
        Slug("tool-found-out", _WARNING, "a calibration found the tool outside its limits"),
        Slug("no-calibration", _ERROR, "the kit has no calibration of the tool"),
        Slug("default-tool-limits", _INFO, "the tool is judged by limits that its kit does not give"),
        Slug("click-tool", _WARNING, "the tool clicks and shows no value, or the other way round"),
        Slug("indicating", _INFO, "the tool only indicates and is not calibrated"),
        Slug("tool-never-fits", _WARNING, "the tool can never show this joint within its limits"),
        Slug("not-proved", _ERROR, "the voltage tester was not proved before and after"),
    ),
    "the work": (
        Slug("missing", _INFO, "asked by a sheet and not in the log"),
        Slug("not-ok", _ERROR, "looked at and found not ok"),
        Slug("under-torque", _ERROR, "the joint is tightened below its lower limit"),
        Slug("over-torque", _ERROR, "the joint is tightened above its upper limit"),
        Slug("current-kind", _ERROR, "the value is ac where dc is asked, or dc where ac is asked"),
        Slug("under", _ERROR, "the value is below its lower limit"),
        Slug("over", _ERROR, "the value is above its upper limit"),
        Slug("torque-not-for-bolt", _WARNING, "the torque would stretch a bolt of that size for good"),
        Slug("out-of-order", _ERROR, "done before something that has to come first"),
        Slug("live-work", _WARNING, "undone or swapped while the breaker was on"),
        Slug("too-soon", _ERROR, "done before the wait was over"),
        Slug("wait-uncertain", _WARNING, "the times are too coarse to prove the wait"),
        Slug("reopened", _WARNING, "was right, and has been opened again since"),
        Slug("pre-only", _WARNING, "only pre-tightened so far"),
        Slug("not-tested", _WARNING, "marked as not tested"),
        Slug("untraceable", _ERROR, "no calibrated tool stands behind the value"),
        Slug("doubtful", _WARNING, "it is not certain that the value passes"),
        Slug("device-changed", _WARNING, "the device of a place has other ratings than a line above"),
        Slug("wrong-test-voltage", _WARNING, "measured at another test voltage than asked"),
        Slug("probability-low", _WARNING, "inside its limits, but too close for the tool used"),
        Slug("no-limit", _INFO, "no sheet gives a limit for the value"),
        Slug("done-and-na", _WARNING, "the log says that it does not apply and that it was done"),
        Slug("overdue", _WARNING, "asked again and again, and due since a day that has passed"),
        Slug("signed-with-missing", _ERROR, "signed while something asked is missing"),
        Slug("signature-broken", _ERROR, "what was signed was changed afterwards"),
        Slug("signed-with-other-sheets", _WARNING, "the sheets or kits changed since it was signed"),
    ),
    "trials": (
        Slug("series-missing", _ERROR, "the logger's file that the entry names is not there"),
        Slug("series-unreadable", _ERROR, "the logger's file cannot be read as a trial"),
    ),
    "serials": (
        Slug("serial-twice", _ERROR, "one serial in two places at once"),
        Slug("serial-changed", _ERROR, "the serial of a place changed without a swap"),
        Slug("serial-pattern", _ERROR, "the serial does not look as the sheet says"),
        Slug("check-digit", _ERROR, "the check digit does not fit the number in front of it"),
        Slug("scan-unreadable", _ERROR, "the scanned code cannot be read"),
        Slug("scan-no-serial", _WARNING, "the scanned code holds no serial"),
        Slug("extra-missing", _WARNING, "a library that this needs is not installed"),
        Slug("part-left", _WARNING, "a removal is signed while a part still stands on the books"),
    ),
    "defects": (
        Slug("defect-open", _WARNING, "a defect is open"),
        Slug("danger-open", _ERROR, "a danger is open"),
        Slug("defect-unknown", _ERROR, "no defect of that name is in the log"),
        Slug("defect-twice", _ERROR, "two defects have the same name"),
    ),
    "photos": (
        Slug("photo-absent", _INFO, "a photo that the log names is not beside it"),
        Slug("photo-changed", _ERROR, "a photo is not the one whose hash the log gives"),
    ),
    "corrections": (
        Slug("strike-nothing", _ERROR, "the strike matches no entry above"),
        Slug("strike-many", _ERROR, "the strike matches more than one entry"),
        Slug("strike-reason", _WARNING, "a strike without a reason"),
        Slug("reason-wanted", _WARNING, "this entry wants a reason"),
    ),
}

CATALOG: dict[str, Slug] = {slug.slug: slug for group in GROUPS.values() for slug in group}


def page_path(slug: str) -> str:
    """Where the page of a slug of the catalog lies."""
    return os.path.join(os.path.dirname(__file__), "pages", f"{slug}.md")


def finding_at(span: Span, slug: str, message: str, help: str = "", severity: str = "") -> Finding:
    """A finding at a stretch of a line, with the usual severity of its slug unless one is given.

    Raises KeyError for a slug that the catalog lacks.
    """
    file, line, column, end_column, text = span
    return Finding(
        slug, severity or CATALOG[slug].severity, message, help, file, line, column, end_column, text
    )


def finding(
    slug: str,
    message: str,
    file: str,
    line: int,
    column: int,
    end_column: int,
    text: str = "",
    help: str = "",
) -> Finding:
    """A finding with the usual severity of its slug (KeyError for a slug the catalog lacks)."""
    return Finding(slug, CATALOG[slug].severity, message, help, file, line, column, end_column, text)
