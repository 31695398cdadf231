"""Which site needs a visit first, and why: every reason in words and numbers, the gravest first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from sitelog.base.frozen import NamedTuple
from sitelog.base.text import printable
from sitelog.base.verdicts import FAILING, VERDICTS
from sitelog.notation.quantities import format_quantity
from sitelog.report.overview.asking import AnsweredRow, Ask

ORDER = (
    ("danger", "✗", "an open danger"),
    ("away", "△", "left half way"),
    ("under", "✗", "joints under torque"),
    ("failing", "✗", "what else fails"),
    ("untraceable", "△", "values without a calibrated tool"),
    ("missing", "○", "what is missing"),
    ("again", "△", "what has to be done again"),
    ("due", "△", "what is due again"),
    ("defect", "△", "other open defects, major ones first"),
    ("unproven", "△", "what was not tested or is doubtful"),
    ("signature", "✗", "a signature that no longer holds"),
    ("error", "✗", "another error in the log"),
)
"""What brings a site onto the list, the gravest first, with its mark and in words."""

SIGNS = {kind: sign for kind, sign, _ in ORDER}
_RANK = {kind: rank for rank, kind in enumerate(SIGNS)}
_REST = (
    ("missing", ("missing",)),
    ("again", ("reopened", "pre-only")),
    ("unproven", ("not-tested", "doubtful")),
)
_ORDER_OF_VERDICTS = {verdict: rank for rank, verdict in enumerate(VERDICTS)}

# What a sheet asks for, each subject with the word for one of it; then the fields that name one.
WORK = {
    "joints": "joint",
    "readings": "reading",
    "steps": "step",
    "cables": "cable",
    "series": "trial",
    "holes": "hole",
    "parts": "part",
    "looks": "look",
    "settings": "setting",
    "photos": "photo",
}
_NAMES = {
    "joints": ("place",),
    "readings": ("what", "points"),
    "steps": ("step",),
    "cables": ("place",),
    "series": ("what",),
    "holes": ("place",),
    "parts": ("part",),
    "looks": ("what", "place"),
    "settings": ("what", "place"),
    "photos": ("of",),
}
_EXPLAIN = frozenset({"danger", "under", "failing", "signature"})  # why a log has errors
_MEASURED = frozenset({"joints", "readings"})


class VisitReason(NamedTuple):
    """Why a site is on the list: a kind of `ORDER`, how many and how many days old, and both in words."""

    kind: str
    number: int
    age: int
    words: str


class VisitDue(NamedTuple):
    """A site that needs a visit, with every reason, the gravest first."""

    site: str
    reasons: tuple[VisitReason, ...]

    @property
    def weight(self) -> tuple[int, ...]:
        """What sites are ordered by: for each kind of reason how many, then the oldest."""
        of_kind = {one.kind: (-one.number, -one.age) for one in self.reasons}
        return tuple(number for kind in SIGNS for number in of_kind.get(kind, (0, 0)))


class Fleet(NamedTuple):
    """What the ranking rests on and the page shows too, asked once."""

    sites: Sequence[AnsweredRow]
    defects: Sequence[AnsweredRow]
    broken: Sequence[AnsweredRow]  # signatures


def visits(ask: Ask, fleet: Fleet, headlines: Mapping[str, Sequence[str]], today: date) -> list[VisitDue]:
    """The sites that need a visit, the most urgent first; of two alike, the first by name."""
    reasons: dict[str, list[VisitReason]] = defaultdict(list)
    for found in (
        _defects(fleet.defects),
        _away(headlines),
        _work(ask),
        _untraceable(ask),
        _due(ask, today),
        _signatures(fleet.broken),
    ):
        for site, reason in found:
            reasons[site].append(reason)
    for row in fleet.sites:
        explained = any(one.kind in _EXPLAIN for one in reasons[row["site"]])
        if row["errors"] and not explained:
            words = f"{counted(row['errors'], 'error')} in its log; sitelog check tells of them"
            reasons[row["site"]].append(VisitReason("error", row["errors"], 0, words))
    closed = {row["site"] for row in fleet.sites if row["verdict"] == "closed"}  # nothing is there any more
    listed = [
        VisitDue(site, tuple(sorted(some, key=lambda one: _RANK[one.kind])))
        for site, some in reasons.items()
        if some and site not in closed
    ]
    place = {row["site"]: at for at, row in enumerate(fleet.sites)}
    return sorted(listed, key=lambda one: (one.weight, place[one.site]))


def counted(number: int, word: str) -> str:
    """`1 joint`, `2 joints`."""
    several = "series" if word == "series" else f"{word}s"
    return f"{number} {word if number == 1 else several}"


# ---- the reasons -----------------------------------------------------------------------------------
_Found = Iterator[tuple[str, VisitReason]]


def _defects(rows: Iterable[AnsweredRow]) -> _Found:
    """Dangers, and the other open defects, those major first; the answer has the oldest first."""
    by_site: dict[tuple[str, str], list[AnsweredRow]] = defaultdict(list)
    for row in rows:
        by_site[row["site"], "danger" if row["severity"] == "danger" else "defect"].append(row)
    for (site, kind), some in by_site.items():
        first = min(some, key=lambda row: row["severity"] != "major")  # of the same severity, the oldest
        majors = sum(row["severity"] == "major" for row in some)
        words = f"{first['severity']} {first['defect']}"
        words += f" of {first['place']}" if first["place"] else ""
        words += f", open {counted(first['age'], 'day')}" if first["age"] is not None else ", open"
        words += f": {first['about']}" if first["about"] else ""
        words += f"; and {counted(len(some) - 1, 'other defect')}" if len(some) > 1 else ""
        # A major defect weighs more than any number of minor ones.
        weight = len(some) if kind == "danger" else majors * 1_000_000 + len(some)
        yield site, VisitReason(kind, weight, first["age"] or 0, printable(words))


def _away(headlines: Mapping[str, Sequence[str]]) -> _Found:
    for site, lines in headlines.items():
        for line in lines:
            if line.startswith("left half way"):
                yield site, VisitReason("away", 1, 0, printable(line))


def _work(ask: Ask) -> _Found:
    """What fails, is missing, has to be done again or was not proved, by the worst verdict of each thing."""
    counts: dict[str, dict[tuple[str, str], int]] = defaultdict(dict)
    for subject in WORK:
        for row in ask(f"count {subject} per site, verdict"):
            if row["verdict"] not in (None, "pass", "no-limit", "n/a"):
                counts[row["site"]][subject, row["verdict"]] = row["count"]
    examples = _examples(ask)
    for site, some in counts.items():
        failing = sorted(
            ((subject, verdict) for subject, verdict in some if verdict in FAILING),
            key=lambda one: _ORDER_OF_VERDICTS[one[1]],
        )
        under = [one for one in failing if one == ("joints", "under")]
        for kind, group in (("under", under), ("failing", [one for one in failing if one not in under])):
            if not group:
                continue
            words = [_failing(*one, some[one], examples.get((site, *one), "")) for one in group]
            number = sum(some[one] for one in group)
            yield site, VisitReason(kind, number, 0, printable("; ".join(words)))
        for kind, verdicts in _REST:
            yield from _of(site, kind, verdicts, some)


def _failing(subject: str, verdict: str, number: int, example: str) -> str:
    words = f"{counted(number, WORK[subject])} {verdict}"
    return f"{words} ({'such as ' if number > 1 else ''}{example})" if example else words


def _of(site: str, kind: str, verdicts: Sequence[str], some: Mapping[tuple[str, str], int]) -> _Found:
    words: list[str] = []
    number = 0
    for verdict in verdicts:
        of_it = {subject: count for (subject, other), count in some.items() if other == verdict}
        things = [counted(count, WORK[subject]) for subject, count in of_it.items()]
        whole = sum(of_it.values())
        number += whole
        if len(things) == 1:
            words.append(f"{things[0]} {verdict}")
        elif things:
            words.append(f"{whole} {verdict}: {', '.join(things)}")
    if number:
        yield site, VisitReason(kind, number, 0, "; ".join(words))


def _examples(ask: Ask) -> dict[tuple[str, str, str], str]:
    """For a site, a subject and a verdict the first that fails, in words."""
    found: dict[tuple[str, str, str], str] = {}
    for subject, names in _NAMES.items():
        fields = (*names, "value", "low", "high") if subject in _MEASURED else names
        for row in ask(f"{subject} failing show site, verdict, {', '.join(fields)}"):
            key = row["site"], subject, row["verdict"]
            if key not in found:
                words = " ".join(str(row[name]) for name in names if row[name])
                found[key] = words + (_measured(row) if subject in _MEASURED else "")
    return found


def _measured(row: AnsweredRow) -> str:
    words = ""
    limit = {"under": row["low"], "over": row["high"]}.get(row["verdict"])
    if row["value"] is not None:
        words = f" {format_quantity(row['value'])}"
        if limit is not None:
            side = "lowest" if row["verdict"] == "under" else "highest"
            words += f", {side} allowed {format_quantity(limit)}"
    return words


def _untraceable(ask: Ask) -> _Found:
    """By tool: one with a lapsed calibration takes all its values with it."""
    by_site: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for subject in ("joints", "readings"):
        for row in ask(f"count {subject} untraceable per site, tool"):
            by_site[row["site"]][row["tool"] or ""] += row["count"]
    for site, tools in by_site.items():
        whole = sum(tools.values())
        each = [
            f"{number if len(tools) > 1 else ''} {f'by {tool}' if tool else 'with no tool named'}".strip()
            for tool, number in tools.items()
        ]
        words = f"{counted(whole, 'value')} untraceable: {', '.join(each)}"
        yield site, VisitReason("untraceable", whole, 0, printable(words))


def _due(ask: Ask, today: date) -> _Found:
    numbers: dict[str, dict[str, int]] = defaultdict(dict)
    oldest: dict[str, date] = {}
    for subject in ("joints", "readings"):
        for row in ask(f"count {subject} due per site"):
            numbers[row["site"]][subject] = row["count"]
        for row in ask(f"oldest due of {subject} due per site"):
            oldest[row["site"]] = min(row["due"], oldest.get(row["site"], row["due"]))
    for site, some in numbers.items():
        things = ", ".join(counted(number, WORK[subject]) for subject, number in some.items())
        late = (today - oldest[site]).days
        words = f"{things} due again since {oldest[site]}, {counted(late, 'day')}"
        yield site, VisitReason("due", sum(some.values()), late, words)


def _signatures(rows: Iterable[AnsweredRow]) -> _Found:
    by_site: dict[str, list[AnsweredRow]] = defaultdict(list)
    for row in rows:
        by_site[row["site"]].append(row)
    for site, some in by_site.items():
        names = ", ".join(f"{row['who']} ({row['purpose'] or 'no purpose'})" for row in some)
        words = f"{counted(len(some), 'signature')} no longer holding: {names}"
        yield site, VisitReason("signature", len(some), 0, printable(words))
