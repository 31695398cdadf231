"""States: verdicts, and what else can be said of a row, as tokens of the hidden column `states`."""

from collections.abc import Iterable

from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.fields import Sql
from sitelog.asking.question.tree import NamedState
from sitelog.asking.subjects import HISTORIES, Subject
from sitelog.base.verdicts import FAILING, NOT_APPLICABLE, VERDICTS

# Words that a column, or that of one subject, may hold though nothing stored has them yet: asking for them is
# no slip, and the answer is empty.
VOCABULARY: dict[str, tuple[str, ...]] = {
    "verdict": (*VERDICTS, NOT_APPLICABLE),
    "severity": ("minor", "major", "danger"),
    "visit": ("install", "service", "removal"),
    "mode": ("final", "click", "pre", "held", "moved", "loosed"),  # as sitelog/language/kinds/torque.py reads
    "holds": ("yes", "no", "no digest"),
    "state": ("complete", "with-reservations", "not-complete"),  # as judging/completeness.py has them
    "metal": ("copper", "aluminium"),
    "system": ("dc", "1ph", "3ph"),
    "tools.verdict": ("in calibration", "out of calibration", "no calibration", "proved"),
    "sites.verdict": ("ready", "not ready", "closed"),
    "stages.verdict": ("complete", "blocked", "open"),
    "defects.verdict": ("open", "cleared"),
}

_MOST_SOUGHT = 200  # texts of `states` that are sought one by one

_TOKENS = {"passing": ("pass",), "failing": tuple(verdict for verdict in VERDICTS if verdict in FAILING)}


def state_sql(name: str) -> Sql:
    """The condition that a row has a state."""
    return any_state((name,))


def any_state(names: Iterable[str], stored: Iterable[str] = ()) -> Sql:
    """The condition that a row has one of several states, where these are all that `states` has stored."""
    tokens = [f" {token} " for name in names for token in _TOKENS.get(name, (name,))]
    tests = " OR ".join('instr(r."states", ?) > 0' for _ in tokens)
    found = Sql(f"coalesce({tests}, 0)", tuple(tokens))
    known = tuple(stored)
    having = tuple(sorted([text for text in known if any(token in text for token in tokens)]))
    if not known or len(having) > _MOST_SOUGHT:
        return found
    return found._replace(sought=(f'r."states" IN ({", ".join("?" * len(having))})', having))


# ---- which states a subject can have -------------------------------------------------------------


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split(", "))


# What can be said of anything that a sheet asks for.
_WORK = _set(
    "missing, out-of-order, too-soon, reopened, not-tested, doubtful, no-limit, pass, passing, failing, n/a,"
    " due, signed, unsigned"
)
_SIZED = frozenset(("under", "over"))
_TOOLED = frozenset(("untraceable", "out-of-calibration"))
_WRITTEN = frozenset(("struck", "replaced"))
_SAID = frozenset(("not-ok",))

STATES: dict[str, frozenset[str]] = {
    "joints": _WORK | _SIZED | _TOOLED | {"pre-only"},
    "torques": _WORK | _SIZED | _TOOLED | _WRITTEN | {"pre-only"},
    "readings": _WORK | _SIZED | _TOOLED | _SAID,
    "holes": _WORK | _SIZED,
    "parts": _WORK | _SAID,
    "looks": _WORK | _SAID,
    "settings": _WORK | _SIZED | _SAID,
    "cables": _WORK | _SIZED | _SAID,
    "steps": _WORK,
    "series": _WORK | _SIZED | _SAID | _TOOLED,
    "photos": _WORK,
    "defects": _set("open, cleared, reopened, minor, major, danger, signed, unsigned"),
    "tools": _set("due, out-of-calibration, untraceable, doubtful"),
    "stages": frozenset(("open", "cleared")),
    "sites": _set("open, ready, closed, away, signed, unsigned"),
    "visits": _set("open, closed, signed, unsigned"),
    "signatures": _set("pass, passing, not-ok, failing, doubtful"),
    "entries": _WRITTEN | {"signed", "unsigned"},
}


def check_state(subject: Subject, state: NamedState) -> None:
    """QuestionError for a state that the subject can never have, where `none` would mislead."""
    possible = STATES.get(subject.name)
    if possible is None or state.name in possible or (subject.table and state.name in _WRITTEN):
        return
    plain = sorted(possible)
    help = f"{subject.name} can be {listed(plain)}"
    if state.name in _WRITTEN and subject.name in HISTORIES:
        help = f"what stands is neither struck nor replaced; ask `history {subject.name} {state.name}`"
    elif state.name == "not-ok" and "failing" in possible:
        help = "did you mean `failing`?"
    elif (owners := [name for name, states in STATES.items() if state.name in states]) and len(owners) < 6:
        help = f"{listed(owners)} can; {help}"
    else:
        help = did_you_mean(state.name, plain, help)
    raise QuestionError(
        f"{subject.name} are never `{state.name}`", state.word.column, state.word.end_column, help
    )
