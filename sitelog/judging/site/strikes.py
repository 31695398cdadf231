"""`strike`: which mark or entry a strike means. It stays readable, and counts for nothing."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding
from sitelog.findings.finding import Finding
from sitelog.judging.site.observations import LogEntry, Observation, ObservationId
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import Strike
from sitelog.language.syntax.tokens import Token
from sitelog.notation.places import expand
from sitelog.notation.quantities import Problem


class Struck(NamedTuple):
    """What was struck: single marks, and whole entries by file and line."""

    observations: frozenset[ObservationId]
    lines: frozenset[tuple[str, int]]


NOTHING_STRUCK = Struck(frozenset(), frozenset())


def strike(written: Sequence[LogEntry], findings: list[Finding]) -> Struck:
    """Work through the strikes from top to bottom; one that matches nothing, or too much, is said."""
    observations: set[ObservationId] = set()
    lines: set[tuple[str, int]] = set()
    for one in written:
        if isinstance(one.record, Strike):
            above = [
                other
                for other in written
                if other.file == one.file
                and other.entry.number < one.entry.number
                and (other.file, other.entry.number) not in lines
                and not isinstance(other.record, Strike)
                and other.record is not None
            ]
            _one(one.record, above, observations, lines, findings)
    return Struck(frozenset(observations), frozenset(lines))


def _one(
    record: Strike,
    above: Sequence[LogEntry],
    struck: set[ObservationId],
    lines: set[tuple[str, int]],
    findings: list[Finding],
) -> None:
    entry = record.head.entry

    def say(slug: str, message: str, help: str = "") -> None:
        findings.append(
            finding(
                slug,
                message,
                record.head.file,
                entry.number,
                entry.start + 1,
                entry.end + 1,
                entry.text,
                help,
            )
        )

    words = [word.text.casefold() for word in record.words if word.type not in ("COMMA", "AT", "OF")]
    if not words:
        say("strike-nothing", "what is struck?", "name its kind and place: strike torque bracket-4")
        return
    known = {obs.place.casefold() for one in above for obs in one.observations if obs.place}
    known |= {
        obs.what.casefold() for one in above for obs in one.observations if row_of(obs.kind).unknown == "step"
    }
    places: list[str] = []
    rest: list[str] = []
    for token in record.words:
        names = expand(token.text.casefold()) if token.type == "WORD" else (token.text.casefold(),)
        if not isinstance(names, Problem) and names and all(name in known for name in names):
            places += names
        elif token.type not in ("COMMA", "AT", "OF"):
            rest.append(token.text.casefold())
    if not places:
        _whole(rest, above, lines, struck, say)
        return
    for place in places:
        found = [
            (one, obs)
            for one in above
            for obs in one.observations
            if obs.id not in struck
            and place in (obs.place.casefold(), obs.what.casefold())
            and _bag(one, obs).issuperset(rest)
        ]
        if len(found) == 1:
            one, obs = found[0]
            struck.add(obs.id)
            if all(other.id in struck for other in one.observations):
                lines.add((one.file, one.entry.number))
        elif not found:
            say("strike-nothing", f"nothing above matches `{' '.join([*rest, place])}`", _near(above, place))
        else:
            at = ", ".join(str(one.entry.number) for one, _ in found)
            say("strike-many", f"{place}: lines {at} all match", "add the time or the value to say which")


def _whole(
    words: list[str],
    above: Sequence[LogEntry],
    lines: set[tuple[str, int]],
    struck: set[ObservationId],
    say: _Say,
) -> None:
    found = [one for one in above if _bag(one, None).issuperset(words)]
    if len(found) == 1:
        lines.add((found[0].file, found[0].entry.number))
        struck.update(obs.id for obs in found[0].observations)
    elif not found:
        say(
            "strike-nothing",
            f"nothing above matches `{' '.join(words)}`",
            "its words must be those of the entry",
        )
    else:
        at = ", ".join(str(one.entry.number) for one in found)
        say("strike-many", f"lines {at} all match", "add the place, the time or the value to say which")


def _bag(one: LogEntry, obs: Observation | None) -> frozenset[str]:
    """The words by which an entry, or one place of it, can be named."""
    entry = one.entry
    words: set[str] = {entry.kind}
    tokens: tuple[Token, ...] = entry.body.tokens() if entry.body is not None else ()
    if obs is None:
        words.update(token.text.casefold() for token in tokens)
    else:
        # Its own value, not its neighbours'; and whatever else the entry says.
        inside = range(obs.start, obs.end)
        for token in tokens:
            if token.start in inside or token.type not in ("NUMBER", "NUMWORD", "FRACTION", "GAUGE", "PAIR"):
                words.add(token.text.casefold())
        words |= {obs.what.casefold(), obs.place.casefold(), obs.word.casefold()}
        if obs.value is not None:
            words |= {
                obs.value.text.casefold(),
                obs.value.unit.casefold(),
                f"{obs.value.number:f}",
            }
            words.update(obs.value.text.casefold().split())
    if entry.when is not None:
        words.update(token.text.casefold() for token in entry.when.tokens())
    if one.context.moment.clock is not None:
        words.add(str(one.context.moment.clock))
    return frozenset(words)


def _near(above: Sequence[LogEntry], place: str) -> str:
    at = [
        str(one.entry.number)
        for one in above
        if any(obs.place.casefold() == place for obs in one.observations)
    ]
    return f"{place} stands in line{'s' * (len(at) > 1)} {', '.join(at)}" if at else ""


TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol

    class _Say(Protocol):
        def __call__(self, slug: str, message: str, help: str = "") -> None: ...
