"""The header of a logger's file → which column is what, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from sitelog.notation.quantities import Problem, find_unit, in_base
from sitelog.notation.quantities.units import Unit


class LoggerColumn(NamedTuple):
    """One column in use: where it stands, and its name as shown.

    Its base unit's value is (x + offset) * factor. `kind` is empty for words and for dates with times.
    """

    at: int
    name: str
    role: str
    kind: str = ""
    factor: float = 1.0
    offset: float = 0.0
    assumed: bool = False


class LoggerColumns(NamedTuple):
    """Which columns a trial is read from.

    `date` stands beside a `time` that is a time of day; `stamp`, with dates and times, beside one whose
    unit is unsaid. `temperatures` are all of the battery's own, cells and others; `unused` are the counters
    that are left aside where a current or a power is logged.
    """

    time: LoggerColumn
    date: LoggerColumn | None
    stamp: LoggerColumn | None
    roles: dict[str, LoggerColumn]
    cells: tuple[LoggerColumn, ...]
    cell_temperatures: tuple[LoggerColumn, ...]
    temperatures: tuple[LoggerColumn, ...] = ()
    unused: tuple[LoggerColumn, ...] = ()


class HeaderFault(NamedTuple):
    """A header that cannot be meant, or that could be meant in two ways."""

    message: str
    help: str = ""


def shown(text: str, longest: int = 40) -> str:
    """Text of a file made fit for a terminal: one line, no control characters, not long."""
    plain = "".join(sign if sign.isprintable() else "?" for sign in text.strip())
    return plain if len(plain) <= longest else plain[: longest - 1] + "…"


# Role → kind of quantity; kind → base unit and its name in a sentence.
_KINDS = {
    "time": "time",
    "current": "current",
    "voltage": "voltage",
    "power": "power",
    "auxiliary": "power",
    "temperature": "temperature",
    "soc": "ratio",
    **{f"energy{way}": "energy" for way in ("", "-in", "-out")},
    **{f"charge{way}": "charge" for way in ("", "-in", "-out")},
}
_BASE = {
    "time": "s",
    "current": "A",
    "voltage": "V",
    "power": "W",
    "temperature": "degC",
    "ratio": "%",
    "energy": "Wh",
    "charge": "Ah",
}
_ARTICLES = {
    "time": "the time",
    "current": "the current",
    "voltage": "the voltage",
    "power": "the power",
    "temperature": "the temperature",
    "ratio": "the state of charge",
    "energy": "the energy counter",
    "charge": "the charge counter",
}

# A name's words → its role. The first that fits wins; a word may be a unit in itself.
_NAMES: tuple[tuple[str, frozenset[str], frozenset[str]], ...] = (
    ("soc", frozenset({"soc"}), frozenset()),
    ("mode", frozenset({"mode", "state", "status"}), frozenset({"health", "code", "label"})),
    ("time", frozenset({"time", "seconds", "second", "elapsed", "timestamp", "datetime", "t"}),
     frozenset({"step", "cycle", "temp", "temperature", "sync", "total", "state", "end", "start"})),
    ("date", frozenset({"date", "day"}), frozenset()),
    ("temperature", frozenset({"temperature", "temp"}), frozenset({"setpoint", "set", "max", "min"})),
    ("energy", frozenset({"energy", "watthr", "watthours"}), frozenset({"throughput", "max", "min"})),
    ("charge", frozenset({"capacity", "amphr", "amphours"}), frozenset({"throughput", "differential"})),
    ("power", frozenset({"power", "watts", "p"}), frozenset({"setpoint", "set", "max", "min", "limit"})),
    ("current", frozenset({"current", "amps", "ampere", "amperes", "i"}),
     frozenset({"setpoint", "set", "max", "min", "limit", "leakage"})),
    ("voltage", frozenset({"voltage", "volts", "u", "v"}),
     frozenset({"setpoint", "set", "max", "min", "limit", "dt", "differential"})),
)  # fmt: skip
_UNITS_AS_NAMES = {
    "seconds": "s", "second": "s", "amps": "A", "ampere": "A", "amperes": "A", "volts": "V", "watts": "W",
    "watthr": "Wh", "watthours": "Wh", "amphr": "Ah", "amphours": "Ah",
}  # fmt: skip
_OURS = frozenset({"battery", "batt", "bat", "dc", "pack", "stack", "string"})
_OTHERS = frozenset(
    {"grid", "pv", "solar", "load", "ac", "mains", "ambient", "environment", "house", "inverter", "room"}
)
_AUXILIARY = frozenset({"aux", "auxiliary", "auxiliaries", "standby"})
# Headers in small letters: what no logger means with mega is milli, degrees are not farads.
_SMALL = {"ma": "mA", "mv": "mV", "ms": "ms", "mah": "mAh"}
_EITHER = {"mw": "mW or MW", "mwh": "mWh or MWh"}
_DEGREES = {"c": "degC", "°c": "degC", "f": "degF", "°f": "degF", "k": "K"}
_BRACKETS = re.compile(r"^(.*?)\s*(?:\[([^\]]*)\]|\(([^)]*)\))\s*$")
_BEHIND = re.compile(r"^(.*?)(?:\s*/\s*|\s+in\s+)([^/\s]+)$")
_UNDERSCORE = re.compile(r"^(.*)[_ ]([^_ ]+)$")


def _split(cell: str) -> tuple[str, str]:
    """A header's name and its unit as written; the unit is empty where there is none."""
    cell = cell.replace("\ufffd", "°").strip().strip('"').strip()
    if (found := _BRACKETS.match(cell)) and found[1].strip():
        return found[1].strip(), (found[2] or found[3] or "").strip()
    # `I / A`, `U in V`: only where a unit stands there, since `dV/dt` is a name.
    if (found := _BEHIND.match(cell)) and not isinstance(find_unit(found[2]), Problem):
        return found[1].strip(), found[2]
    return cell, ""


def _words(name: str) -> list[str]:
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
    return re.findall(r"[a-z]+|\d+", spaced.casefold())


def _unit(written: str, kind: str) -> Unit | Problem:
    plain = written.strip().rstrip(".")
    lower = plain.casefold()
    if kind == "temperature" and lower in _DEGREES:
        return find_unit(_DEGREES[lower])
    if lower in _EITHER and plain == lower:
        return Problem(
            "unit-case", f"{plain} can be read as {_EITHER[lower]}", "write the unit's capital letters"
        )
    if plain == lower and lower in _SMALL:
        plain = _SMALL[lower]
    return find_unit(plain)


def _scale(unit: Unit) -> tuple[float, float]:
    """Factor and offset of a unit as (x + offset) * factor."""
    from decimal import Decimal

    zero, unity = in_base(Decimal(0), unit), in_base(Decimal(1), unit)
    factor = float(unity - zero)
    return factor, float(zero) / factor


class _Candidate(NamedTuple):
    """A column that could have a role, which goes to the lowest rank; `problem`: its unit can't be read."""

    rank: tuple[int, int, int]
    column: LoggerColumn
    problem: HeaderFault | None = None


def _role(words: Sequence[str]) -> str:
    have = frozenset(words)
    if {"state", "of", "charge"} <= have or {"charge", "level"} <= have:
        return "soc"
    for role, names, others in _NAMES:
        if names & have and not others & have:
            if role == "time" and "date" in have:
                return "datetime"
            if role == "power" and _AUXILIARY & have:
                return "auxiliary"
            if role in ("energy", "charge"):
                return role + ("-out" if have & {"discharge", "discharged", "out", "export"} else
                               "-in" if have & {"charge", "charged", "in", "import"} else "")  # fmt: skip
            return role
    return ""


def _candidate(at: int, cell: str, unit_cell: str) -> _Candidate | None:
    name, written = _split(cell)
    words = _words(name)
    if not written and unit_cell:
        written = unit_cell.strip().strip("[]()").strip()
    if not written and (tail := _UNDERSCORE.match(name)):
        # `current_a`: the last piece is a unit where what stands before it is a name in itself.
        kind = _KINDS.get(_role(_words(tail[1])), "")
        if kind and not isinstance(unit := _unit(tail[2], kind), Problem) and unit.kind == kind:
            name, written, words = tail[1], tail[2], _words(tail[1])
    if len(words) == 1 and words[0] in ("ah", "wh", "kwh") and not written:
        written, words = words[0], ["capacity" if words[0] == "ah" else "energy"]
    role = _role(words)
    if _numbered(words, name) and (role in ("voltage", "temperature") or (not role and written)):
        role = f"cell-{role or 'voltage'}"
    if not role:
        return None
    have = frozenset(words)
    rank = (int(bool(have & _OTHERS)), int(not have & _OURS), len(words))
    kind = _KINDS.get(role.removeprefix("cell-"), "")
    if not kind:
        return _Candidate(rank, LoggerColumn(at, shown(cell), role))
    written = written or next((_UNITS_AS_NAMES[word] for word in words if word in _UNITS_AS_NAMES), "")
    found = _unit(written or _BASE[kind], kind)
    problem = None
    if isinstance(found, Problem) or found.kind != kind:
        if role == "time":  # `Time (UTC)`: the rows tell whether they are dates
            found, written = _unit("s", kind), ""
        elif isinstance(found, Problem):
            problem = HeaderFault(f"`{shown(cell)}`: {shown(found.message, 90)}", found.help)
        else:
            problem = HeaderFault(
                f"`{shown(cell)}` is named as {_ARTICLES[kind]} and has another sort of unit"
            )
    factor, offset = _scale(found) if isinstance(found, Unit) else (1.0, 0.0)
    return _Candidate(rank, LoggerColumn(at, shown(cell), role, kind, factor, offset, not written), problem)


def _numbered(words: Sequence[str], name: str) -> bool:
    """`cell_03`, `module A`: one of many."""
    if "cell" not in words and "module" not in words:
        return False
    letter = re.search(r"(?i)(?:cell|module)[ _-]?[a-z](?![a-z])", name)
    return bool(letter) or any(word.isdigit() for word in words)


_FLOWS = frozenset(
    {"current", "power", "energy", "energy-out", "energy-in", "charge-out", "charge-in", "charge"}
)
_FIRST_WILL_DO = frozenset(
    {"temperature", "mode", "date", "energy", "charge", "auxiliary", "time", "datetime"}
)


def find_columns(cells: Sequence[str], unit_cells: Sequence[str] = ()) -> LoggerColumns | HeaderFault | None:
    """The columns a header names; None where the line is no header; Unclear where it cannot be used."""
    found: dict[str, list[_Candidate]] = {}
    for at, cell in enumerate(cells):
        candidate = (
            _candidate(at, cell, unit_cells[at] if at < len(unit_cells) else "") if cell.strip() else None
        )
        if candidate is not None:
            found.setdefault(candidate.column.role, []).append(candidate)
    if not found.keys() & {"time", "datetime"} or not found.keys() & _FLOWS:
        return None
    chosen: dict[str, LoggerColumn] = {}
    flowing = found.keys() & {"current", "power"}
    temperatures: list[LoggerColumn] = []
    unused: list[LoggerColumn] = []
    for role, candidates in found.items():
        candidates.sort(key=lambda candidate: candidate.rank)
        if flowing and role.startswith(("energy", "charge")):
            unused += [candidate.column for candidate in candidates]
            continue  # what flows is added up here, not by the logger
        if role == "temperature":
            # The air around a battery says nothing of the battery.
            candidates = [candidate for candidate in candidates if not candidate.rank[0]]
            if not candidates:
                continue
        if role.startswith("cell-") or role == "temperature":
            wrong = next(
                (candidate.problem for candidate in candidates if candidate.problem is not None), None
            )
        else:
            wrong = candidates[0].problem or _two_of_a_kind(role, candidates)
            chosen[role] = candidates[0].column
        if role == "temperature" and wrong is None:
            temperatures += [candidate.column for candidate in candidates]
        if wrong is not None:
            return wrong
    columns = _with_times(chosen, found)
    return columns._replace(
        temperatures=(*columns.cell_temperatures, *sorted(temperatures)), unused=tuple(sorted(unused))
    )


def _two_of_a_kind(role: str, some: Sequence[_Candidate]) -> HeaderFault | None:
    """What is wrong where two columns have as good a claim to be the current."""
    if len(some) < 2 or some[0].rank != some[1].rank or role in _FIRST_WILL_DO:
        return None
    one, other = some[0].column.name, some[1].column.name
    if one.casefold() == other.casefold():
        return HeaderFault(f"two columns are called `{one}`", "leave one of them out")
    what = _ARTICLES.get(_KINDS[role], role)
    help = "name the battery's own column so, for example `battery current [A]`"
    return HeaderFault(f"`{one}` and `{other}` could both be {what}", help)


def _with_times(chosen: dict[str, LoggerColumn], found: dict[str, list[_Candidate]]) -> LoggerColumns:
    """An elapsed time is finer than dates with times, which tell its unit where the header does not."""
    time, stamp, date = (chosen.pop(role, None) for role in ("time", "datetime", "date"))
    if time is None:
        time, stamp, date = stamp, None, None
    assert time is not None
    cells, warm = (
        tuple(sorted(candidate.column for candidate in found.get(role, ())))
        for role in ("cell-voltage", "cell-temperature")
    )
    unsaid = time.assumed
    return LoggerColumns(time, date if unsaid else None, stamp if unsaid else None, chosen, cells, warm)


def is_unit_row(cells: Sequence[str]) -> bool:
    """Whether a line under the header holds units: every filled cell is one, and at least two are filled."""
    filled = [cell.strip().strip("[]()").strip() for cell in cells if cell.strip()]
    if len(filled) < 2 or any(re.search(r"\d", cell) for cell in filled):
        return False
    known = sum(not isinstance(_unit(cell, "temperature"), Problem) for cell in filled)
    return known >= max(2, len(filled) // 2)
