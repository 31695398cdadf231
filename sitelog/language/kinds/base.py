"""What every kind of entry shares: the head of a record, and the reader that turns words into values."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from functools import lru_cache

from sitelog.base.frozen import NamedTuple, record
from sitelog.findings.catalog import CATALOG, finding_at
from sitelog.findings.finding import Finding
from sitelog.language.syntax.tokens import Entry, Node, Token
from sitelog.notation.moments import Clock as Clock
from sitelog.notation.moments import looks_like_date, read_clock, read_date
from sitelog.notation.places import expand
from sitelog.notation.quantities import Domain, Problem, Quantity, domain_problem, kind_problem, read_quantity

# The number at the head of a glued value: 12Nm, 12,1Nm, 1-1/2in, 5/8in.
_GLUED = re.compile(r"([+-]?(?:\d+-)?\d+/\d+|[+-]?\d+(?:[.,]\d+)*)(.*)", re.DOTALL)
_PAIR = re.compile(r"([+-]?\d+(?:[.,]\d+)?)([^\dx×*]*)[x×*](\d+(?:[.,]\d+)?)(.*)", re.IGNORECASE)
_BOUNDS = {"MORE": ">", "ATLEAST": ">", "LESS": "<", "ATMOST": "<"}


class Head(NamedTuple):
    """What every record has: where it stands, when and by whom it says it was done, with what tool."""

    file: str
    entry: Entry
    date: date | None
    clock: Clock | None
    by: tuple[str, ...]
    tool: str
    tool_at: tuple[int, int]

    @property
    def line(self) -> int:
        """The line's number in its file."""
        return self.entry.number


@record
class Record:
    """One entry of a log, typed. Each kind adds its own fields."""

    head: Head


class Place(NamedTuple):
    """One place that an entry names, and the stretch of the line that names it."""

    name: str
    start: int
    end: int


class Value(NamedTuple):
    """One written value: None where it is a blank to fill in or could not be read."""

    quantity: Quantity | None
    start: int
    end: int
    blank: bool = False


class Condition(NamedTuple):
    """What a value holds for: `500 V`, `5 x 30 mA` (as 150 mA), or a word."""

    text: str
    kind: str
    base: Decimal | None

    @property
    def key(self) -> str:
        """Equal for conditions that mean the same."""
        return f"{self.kind}:{self.base.normalize():f}" if self.base is not None else self.text.casefold()


class Reader:
    """One entry on its way to a record: hands out its parts and collects what is wrong with them."""

    def __init__(self, file: str, entry: Entry) -> None:
        self.file = file
        self.entry = entry
        self.findings: list[Finding] = []
        body = entry.body
        self.parts: tuple[Node | Token, ...] = body.children if body is not None else ()
        self._by_name: dict[str, list[Node]] = {}
        if '""' in entry.text and body is not None and body.name not in _FREE:
            for token in body.tokens():
                if token.type == "STRING" and not unquoted(token.text).strip():
                    self.say(
                        "bad-name", "there is nothing between the quotation marks", token.start, token.end
                    )
        twice = False
        for part in self.parts:
            if part.__class__ is Node:  # many times as fast as isinstance, on every part of every line
                same = self._by_name.get(part.name)
                if same is None:
                    self._by_name[part.name] = [part]
                else:
                    same.append(part)
                    twice |= part.name not in _REPEATED
        if twice:
            self._say_twice()

    def _say_twice(self) -> None:
        seen: set[str] = set()
        for part in self.parts:
            if isinstance(part, Node) and part.name not in _REPEATED:
                if part.name in seen:
                    word = part.tokens()[0].text
                    self.say("duplicate-clause", f"`{word}` stands twice in one entry", part.start, part.end)
                seen.add(part.name)

    # ---- saying what is wrong --------------------------------------------------------------------
    def say(self, slug: str, message: str, start: int = -1, end: int = -1, help: str = "") -> None:
        """A finding at a stretch of the line (from 0); the whole entry where none is given."""
        self.findings.append(finding_at(self.entry.span(self.file, start, end), slug, message, help))

    def report(self, problems: Iterable[Problem], start: int, end: int) -> bool:
        """Say the problems of a value; True where one of them is an error."""
        wrong = False
        for problem in problems:
            # One unit behind a list of values is wrong, or missing, once and not once a value.
            same = (one for one in self.findings if one.slug == problem.slug)
            if not any(one.message == problem.message or problem.slug == "no-unit" for one in same):
                self.say(problem.slug, problem.message, start, end, problem.help)
            wrong |= CATALOG[problem.slug].severity == "error"
        return wrong

    # ---- parts -----------------------------------------------------------------------------------
    def node(self, name: str) -> Node | None:
        """The first part of that name."""
        found = self._by_name.get(name)
        return found[0] if found is not None else None

    def nodes(self, name: str) -> Sequence[Node]:
        """Every part of that name, in order."""
        return self._by_name.get(name, ())

    def has(self, terminal: str) -> bool:
        """Whether a word of that terminal stands directly in the entry."""
        return any(isinstance(part, Token) and part.type == terminal for part in self.parts)

    def words(self) -> list[str]:
        """The plain words that stand directly in the entry, quotes taken off."""
        return [unquoted(part.text) for part in self.parts if isinstance(part, Token) and part.type in _WORDS]

    def texts(self, name: str) -> list[Token]:
        """The words of every part of that name."""
        return [token for node in self.nodes(name) for token in node.tokens()]

    def text_of(self, node: Node | None) -> str:
        """The stretch of the line that a part covers, as written."""
        return self.entry.text[node.start : node.end].strip() if node is not None else ""

    # ---- names and places ------------------------------------------------------------------------
    def name(self, which: int = 0) -> str:
        """The n-th plain name of the entry, quotes taken off; empty where there is none."""
        names = self.nodes("name")
        return unquoted(names[which].tokens()[0].text) if which < len(names) else ""

    def places(self, node: Node | None = None) -> tuple[Place, ...]:
        """The places a list names, expanded; of the entry's own list where none is given."""
        if node is None:
            node = self.node("places") or self.node("loose_places")
        tokens = node.tokens() if node is not None else ()
        if len(tokens) == 1:  # most of them
            token = tokens[0]
            if token.type != "STRING" and (alone := _places(token.text, token.start, token.end)):
                return alone
        found: list[Place] = []
        seen: set[str] = set()
        for token in tokens:
            if token.type in ("COMMA", "OF", "TO", "REOPENS", "BEFORE", "AFTER"):
                continue
            names = expand(token.text) if token.type != "STRING" else (unquoted(token.text),)
            if isinstance(names, Problem):
                self.report((names,), token.start, token.end)
                continue
            for name in names:
                if name.casefold() in seen:
                    self.say("duplicate-name", f"`{name}` is named twice", token.start, token.end)
                    continue
                seen.add(name.casefold())
                found.append(_new(Place, (name, token.start, token.end)))
        return tuple(found)

    # ---- values ----------------------------------------------------------------------------------
    def values(
        self, node: Node | None, kinds: tuple[str, ...] = (), domain: Domain | None = None
    ) -> tuple[Value, ...]:
        """The values of a list; one without a unit takes that of the next one that has one.

        A value that cannot be, by its kind or by `domain`, is said and is None.
        """
        if node is None:
            return ()
        nodes = [child for child in node.children if child.__class__ is Node and child.name in _VALUES]
        unit = ""
        parts: list[Parts] = []
        for child in reversed(nodes):
            one = split_value(child)
            unit = one.unit or unit
            parts.append(one if one.unit is unit else _new(Parts, (one.number, unit, one.bound)))
        parts.reverse()
        return tuple(
            [self._value(child, one, kinds, domain) for child, one in zip(nodes, parts, strict=True)]
        )

    def value(self, node: Node, kinds: tuple[str, ...] = (), domain: Domain | None = None) -> Quantity | None:
        """One value; None (and said why) where it is none, or where it cannot be."""
        return self._value(node, split_value(node), kinds, domain).quantity

    def can_be(self, quantity: Quantity, start: int, end: int, domain: Domain | None = None) -> bool:
        """Whether a value lies in the domain of its kind and in `domain`; said where it does not."""
        problem = domain_problem(quantity, domain)
        return problem is None or not self.report((problem,), start, end)

    def _value(self, node: Node, parts: Parts, kinds: tuple[str, ...], domain: Domain | None = None) -> Value:
        start, end = node.children[0].start, node.children[-1].end
        if parts.number == "___":
            return Value(None, start, end, True)
        quantity, problems = read_quantity(*parts, self.entry.text[start:end])
        if quantity is not None and not problems and (not kinds or quantity.kind in kinds):
            if (wrong_value := domain_problem(quantity, domain)) is not None:
                self.report((wrong_value,), start, end)
                return Value(None, start, end)
            return _new(Value, (quantity, start, end, False))
        wrong = False
        for problem in problems:
            wrong |= self.report((problem,), start, self._end_of(problem, parts.unit, node))
        if quantity is None or wrong:
            return Value(None, start, end)
        if kinds and quantity.kind not in kinds and (other := kind_problem(quantity, kinds)):
            self.report((other,), start, self._end_of(other, parts.unit, node))
            return Value(None, start, end)
        return Value(quantity if self.can_be(quantity, start, end, domain) else None, start, end)

    def _end_of(self, problem: Problem, unit: str, node: Node) -> int:
        """Where the stretch ends that a problem is about: a list's unit stands behind its last value."""
        if problem.slug not in _OF_A_UNIT or not unit:
            return node.end
        at = self.entry.text.find(unit, node.start)
        return max(node.end, at + len(unit)) if at >= 0 else node.end

    def pair(
        self, node: Node, kind: str, domain: Domain | None = None
    ) -> tuple[Quantity | None, Quantity | None]:
        """The two values of `12 mm x 62 mm`, `12x62 mm`, `12mm×62mm`."""
        children = [child for child in node.children if isinstance(child, Node)]
        if len(children) == 2:
            first, second = split_value(children[0]), split_value(children[1])
            first = first._replace(unit=first.unit or second.unit)
            a = self._value(children[0], first, (kind,), domain)
            b = self._value(children[1], second._replace(unit=second.unit or first.unit), (kind,), domain)
            return a.quantity, b.quantity
        tokens = children[0].tokens()
        both = _PAIR.fullmatch(tokens[0].text)
        if both is None or tokens[0].type not in ("PAIR", "NUMWORD"):
            self.say(
                "unreadable",
                "a hole has two sizes: diameter x depth",
                node.start,
                node.end,
                "write 12 mm x 62 mm",
            )
            return None, None
        unit = both[4] or (tokens[1].text if len(tokens) > 1 else "")
        one = self._value(children[0], Parts(both[1], both[2] or unit, ""), (kind,), domain)
        two = self._value(children[0], Parts(both[3], unit, ""), (kind,), domain) if one.quantity else one
        return one.quantity, two.quantity

    def conditions(self, node: Node | None) -> tuple[Condition, ...]:
        """What stands behind `at`."""
        found: list[Condition] = []
        for child in node.children if node is not None else ():
            if not isinstance(child, Node):
                continue
            values = child.nodes()
            text = self.text_of(child)
            if (multiple := self._multiple(child)) is not None:
                found.append(multiple)
                continue
            if len(values) == 1 and (known := _condition(split_value(values[0]), text)) is not None:
                found.append(known)  # most of them
                continue
            if not values:
                found.append(Condition(text, "word", None))
            elif len(values) == 1:
                if (one := self.value(values[0])) is not None:
                    if one.kind == "number":
                        message = f"{self.text_of(values[0])} has no unit"
                        help = "a condition is a value with its unit: at 500 V"
                        self.say("no-unit", message, values[0].start, values[0].end, help)
                        continue
                    found.append(Condition(shown(one), one.kind, one.base))
            else:
                factor, rated = self.value(values[0]), self.value(values[1])
                if factor is not None and rated is not None:
                    if factor.kind != "number":
                        self.say("unit-kind", "a multiple is a plain number", values[0].start, values[0].end)
                    else:
                        base = factor.number * rated.base
                        found.append(Condition(f"{factor.number} x {shown(rated)}", rated.kind, base))
        return tuple(found)

    def _multiple(self, node: Node) -> Condition | None:
        """`5x30 mA` or `5x30mA`, written in one word; None for anything else."""
        tokens = node.tokens()
        both = _PAIR.fullmatch(tokens[0].text) if tokens[0].type in ("PAIR", "NUMWORD") else None
        if both is None or both[2]:
            return None
        unit = both[4] or (tokens[1].text if len(tokens) > 1 else "")
        times, _ = read_quantity(both[1], "")
        rated, _ = read_quantity(both[3], unit)
        if times is None or rated is None or rated.kind == "number":
            return None
        return Condition(f"{times.number} x {shown(rated)}", rated.kind, times.number * rated.base)

    # ---- the head --------------------------------------------------------------------------------
    def head(self) -> Head:
        """When, by whom, with what."""
        day, clock = self._when()
        by_node, with_node = self.node("by"), self.node("with")
        by: tuple[str, ...] = ()
        if by_node is not None:
            by = tuple([token.text for token in by_node.tokens()[1:] if token.type != "COMMA"])
        tool, at = "", (0, 0)
        if with_node is not None:
            name = with_node.tokens()[1]
            tool, at = unquoted(name.text), name[2:]
        return _new(Head, (self.file, self.entry, day, clock, by, tool, at))

    def _when(self) -> tuple[date | None, Clock | None]:
        node = self.entry.when
        if node is None:
            return None, None
        if len(node.children) == 1 and len(tokens := node.tokens()) == 1:  # most: a time alone
            alone = _alone(tokens[0].text)
            if alone is not None:
                return None, alone
        day: date | None = None
        clock: Clock | None = None
        for child in node.children:
            if isinstance(child, Token):
                day = self.date(child)
            else:
                clock = self._clock(child)
        return day, clock

    def date(self, token: Token) -> date | None:
        """A date, or None with a finding."""
        found = read_date(token.text)
        if isinstance(found, Problem):
            self.report((found,), token.start, token.end)
            return None
        return found

    def _clock(self, node: Node) -> Clock | None:
        tokens = node.tokens()
        text = tokens[0].text if len(tokens) == 1 else "".join([token.text for token in tokens])
        found = _moment(text)
        if isinstance(found, Problem):
            self.report((found,), node.start, node.end)
        elif isinstance(found, Clock):
            if "." in tokens[0].text or "," in tokens[0].text:
                self.say("time-with-dot", f"read as {found}", node.start, node.end)
            return found
        return None


@lru_cache(maxsize=4096)
def _moment(text: str) -> Clock | date | Problem:
    """What stands where a time of day is meant; a date there may be a slip."""
    text = text.lower()
    return read_date(text) if looks_like_date(text) else read_clock(text)


@lru_cache(maxsize=4096)
def _places(text: str, start: int, end: int) -> tuple[Place, ...] | None:
    """The places that one word names; None where something is the matter with it."""
    names = expand(text)
    if isinstance(names, Problem) or len({name.casefold() for name in names}) < len(names):
        return None
    return tuple([Place(name, start, end) for name in names])


@lru_cache(maxsize=4096)
def _condition(parts: Parts, text: str) -> Condition | None:
    """What one value stands for behind `at`, where nothing is the matter with it."""
    quantity, problems = read_quantity(*parts, text)
    if quantity is None or problems or quantity.kind == "number":
        return None
    return Condition(shown(quantity), quantity.kind, quantity.base)


@lru_cache(maxsize=4096)
def _alone(text: str) -> Clock | None:
    """The time that one word tells, where nothing is the matter with it."""
    found = _moment(text)
    return found if isinstance(found, Clock) and not {".", ","} & set(text) else None


def share(reader: Reader, places: tuple[Place, ...], values: tuple[Value, ...]) -> tuple[Value, ...] | None:
    """One value per place: one for all, or a list of as many. None where the counts differ."""
    if len(values) <= 1 or len(values) == len(places):
        return values * len(places) if len(values) == 1 else values
    if places:
        message = f"{count(len(places), 'place')}, but {count(len(values), 'value')}"
        reader.say(
            "wrong-count", message, values[0].start, values[-1].end, _who_is_short(reader, places, values)
        )
    return None


def _who_is_short(reader: Reader, places: tuple[Place, ...], values: tuple[Value, ...]) -> str:
    """What probably was meant: a blank in a number or a name, or a value too few or too many."""
    text = reader.entry.text
    if len(places) == 1 and (number := re.match(r"\d{1,3}(?:\s\d{3})+(?!\S)", text[values[0].start :])):
        return f"no blanks stand in a number: write {''.join(number[0].split())}"
    if len(places) == 1 and (
        bare := re.fullmatch(r"(\d+)(?:-(\d+))?", text[values[0].start : values[0].end])
    ):
        meant = f"{places[0].name}-{bare[1]}" + (f"..{bare[2]}" if bare[2] else "")
        return f"no blank stands in a name: was {meant} meant?"
    if len(values) < len(places):
        return "write `___` for a place that has none yet; one value alone stands for all"
    return "name every place, or strike the value too many"


def count(number: int, what: str) -> str:
    """`1 place`, `6 places`, in words as far as a hand counts."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return f"{words[number] if number < len(words) else number} {what}{'' if number == 1 else 's'}"


class Parts(NamedTuple):
    """The pieces of one written value."""

    number: str
    unit: str
    bound: str


_new = tuple.__new__  # three times as fast as calling a NamedTuple

# Parts that may stand several times in one entry.
_REPEATED = frozenset(
    {"value", "group", "name", "amount", "item_limit", "limit", "compare", "measure", "class"}
)
_WORDS = frozenset({"WORD", "STRING", "DC", "AC", "AWG", "NUMWORD"})
_FREE = frozenset({"note", "todo", "done", "away", "back", "defect", "strike", "scan", "day", "sign"})
_OF_A_UNIT = frozenset({"unknown-unit", "unit-case", "unit-kind"})
_VALUES = frozenset({"value", "amount", "plain", "sized", "number_unit"})


def split_value(node: Node) -> Parts:
    """Number, unit and bound of a written value, still as text."""
    tokens = node.tokens()
    if len(tokens) == 1 and tokens[0].type == "NUMBER":  # most of a list
        return _new(Parts, (tokens[0].text, "", ""))
    number = unit = bound = ""
    for token in tokens:
        if token.type in _BOUNDS:
            bound = _BOUNDS[token.type]
        elif token.type == "HOLLOW":
            number = "___"
        elif not number:
            number = token.text
            if token.type == "NUMWORD" and (glued := _GLUED.fullmatch(number)):
                number, unit = glued[1], glued[2]
        elif token.type not in ("DC", "AC"):
            unit = token.text
    return _new(Parts, (number, unit, bound))


def unquoted(text: str) -> str:
    """A text without its quotes."""
    return text[1:-1] if len(text) > 1 and text[0] == text[-1] == '"' else text


@lru_cache(maxsize=4096)
def shown(q: Quantity) -> str:
    """A quantity in its normal spelling, as conditions are compared by eye."""
    from sitelog.notation.quantities import format_quantity

    return format_quantity(q)
