"""What each kind is judged by, once its observation is found: a handful of ways, in `WAYS`."""

from __future__ import annotations

import re
from functools import lru_cache

from sitelog.base.verdicts import FAILING, Reason
from sitelog.judging.electric import judge_cable, resolve
from sitelog.judging.fasteners import checked, overstrained
from sitelog.judging.limits import against, describe
from sitelog.judging.reliance import Instrument
from sitelog.judging.rule import Outcome, Rule, RuleContext, about
from sitelog.judging.site import Observation
from sitelog.judging.tools import Toolbox, instrument_of
from sitelog.judging.voltages import current_reasons, dead_reasons, judged_value
from sitelog.language.kinds import SHEET
from sitelog.language.kinds.kind import row_of
from sitelog.language.kinds.look import ANSWERS_OK
from sitelog.language.kinds.reading import MEASURES
from sitelog.language.kinds.requirement import Requirement
from sitelog.notation.quantities import Quantity, format_quantity

__all__ = [
    "RULES",
    "WAYS",
    "Outcome",
    "Rule",
    "RuleContext",
    "compare_versions",
    "is_good",
    "resolve",
    "version",
]


def _measured(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    """A joint, a reading or a dead test: its value against the limits, and the tool behind it."""
    outcome = _by_value(one, obs, around)
    if obs.value is None or (obs.value.kind != "voltage" and obs.value.kind != "current"):
        return outcome
    # What follows depends on the line, and not on the value alone, which many lines share.
    more = current_reasons(one, obs, outcome.limits)
    for reason in dead_reasons(obs, outcome.instrument, one.place):
        said = any(
            other.slug == reason.slug or (other.verdict in FAILING and reason.verdict in FAILING)
            for other in outcome.reasons
        )
        more += [] if said else [reason]
    return outcome._replace(reasons=(*outcome.reasons, *more)) if more else outcome


def _by_value(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    """A value against the limits, and the tool behind it, remembered."""
    value = obs.value
    if value is None:
        found = _answered(one, obs)._replace(limits=resolve(one.limits, around)[0])
        if found.reasons or obs.what.casefold() not in MEASURES:
            return found
        tool = instrument_of(obs, around.box, one)  # a word such as `no-trip` was read off an instrument too
        return found._replace(reasons=tool.reasons, instrument=tool)
    tool = instrument_of(obs, around.box, one)
    if one.limits.formula or obs.mode == "moved":
        return _held_against(one, obs, value, tool, around)
    key = id(one), id(value), id(tool), obs.mode, around.guard
    known = _known.get(key)
    if known is None:
        if len(_known) >= _MOST:
            _known.clear()
        found = _held_against(one, obs, value, tool, around)
        known = _known[key] = one, value, tool, found
    return known[3]


# Where neither a device nor an earlier value has a say, nothing depends on where a value stands. What an
# outcome was made of is held on to, so that nothing else comes to have its identity.
_known: dict[tuple[int, int, int, str, float], tuple[Requirement, Quantity, Instrument, Outcome]] = {}
_MOST = 20_000


def _held_against(
    one: Requirement, obs: Observation, written: Quantity, tool: Instrument, around: RuleContext
) -> Outcome:
    """A value against the limits, with what its tool leaves open."""
    limits, missing = resolve(one.limits, around)
    if limits.word and not limits.kind:
        message = f"{about(one)}: {format_quantity(written)}, and `{limits.word}` is asked"
        return Outcome((Reason("not-ok", "not-ok", message),), limits)
    if missing:
        return Outcome((missing, *tool.reasons), limits, instrument=tool)
    value = judged_value(one, written, limits)
    if obs.mode in ("held", "moved"):
        # It held at this torque, so the joint is at least that tight: there is no upper limit to it.
        value, limits = value._replace(bound=">"), limits._replace(high=None)
    u = _uncertainty_at_bound(obs, around.box) if around.guard and written.bound else tool.u
    found = against(one.kind, value, limits, u, around.guard, about(one))
    if obs.mode == "held" and [reason.verdict for reason in found.reasons] == ["doubtful"]:
        held = f"{about(one)} held {format_quantity(written)}"
        message = f"{held}, which leaves open whether it is {describe(limits)}"
        found = found._replace(
            reasons=(Reason("doubtful", "doubtful", message, "check it again at the lowest torque allowed"),)
        )
    if obs.mode == "moved" and [reason.verdict for reason in found.reasons] == ["doubtful"]:
        found = found._replace(reasons=())  # that it moved says more, below
    reasons = (*found.reasons, *tool.reasons) if found.reasons or tool.reasons else ()
    if not reasons or tool.tool is not None:
        reasons += _unproven(one, tool, around.guard)
    if row_of(one.kind).worked_on:
        reasons += (*checked(one, obs, around), *overstrained(one, obs, found.reasons))
    # How likely a value conforms follows from its tool; of a value behind which none stands it is not known.
    traced = not any(reason.verdict == "untraceable" for reason in tool.reasons)
    probability = found.probability if traced else None
    return _new(Outcome, (reasons, limits, found.margin, probability, tool, ()))


def _uncertainty_at_bound(obs: Observation, box: Toolbox) -> float | None:
    """The standard uncertainty of the value that a bound names, `1 MΩ` of `> 1 MΩ`; None where unknown."""
    assert obs.value is not None
    return instrument_of(obs._replace(value=obs.value._replace(bound="")), box).u


_WANTS_200_MA = re.compile(r"(?:60364|61557|7671|0100|3000|62446)(?!\d)")
"""Standards that ask for a continuity test with at least 200 mA (IEC 61557-4, from memory)."""


def _unproven(one: Requirement, tool: Instrument, guard: float) -> tuple[Reason, ...]:
    """What a tool leaves open that could be relied on for a value by itself.

    Evidence needed: for a probability that is asked, an uncertainty that is known; for a continuity test by
    a standard, a tool with a `continuity` function, for an ohm range does not give the 200 mA.
    """
    if tool.tool is None:
        return ()
    found: list[Reason] = []
    if guard and tool.u is None and tool.tool.indicating:
        message = f"{tool.name} only indicates, so it can't be told how surely the value is inside"
        found.append(Reason("doubtful", "doubtful", message, "measure with a calibrated tool"))
    wants_a_tester = one.what.casefold() == "continuity" and _WANTS_200_MA.search(one.source)
    if wants_a_tester and not any(measure.name == "continuity" for measure in tool.tool.measures):
        message = f"{tool.name} has an ohm range and no continuity function: {one.source} wants 200 mA"
        found.append(Reason("doubtful", "doubtful", message, "test with a continuity tester"))
    return tuple(found)


_new = tuple.__new__  # three times as fast as calling a NamedTuple


def _answered(one: Requirement, obs: Observation) -> Outcome:
    """A reading that was answered with a word: `no-trip`, `ok`, `not ok`."""
    answer = obs.word.casefold()
    if one.limits.word:
        if answer == one.limits.word.casefold():
            return Outcome()
        return Outcome(
            (
                Reason(
                    "not-ok",
                    "not-ok",
                    f"{about(one)}: `{obs.word}`, and `{one.limits.word}` is asked",
                ),
            )
        )
    if answer.startswith("not "):
        return Outcome((Reason("not-ok", "not-ok", f"{about(one)} was found {answer}"),))
    if answer in ANSWERS_OK and not one.limits.kind and not one.limits.formula:
        return Outcome()
    if answer == "no-trip" and one.limits.kind:
        return Outcome(
            (Reason("not-ok", "not-ok", f"{about(one)} did not trip ({one.limits.text} is asked)"),)
        )
    message = f"{about(one)}: `{obs.word}` is no value that can be held against the sheet"
    return Outcome((Reason("doubtful", "doubtful", message, "write the value with its unit"),))


def _hole(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    """A hole, judged twice."""
    assert obs.value is not None
    assert obs.second is not None
    width = against(one.kind, obs.value, one.limits, None, 0.0, f"{one.place} diameter")
    depth = against(one.kind, obs.second, one.second, None, 0.0, f"{one.place} depth")
    margins = [share for share in (width.margin, depth.margin) if share is not None]
    reasons = tuple(dict.fromkeys((*width.reasons, *depth.reasons)))
    return Outcome(reasons, one.limits, min(margins, default=None))


def _look(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    answer = obs.word
    if answer.startswith("not "):
        return Outcome((Reason("not-ok", "not-ok", f"{about(one)} was found {answer}"),))
    wanted = one.limits.word.casefold()
    if answer in ANSWERS_OK or (wanted and answer == wanted):
        return Outcome()
    if wanted:
        return Outcome((Reason("not-ok", "not-ok", f"{about(one)}: `{answer}`, and `{wanted}` is asked"),))
    message = f"{about(one)}: the sheet does not say whether `{answer}` is right"
    return Outcome(
        (
            Reason(
                "doubtful", "doubtful", message, "answer `ok` or `not ok`, and put the word into the remark"
            ),
        )
    )


_DONE = Outcome()


def _done(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    return _DONE


def _photo(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    """A photo shows something only while its file is beside the log, and is the one that was meant."""
    fault = around.trial(obs)
    if fault is None:
        return _DONE
    from sitelog.files.trials.results import TrialFault

    assert isinstance(fault, TrialFault)  # a photo's file is not read as a trial
    word = "missing" if fault.absent else "doubtful"
    return Outcome((Reason(word, "" if fault.absent else word, f"{about(one)}: {fault.message}"),))


def _part(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    reasons: list[Reason] = []
    if one.pattern and not _pattern(one.pattern).fullmatch(obs.word):
        message = f"{one.place}: `{obs.word}` does not look like `{one.pattern}`"
        help = "read the label again; `#` stands for one digit"
        reasons.append(Reason("not-ok", "serial-pattern", message, help))
    if one.check:
        reasons += _check_digit(one, obs)
    return Outcome(tuple(reasons))


def _check_digit(one: Requirement, obs: Observation) -> list[Reason]:
    from sitelog.notation.codes import MissingLibraryError, fault  # few sheets ask for it

    try:
        wrong = fault(one.check, obs.word)
    except MissingLibraryError as error:
        message = f"{one.place}: the library {error} is not installed, so the check digit is not tested"
        help = "python -m pip install 'sitelog[scan]'"
        return [Reason("doubtful", "extra-missing", message, help)]
    return [Reason("not-ok", "check-digit", f"{one.place}: {wrong}", "read the label again")] if wrong else []


@lru_cache(maxsize=256)
def _pattern(pattern: str) -> re.Pattern[str]:
    return re.compile("".join(r"\d" if sign == "#" else re.escape(sign) for sign in pattern))


_SIGNS = {">=": "ATLEAST", "=>": "ATLEAST", "≥": "ATLEAST", "<=": "ATMOST", "=<": "ATMOST", "≤": "ATMOST"} | {
    ">": "MORE",
    "<": "LESS",
    "=": "EQUALS",
}


def _setting(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    limits, value = one.limits, obs.word
    if limits.kind and limits.kind != "number":
        if obs.value is None:
            return Outcome((Reason("doubtful", "no-unit", f"{about(one)}: `{value}` has no unit"),), limits)
        return Outcome(
            against(one.kind, judged_value(one, obs.value, limits), limits, None, 0.0, about(one)).reasons,
            limits,
        )
    if limits.word:
        if value.casefold() == limits.word.casefold():
            return Outcome(limits=limits)
        return Outcome(
            (Reason("not-ok", "not-ok", f"{about(one)} is `{value}`, and `{limits.word}` is asked"),), limits
        )
    found = re.fullmatch(r"([<>=≥≤]+)?\s*(\S+)", limits.text)
    if not limits.text or found is None:
        return Outcome(limits=limits)
    if ".." in found[2]:
        low, high = found[2].split("..")
        checks = [("ATLEAST", low), ("ATMOST", high)]
    else:
        checks = [(_SIGNS.get(found[1] or "=", "EQUALS"), found[2])]
    for sign, wanted in checks:
        order = compare_versions(value, wanted)
        if order is None:
            return Outcome(
                (Reason("doubtful", "doubtful", f"`{value}` cannot be held against `{limits.text}`"),), limits
            )
        if (order < 0 and sign in ("ATLEAST", "MORE", "EQUALS")) or (order == 0 and sign == "MORE"):
            return Outcome(
                (Reason("under", "under", f"{about(one)} {value} is below `{limits.text}`"),), limits
            )
        if (order > 0 and sign in ("ATMOST", "LESS", "EQUALS")) or (order == 0 and sign == "LESS"):
            return Outcome(
                (Reason("over", "over", f"{about(one)} {value} is above `{limits.text}`"),), limits
            )
    return Outcome(limits=limits)


def version(text: str) -> tuple[int, ...] | None:
    """The pieces of a version, so that 2.3.12 is later than 2.3.9; None where it is none."""
    found = re.fullmatch(r"[vV]?(\d{1,9}(?:\.\d{1,9})*)", text)
    return tuple(int(piece) for piece in found[1].split(".")) if found else None


def compare_versions(one: str, other: str) -> int | None:
    """-1, 0 or 1; missing pieces count as 0."""
    a, b = version(one), version(other)
    if a is None or b is None:
        return None
    length = max(len(a), len(b))
    a, b = a + (0,) * (length - len(a)), b + (0,) * (length - len(b))
    return (a > b) - (a < b)


def _series(one: Requirement, obs: Observation, around: RuleContext) -> Outcome:
    from sitelog.judging.trials import judge_series  # few logs hold a trial

    return judge_series(one, obs, around)


WAYS: dict[str, Rule] = {
    "value within limits": _measured,
    "two sizes": _hole,
    "answer": _look,
    "serial": _part,
    "presence": _done,
    "photo": _photo,
    "setting": _setting,
    "cable": judge_cable,
    "trial": _series,
}
"""The ways of judging one observation, by the names that the rows of kinds give them. A `spread` is judged
from several observations, by `spread.py`."""

RULES: dict[str, Rule] = {word: WAYS[row.judged] for word, row in SHEET.items() if row.judged in WAYS}
"""The way of each kind."""


def is_good(requirement: Requirement, obs: Observation, context: RuleContext) -> bool:
    """Whether nothing about an observation fails by the rule that its verdict comes of.

    That is all that `after` asks of it: a doubt or a tool without a certificate is no reason to stop.
    """
    outcome = RULES[requirement.kind](requirement, obs, context)
    return not any(reason.verdict in FAILING for reason in outcome.reasons)
