"""Lines read with nothing but Lark: what reading from plans is held against."""

from collections.abc import Iterator
from contextlib import contextmanager

from sitelog.language.syntax import Entry, Fault, parse_line, parser
from sitelog.language.syntax.grammars import ROLES
from sitelog.language.syntax.plans import LarkGrammar, LinePlans


def _never(text: str) -> object:
    raise AssertionError(f"a plan was made of {text!r}")


_NO_PLANS = {
    role: LinePlans(role, LarkGrammar(plannable=lambda: False, free=dict, tokens=_never, tree=_never))
    for role in ROLES
}


@contextmanager
def reading_plainly() -> Iterator[None]:
    """Within it `parse_line` makes and uses no plan."""
    plans = dict(parser._plans)
    parser._plans.update(_NO_PLANS)
    try:
        yield
    finally:
        parser._plans.clear()
        parser._plans.update(plans)


def plainly(role: str, text: str, number: int) -> tuple[Entry, tuple[Fault, ...]]:
    """What `parse_line` gives where no plan is ever made."""
    with reading_plainly():
        return parse_line(role, text, number)
