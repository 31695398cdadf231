"""The verdicts, worst first, and the reasons that lead to them."""

from __future__ import annotations

from collections.abc import Iterable

from sitelog.base.frozen import NamedTuple

VERDICTS = (
    "missing",
    "not-ok",
    "under",
    "over",
    "out-of-order",
    "too-soon",
    "reopened",
    "pre-only",
    "not-tested",
    "untraceable",
    "doubtful",
    "no-limit",
    "pass",
)
"""Every verdict, the worst first. `n/a` stands beside them: neither missing nor passed."""

NOT_APPLICABLE = "n/a"
FAILING = frozenset({"not-ok", "under", "over", "out-of-order", "too-soon"})
OPEN = frozenset({"missing", "reopened", "pre-only", "not-tested", "untraceable", "doubtful"}) | FAILING
"""What keeps a thing on the list before leaving."""

_RANK = {verdict: rank for rank, verdict in enumerate((*VERDICTS, NOT_APPLICABLE))}


class Reason(NamedTuple):
    """Why a verdict is what it is: its verdict, the finding it makes, and both in words.

    `visit` is the visit that caused it, where that is another than the one which asks. `place` is the place
    that the message names, as the sheet spells it; empty where the message is the same at every place.
    """

    verdict: str
    slug: str
    message: str
    help: str = ""
    visit: int = -1
    place: str = ""

    @property
    def pieces(self) -> tuple[str, ...]:
        """The message around its place: equal for two reasons that differ by the place alone."""
        return around_place(self.message, self.place)


def around_place(text: str, place: str) -> tuple[str, ...]:
    """A text cut where it names a place; joined by several places it says the same of all of them.

    The place counts as a word of its own: a terminal `N` is not the N of `2 Nm`.
    """
    pieces: list[str] = []
    start, at = 0, text.find(place) if place else -1
    while at >= 0:
        end = at + len(place)
        if not (_goes_on(text[at - 1 : at]) or _goes_on(text[end : end + 1])):
            pieces.append(text[start:at])
            start = end
        at = text.find(place, end)
    return (*pieces, text[start:])


def _goes_on(sign: str) -> bool:
    """Whether a word goes on with a sign; it ends where there is none."""
    return sign.isalnum() or sign in ("-", "_")


def worst(reasons: Iterable[Reason]) -> str:
    """The worst verdict of some reasons; `pass` where there is none."""
    return worst_of(reason.verdict for reason in reasons)


def worst_of(verdicts: Iterable[str]) -> str:
    """The worst of some verdicts; `pass` where there is none."""
    return min(verdicts, key=_RANK.__getitem__, default="pass")


def by_rank(reasons: Iterable[Reason], place: str = "") -> tuple[Reason, ...]:
    """The reasons, worst first; each that names `place` in its message carries it."""
    ranked = sorted(reasons, key=lambda reason: _RANK[reason.verdict])
    if place:
        return tuple(
            [reason._replace(place=place) if place in reason.message else reason for reason in ranked]
        )
    return tuple(ranked)
