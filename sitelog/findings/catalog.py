"""Every finding sitelog can make: its slug, its usual severity, and its title.

The table is the one registry. Each slug has a page `pages/<slug>.md` beside this file, which
`sitelog explain <slug>` prints; tests walk both ways. Slugs are stable: they are never renamed
or given another meaning.
"""

from pathlib import Path
from typing import NamedTuple

from sitelog.findings.finding import Finding

_ERROR, _WARNING, _INFO = "error", "warning", "info"


class Slug(NamedTuple):
    """One sort of finding: its name, its usual severity (`error`, `warning`, `info`), its title."""

    slug: str
    severity: str
    title: str


def _group(severity_of: dict[str, str], **titles: str) -> tuple[Slug, ...]:
    """Slugs from keyword titles; a slug that `severity_of` does not list is an error."""
    names = {name.replace("_", "-"): title for name, title in titles.items()}
    return tuple(Slug(slug, severity_of.get(slug, _ERROR), title) for slug, title in names.items())


GROUPS: dict[str, tuple[Slug, ...]] = {
    "files": _group(
        {"empty-file": _WARNING},
        no_such_file="the path named does not exist",
        unreadable_file="the file or folder cannot be read",
        no_logs="nothing to read in the paths given",
        empty_file="the file is empty",
        not_utf8="a byte that is not UTF-8 text",
        control_character="an invisible control character in a line",
        line_too_long="a line too long to be an entry",
        merge_conflict="a merge conflict that was left in the file",
    ),
    "lines": _group(
        {"single-dash": _INFO, "blank-left": _INFO},
        unknown_kind="the first word is no kind of entry",
        unreadable="the line cannot be read from here on",
        begins_with_dash="a line begins with a dash",
        stray_quote="a quotation mark without its partner",
        text_after_value="loose text behind a complete entry",
        wrong_count="as many values as places are needed",
        duplicate_clause="the same clause stands twice in one entry",
        bad_range="the range of places cannot be meant",
        range_too_long="the range has too many places",
        bad_name="the name has characters a name cannot have",
        reserved_word="a word of the language used as a name",
        comment_ate_size="a wire size after `#` was read as a comment",
        single_dash="a single dash was read as the start of the remark",
        blank_left="a blank of the form is still to be filled in",
        password="a password has no place in a log",
    ),
    "days and times": _group(
        {"time-with-dot": _INFO, "time-backwards": _WARNING},
        bad_date="the date does not exist or is not written as one",
        ambiguous_date="the date can be read in two ways",
        bad_time="the time does not exist or is not written as one",
        time_with_dot="a time written with a dot was read with a colon",
        no_day="an entry stands before any day",
        time_backwards="the time is earlier than the one above it",
    ),
    "numbers and units": _group(
        {"decimal-comma": _INFO},
        bad_number="the number cannot be read",
        decimal_comma="a decimal comma was read as a decimal point",
        thousands_separator="the comma may be a decimal or a thousands separator",
        unknown_unit="the unit is not known",
        unit_case="the unit's capital letters decide what it means",
        unit_kind="the unit belongs to another sort of quantity",
        no_unit="the value has no unit",
        unknown_gauge="the wire gauge is not known",
    ),
    "logs, sheets and kits": _group(
        {},
        no_site="the log does not say which site it is about",
        two_sites="one log names two sites",
        no_sheet="no sheet is named",
        no_kit="no kit is named",
        missing_sheet="the sheet named is not in reach",
        missing_kit="the kit named is not in reach",
        sheet_cycle="sheets are based on each other in a circle",
        duplicate_name="the same name is given twice",
        duplicate_requirement="the same thing is asked twice in one sheet",
        two_meanings="a name that means two things",
        wrong_file="the entry belongs in another sort of file",
    ),
    "places, people and steps": _group(
        {
            "unknown-place": _WARNING,
            "unknown-person": _WARNING,
            "unknown-step": _WARNING,
            "away": _WARNING,
            "todo": _INFO,
        },
        unknown_place="no sheet knows this place",
        unknown_person="nobody of that name is in the crew",
        unknown_step="no sheet knows this step",
        not_a_lead="only a lead may do this",
        away="the job was left half way",
        todo="something was noted that is still to be done",
    ),
    "tools": _group(
        {
            "tool-found-out": _WARNING,
            "default-tool-limits": _INFO,
            "tool-never-fits": _WARNING,
        },
        unknown_tool="no kit in reach has this tool",
        which_tool="more than one tool could have been used",
        no_tool="no tool is named for the value",
        wrong_tool="the tool does not measure this",
        tool_out_of_calibration="the tool's calibration was not in force that day",
        tool_out_of_range="the value lies outside the tool's range",
        tool_found_out="a later calibration found the tool outside its limits",
        no_calibration="the kit has no calibration of the tool",
        default_tool_limits="the tool is judged by a standard's limits, not by its own",
        tool_never_fits="the tool can never show this joint within its limits",
        not_proved="the voltage tester was not proved before and after",
    ),
    "the work": _group(
        {
            "missing": _INFO,
            "doubtful": _WARNING,
            "wait-uncertain": _WARNING,
            "reopened": _WARNING,
            "pre-only": _WARNING,
            "not-tested": _WARNING,
            "wrong-test-voltage": _WARNING,
            "probability-low": _WARNING,
            "no-limit": _INFO,
        },
        missing="asked by a sheet and not in the log",
        not_ok="looked at and found not ok",
        under_torque="the joint is tightened below its lower limit",
        over_torque="the joint is tightened above its upper limit",
        under="the value is below its lower limit",
        over="the value is above its upper limit",
        out_of_order="done before something that has to come first",
        too_soon="done before the wait was over",
        wait_uncertain="the times are too coarse to prove the wait",
        reopened="was right, and has been opened again since",
        pre_only="only pre-tightened so far",
        not_tested="marked as not tested",
        untraceable="no calibrated tool stands behind the value",
        doubtful="it is not certain that the value passes",
        wrong_test_voltage="measured at another test voltage than asked",
        probability_low="inside its limits, but too close for the tool used",
        no_limit="no sheet gives a limit for the value",
        signed_with_missing="signed while something asked is missing",
    ),
    "serials": _group(
        {},
        serial_twice="one serial in two places at once",
        serial_changed="the serial of a place changed without a swap",
        serial_pattern="the serial does not look as the sheet says",
    ),
    "defects": _group(
        {"defect-open": _WARNING},
        defect_open="a defect is open",
        danger_open="a danger is open",
        defect_unknown="no defect of that name is in the log",
        defect_twice="two defects have the same name",
    ),
    "corrections": _group(
        {"strike-reason": _WARNING, "reason-wanted": _WARNING},
        strike_nothing="the strike matches no entry above",
        strike_many="the strike matches more than one entry",
        strike_reason="a strike without a reason",
        reason_wanted="this entry wants a reason",
    ),
}

CATALOG: dict[str, Slug] = {slug.slug: slug for group in GROUPS.values() for slug in group}


def page_path(slug: str) -> Path:
    """Where the page of a slug of the catalog lies."""
    return Path(__file__).parent / "pages" / f"{slug}.md"


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
