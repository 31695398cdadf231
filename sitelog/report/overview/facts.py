"""Questions and their answers → the facts of the overview, section by section."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date

from sitelog.base.text import printable
from sitelog.judging.completeness import COMPLETE, INCOMPLETE, RESERVED, TAKEN_DOWN
from sitelog.notation.quantities import format_quantity
from sitelog.notation.quantities.quantity import Quantity
from sitelog.report.handover.document import Cell, ColumnHead, PageTable, Words
from sitelog.report.overview.answers import Linker, cut, how_to_ask, told
from sitelog.report.overview.asking import AnsweredRow, Ask
from sitelog.report.overview.document import (
    Listed,
    Overview,
    OverviewPicture,
    OverviewSection,
    Part,
    Ranking,
    StateCount,
)
from sitelog.report.overview.drift import MUCH, drifting
from sitelog.report.overview.drift import QUESTION as MOVED
from sitelog.report.overview.ranking import ORDER, SIGNS, Fleet, VisitDue, VisitReason, counted, visits
from sitelog.report.overview.tools import DueTool, due_tools
from sitelog.report.overview.torques import Shares, spread, tool_name
from sitelog.report.pictures.shapes import PlottedValue
from sitelog.views.findings import CAUTION

STATES = {
    INCOMPLETE: ("✗", "not complete", "bad"),
    RESERVED: ("△", "complete with reservations", "open"),
    COMPLETE: ("✓", "complete by their sheets", "good"),
    TAKEN_DOWN: ("–", "taken down", "quiet"),
}
"""Each state with its shape, its words and its look."""

MOST_SITES = 1000
MOST_DRAWN = 40  # rows of one picture
_FEW_NAMES = 6

_SITES = (
    "sites show site, state, sheets, joints, joints_under, readings, readings_failing, missing,"
    " defects_open, errors, warnings, last_signed sort site"
)
_DEFECTS = "defects open show site, defect, severity, place, about, opened, age sort age down"
_BROKEN = "signatures failing show site, who, purpose, day, because"
_HOLDING = "count signatures per holds"
_UNDER = "joints under torque show site, place, value, low, high, tool, by, day"
_AGES = (
    ("up to 7 days", 7),
    ("8 to 30 days", 30),
    ("31 to 90 days", 90),
    ("over 90 days", 10**9),
)


def overview(
    ask: Ask,
    today: date,
    headlines: Mapping[str, Sequence[str]],
    pages: Mapping[str, str],
    writing: str = "",
) -> Overview:
    """The facts of a fleet.

    `headlines` are what stands above everything else, by site; `pages` where the handover pages are that are
    there; `writing` the command that writes them, where some are not.
    """
    link = Linker(pages)
    fleet = Fleet(list(ask("sites sort site")), list(ask(_DEFECTS)), list(ask(_BROKEN)))
    listed = visits(ask, fleet, headlines, today)
    sections = (
        _visits(listed, link),
        _defects(ask, fleet.defects, link),
        _tools(ask, today, link),
        _torques(ask, link),
        _drift(ask, link),
        _signatures(ask, fleet.broken, link),
        _sites(ask, fleet.sites, link),
    )
    numbers = Counter(row["state"] for row in fleet.sites)
    states = tuple(
        StateCount(*words, numbers[state])
        for state, words in STATES.items()
        if numbers[state] or state != TAKEN_DOWN
    )
    absent = any(row["site"] not in pages for row in fleet.sites)
    how = (
        "Every table names the question it answers: put the same folders behind it, and --format csv for a "
        "spreadsheet. What a site lacks in all, in work order: sitelog gaps.",
        f"A site's name leads to its handover page where there is one. To write them: {writing}."
        if writing and absent
        else "",
    )
    number = len(fleet.sites)
    title = f"{number} sites" if number != 1 else f"1 site: {printable(fleet.sites[0]['site'])}"
    return Overview(title, today.isoformat(), number, states, sections, tuple(filter(None, how)), (CAUTION,))


# ---- what needs a visit ----------------------------------------------------------------------------
def _visits(listed: Sequence[VisitDue], link: Linker) -> OverviewSection:
    shown, more = cut(listed)
    order = ", ".join(words for _, _, words in ORDER)
    parts: list[Part] = [
        Ranking(tuple(Listed(link(one.site), tuple(map(_reason, one.reasons))) for one in shown))
    ]
    if more:
        parts.append(Words(f"… and {more} more. What each of them lacks: sitelog gaps", "quiet"))
    parts.append(
        Words(f"In this order: {order}; of two alike, the site with more of it, then the older.", "quiet")
    )
    if not listed:
        parts = [Words("No site: nothing is open, due or failing.")]
    return OverviewSection("visit", "What needs a visit first", f"{len(listed)} of the sites", tuple(parts))


def _reason(one: VisitReason) -> Cell:
    sign = SIGNS[one.kind]
    return Cell(f"{sign} {one.words}", look="bad" if sign == "✗" else "open")


# ---- defects ---------------------------------------------------------------------------------------
def _defects(ask: Ask, rows: Sequence[AnsweredRow], link: Linker) -> OverviewSection:
    title = "Open defects by age"
    if not rows:
        return OverviewSection("defects", title, "none", (Words("No defect is open."),))
    counts = Counter((row["severity"], _bucket(row["age"])) for row in rows)
    severities = [one for one in ("danger", "major", "minor") if any(key[0] == one for key in counts)]
    of_severity, in_all = ColumnHead("severity"), ColumnHead("in all", "number")
    heads = (of_severity, *(ColumnHead(name, "number") for name, _ in _AGES), in_all)
    table = tuple(
        (
            Cell(severity),
            *(Cell(str(counts[severity, name] or "")) for name, _ in _AGES),
            Cell(str(sum(counts[severity, name] for name, _ in _AGES))),
        )
        for severity in severities
    )
    bars = tuple(
        (f"{severity}, {name}", float(counts[severity, name]), "bad" if severity == "danger" else "open")
        for severity in severities
        for name, _ in reversed(_AGES)
        if counts[severity, name]
    )
    parts: list[Part] = [
        OverviewPicture(
            "Open defects by severity and by how long they have been open", "bars", "open defects", bars
        ),
        PageTable("By severity and age, in numbers", heads, table),
        *told(ask, "Open defects, the oldest first", _DEFECTS, link.of_row),
    ]
    return OverviewSection("defects", title, str(len(rows)), tuple(parts))


def _bucket(age: int | None) -> str:
    """The age of a defect in words; one that names no day has none, and counts as old."""
    days = age if age is not None else _AGES[-1][1]
    return next(name for name, most in _AGES if days <= most)


# ---- tools -----------------------------------------------------------------------------------------
def _tools(ask: Ask, today: date, link: Linker) -> OverviewSection:
    due = due_tools(ask, today)
    title = "Tools due for calibration"
    if not due:
        return OverviewSection("tools", title, "none", (Words("No tool is due within 90 days."),))
    shown, more = cut(due)
    heads = tuple(
        ColumnHead(name, look)
        for name, look in (
            ("tool", ""), ("kit", ""), ("kind", ""), ("certificate", ""), ("due", "day"),
            ("days left", "number"), ("state", ""), ("values", "number"), ("used at, newest first", "words"),
        )
    )  # fmt: skip
    table = PageTable(
        "Tools whose calibration has run out, or will within 90 days", heads, tuple(map(_tool, shown))
    )
    past = sum(one.left is None or one.left < 0 for one in due)
    return OverviewSection(
        "tools", title, f"{past} past, {len(due) - past} soon", (table, how_to_ask("tools sort due", more))
    )


def _tool(one: DueTool) -> tuple[Cell, ...]:
    row = one.row
    is_past = one.left is None or one.left < 0
    state = Cell(f"✗ {one.when}", look="bad") if is_past else Cell(f"△ {one.when}", look="open")
    sites = [f"{site} ({day})" if day else site for site, day in one.used]
    more = f" and {counted(len(sites) - _FEW_NAMES, 'more site')}" if len(sites) > _FEW_NAMES else ""
    return (
        Cell(printable(row["tool"])),
        Cell(printable(row["kit"] or "")),
        Cell(printable(row["kind"] or "")),
        Cell(printable(row["cert"] or "")),
        Cell(row["due"].isoformat() if row["due"] is not None else ""),
        Cell(str(one.left) if one.left is not None else ""),
        state,
        Cell(str(row["uses"])),
        Cell(printable(", ".join(sites[:_FEW_NAMES]) + more)),
    )


# ---- joints ----------------------------------------------------------------------------------------
def _torques(ask: Ask, link: Linker) -> OverviewSection:
    title = "Joints under torque"
    question = "count joints under torque per sheet"
    under_by_sheet = {row["sheet"] or "no sheet": row["count"] for row in ask(question)}
    by_tool_question = "count joints under torque per kit, tool"
    under_by_tool = {
        tool_name(row["tool"], row["kit"]): row["count"] for row in ask(by_tool_question) if row["tool"]
    }
    number = sum(under_by_sheet.values())
    found = spread(ask)
    parts: list[Part] = [
        Words(
            "Each value as a share of what its limits allow: 0 % is the lower limit, 100 % the upper, "
            "50 % the middle. On the limit is inside."
        )
    ]
    for name, groups, under, asked in (
        ("sheet", found.by_sheet, under_by_sheet, question),
        ("tool", found.by_tool, under_by_tool, by_tool_question),
    ):
        if groups:
            parts += _groups(name, groups, under, asked)
    rows, _ = cut(ask(_UNDER), MOST_DRAWN)
    points = tuple(filter(None, map(_point, rows)))
    if points:
        caption = "Joints under torque, in % of what their limits allow"
        parts.append(OverviewPicture(caption, "strips", "joints under torque", points, "%"))
    parts += told(ask, "Joints under torque", _UNDER, link.of_row)
    if not found.by_sheet and not number:
        parts = [Words("No joint has a value and limits.")]
    elif not number:
        parts.append(Words("No joint is under torque."))
    return OverviewSection("torque", title, str(number) if number else "none", tuple(parts))


def _groups(name: str, groups: Sequence[Shares], under: Mapping[str, int], question: str) -> list[Part]:
    shown, more = cut(groups, MOST_DRAWN)
    data = tuple((printable(one.name), one.values) for one in shown)
    heads = (
        ColumnHead(name),
        *(ColumnHead(text, "number") for text in ("values", "under torque", "lowest", "median", "highest")),
    )
    rows = tuple(
        (
            Cell(printable(one.name)),
            Cell(str(len(one.values))),
            Cell(f"✗ {under[one.name]}", look="bad") if under.get(one.name) else Cell("0"),
            *(Cell(f"{share:.0f} %") for share in (one.values[0], one.middle, one.values[-1])),
        )
        for one in shown
    )
    caption = f"Joints by {name}, in % of what their limits allow"
    return [
        OverviewPicture(caption, "boxes", f"joints by {name}", data, "%"),
        PageTable(f"By {name}, in numbers", heads, rows),
        how_to_ask(question, more),
    ]


def _point(row: AnsweredRow) -> PlottedValue | None:
    value, low, high = row["value"], row["low"], row["high"]
    if value is None or low is None or high is None or high.base <= low.base:
        return None
    share = float((value.base - low.base) / (high.base - low.base) * 100)
    return PlottedValue(
        printable(f"{row['place']} at {row['site']}"),
        share,
        0.0,
        100.0,
        value.bound,
        None,
        "under",
        shown=_quantity(value),
    )


# ---- readings --------------------------------------------------------------------------------------
def _drift(ask: Ask, link: Linker) -> OverviewSection:
    title = "Readings drifting between visits"
    found = drifting(ask)
    rule = (
        f"Readings that used up {_share(MUCH)} or more of the distance to their limit since an earlier day. "
        "Insulation is compared at 20 °C where both temperatures are written (halving for every 10 K; common "
        "practice, no source). Temperatures and tests for dead are left out."
    )
    if not found:
        return OverviewSection("drift", title, "none", (Words(rule), Words("There is none.")))
    shown, more = cut(found)
    heads = tuple(
        ColumnHead(name, look)
        for name, look in (
            ("site", "name"), ("what", ""), ("points", ""), ("at", ""), ("before", "day"), ("was", "number"),
            ("day", "day"), ("is", "number"), ("lowest", "number"), ("highest", "number"),
            ("used up", "number"), ("compared", ""),
        )
    )  # fmt: skip
    rows = []
    for one in shown:
        row = one.row
        used = f"{'over ' if one.at_least else ''}{_share(one.used)}"
        rows.append(
            (
                link(row["site"]),
                *(Cell(printable(row[name] or "")) for name in ("what", "points", "at")),
                Cell(str(row["previous_day"])),
                Cell(_quantity(one.before)),
                Cell(str(row["day"])),
                Cell(_quantity(one.now)),
                Cell(_quantity(row["low"])),
                Cell(_quantity(row["high"])),
                Cell(f"✗ {used}", look="bad") if one.used > 1 else Cell(f"△ {used}", look="open"),
                Cell("at 20 °C" if one.corrected else "as read"),
            )
        )
    parts = (
        Words(rule),
        PageTable("Those that moved most first", heads, tuple(rows)),
        how_to_ask(MOVED, more),
    )
    return OverviewSection("drift", title, str(len(found)), parts)


def _share(share: float) -> str:
    return f"{share * 100:.0f} %"


def _quantity(value: object) -> str:
    return format_quantity(value) if isinstance(value, Quantity) else ""


# ---- signatures and sites --------------------------------------------------------------------------
def _signatures(ask: Ask, rows: Sequence[AnsweredRow], link: Linker) -> OverviewSection:
    title = "Signatures that no longer hold"
    numbers = {str(row["holds"]): row["count"] for row in ask(_HOLDING)}
    holding, without = numbers.get("yes", 0), numbers.get("no digest", 0)
    number = sum(numbers.values())
    words = f"Of {counted(number, 'signature')} {holding} hold" if number else "There is no signature"
    words += f", and {without} came without the digest that could tell." if without else "."
    if not rows:
        return OverviewSection("signatures", title, "none", (Words(f"None. {words}"),))
    parts = (
        Words(words),
        *told(ask, "What stands above was changed after it was signed", _BROKEN, link.of_row),
    )
    return OverviewSection("signatures", title, str(len(rows)), parts)


def _sites(ask: Ask, rows: Sequence[AnsweredRow], link: Linker) -> OverviewSection:
    def own(name: str, row: AnsweredRow) -> Cell | None:
        if name == "state":
            shape, words, look = STATES[row["state"]]
            return Cell(f"{shape} {words.removesuffix(' by their sheets')}", look=look)
        return link.of_row(name, row)

    parts = told(ask, "All sites, by name", _SITES, own, MOST_SITES)
    return OverviewSection("sites", "All sites", str(len(rows)), parts)
