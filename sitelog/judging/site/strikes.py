"""`strike`: which observation or entry a strike means. It stays readable, and counts for nothing."""

from __future__ import annotations

from collections.abc import Sequence

from sitelog.base.frozen import NamedTuple
from sitelog.findings.catalog import finding_at
from sitelog.findings.finding import Finding
from sitelog.judging.site.observations import LogEntry, Observation, ObservationId
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.paper import Strike
from sitelog.language.syntax.tokens import Token
from sitelog.notation.places import expand
from sitelog.notation.quantities import Problem


class Struck(NamedTuple):
    """What was struck: single observations, and whole entries by file and line."""

    observations: frozenset[ObservationId]
    lines: frozenset[tuple[str, int]]


NOTHING_STRUCK = Struck(frozenset(), frozenset())


def strike(entries: Sequence[LogEntry], findings: list[Finding]) -> Struck:
    """Work through the strikes of a site from top to bottom.

    A strike that matches nothing, or too much, strikes nothing; that is added to `findings`.
    """
    striking = _Striking(findings)
    for entry in entries:
        if isinstance(entry.record, Strike):
            above = [
                other
                for other in entries
                if other.file == entry.file
                and other.entry.number < entry.entry.number
                and (other.file, other.entry.number) not in striking.lines
                and not isinstance(other.record, Strike)
                and other.record is not None
            ]
            striking.strike(entry.record, above)
    return Struck(frozenset(striking.observations), frozenset(striking.lines))


class _Striking:
    """What has been struck so far."""

    def __init__(self, findings: list[Finding]) -> None:
        self.observations: set[ObservationId] = set()
        self.lines: set[tuple[str, int]] = set()
        self._findings = findings

    def strike(self, record: Strike, above: Sequence[LogEntry]) -> None:
        """Strike what a record means among the entries above it."""
        words = [word.text.casefold() for word in record.words if word.type not in ("COMMA", "AT", "OF")]
        if not words:
            help = "name its kind and place: strike torque bracket-4"
            self._say(record, "strike-nothing", "what is struck?", help)
            return
        known = {obs.place.casefold() for entry in above for obs in entry.observations if obs.place}
        steps = (obs for entry in above for obs in entry.observations if row_of(obs.kind).unknown == "step")
        known |= {obs.what.casefold() for obs in steps}
        places: list[str] = []
        rest: list[str] = []
        for token in record.words:
            names = expand(token.text.casefold()) if token.type == "WORD" else (token.text.casefold(),)
            if not isinstance(names, Problem) and names and all(name in known for name in names):
                places += names
            elif token.type not in ("COMMA", "AT", "OF"):
                rest.append(token.text.casefold())
        if not places:
            self._entry(record, rest, above)
        for place in places:
            self._observation(record, place, rest, above)

    def _observation(self, record: Strike, place: str, words: list[str], above: Sequence[LogEntry]) -> None:
        """Strike what was written of one place."""
        found = [
            (entry, obs)
            for entry in above
            for obs in entry.observations
            if obs.id not in self.observations
            and place in (obs.place.casefold(), obs.what.casefold())
            and _words_of(entry, obs).issuperset(words)
        ]
        if len(found) == 1:
            entry, obs = found[0]
            self.observations.add(obs.id)
            if all(other.id in self.observations for other in entry.observations):
                self.lines.add((entry.file, entry.entry.number))
        elif not found:
            message = f"nothing above matches `{' '.join([*words, place])}`"
            self._say(record, "strike-nothing", message, _near(above, place))
        else:
            at = ", ".join(str(entry.entry.number) for entry, _ in found)
            help = "add the time or the value to say which"
            self._say(record, "strike-many", f"{place}: lines {at} all match", help)

    def _entry(self, record: Strike, words: list[str], above: Sequence[LogEntry]) -> None:
        """Strike a whole entry."""
        found = [entry for entry in above if _words_of(entry, None).issuperset(words)]
        if len(found) == 1:
            self.lines.add((found[0].file, found[0].entry.number))
            self.observations.update(obs.id for obs in found[0].observations)
        elif not found:
            message = f"nothing above matches `{' '.join(words)}`"
            self._say(record, "strike-nothing", message, "its words must be those of the entry")
        else:
            at = ", ".join(str(entry.entry.number) for entry in found)
            help = "add the place, the time or the value to say which"
            self._say(record, "strike-many", f"lines {at} all match", help)

    def _say(self, record: Strike, slug: str, message: str, help: str) -> None:
        span = record.head.entry.span(record.head.file)
        self._findings.append(finding_at(span, slug, message, help))


def _words_of(written: LogEntry, obs: Observation | None) -> frozenset[str]:
    """The words by which an entry, or one place of it, can be named."""
    entry = written.entry
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
            words |= {obs.value.text.casefold(), obs.value.unit.casefold(), f"{obs.value.number:f}"}
            words.update(obs.value.text.casefold().split())
    if entry.when is not None:
        words.update(token.text.casefold() for token in entry.when.tokens())
    if written.context.moment.clock is not None:
        words.add(str(written.context.moment.clock))
    return frozenset(words)


def _near(above: Sequence[LogEntry], place: str) -> str:
    at = [
        str(entry.entry.number)
        for entry in above
        if any(obs.place.casefold() == place for obs in entry.observations)
    ]
    return f"{place} stands in line{'s' * (len(at) > 1)} {', '.join(at)}" if at else ""
