"""Lines read from plans: what Lark once made of a line is made again without Lark.

Three things are remembered, each the first time Lark meets it:

- line → plan. Digits are folded to `0` and the remark is cut off; lines that are then equal have the
  same tokens at the same places, so only the words with digits in them are made anew.
- chunk → tokens. What stands between blanks lexes alone as it does in a line.
- token types → tree. An LALR tree, or refusal, depends on the types of the tokens and nothing else.

The first serves most lines of a fleet, the others what is left and what the first is made from.
`alike.py` proves from the grammar's terminals that this holds. Lark makes every plan; what is not
provably alike (a quote inside a word, a remark that touches a word) goes to Lark each time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from sitelog.base.frozen import NamedTuple
from sitelog.language.syntax import kept
from sitelog.language.syntax.kept import Known, Raw, Refusal, Shape
from sitelog.language.syntax.tails import TAIL, Words, tail_of
from sitelog.language.syntax.tokens import Entry, Node
from sitelog.language.syntax.trees import Spans, fresh, grown, recipe, shape_of, with_tail

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeVar

    from lark import Token as LarkToken
    from lark import Tree

    _Key = TypeVar("_Key")
    _What = TypeVar("_What")


MOST_LINES, MOST_CHUNKS, MOST_SHAPES, MOST_WHENS = 20_000, 50_000, 10_000, 5_000
"""More of a sort than this is forgotten all at once: a fleet has far fewer, and memory is not endless."""

LONGEST_LINE, LONGEST_CHUNK = 160, 100
"""Characters; longer ones come once and are not worth remembering."""

_FOLD = bytes(ord("0") if 48 <= byte < 58 else byte for byte in range(256))
_CHUNK = re.compile(r'("[^"]*"|[^ \t"]++"?+)(?![^ \t])|[^ \t]')
_END = "$END"
_new = tuple.__new__  # three times as fast as calling a NamedTuple


class Parts(NamedTuple):
    """A line in its parts; remark and comment by where they begin, -1 where there is none."""

    body: Node | None
    when: Node | None
    remark: int
    comment: int


class Place(NamedTuple):
    """Where a token stands that could not stand there."""

    type: str
    start_pos: int
    end_pos: int


class Refused(NamedTuple):
    """A line that the grammar refused: the token, and the types it wanted instead."""

    token: Place
    expected: frozenset[str]


class Lexed(NamedTuple):
    """The tokens of a line, types and places; `plain` where it has no quote, comment or odd remark."""

    types: tuple[str, ...]
    spans: Spans
    plain: bool


class Grammar(NamedTuple):
    """What plans ask of Lark; the first call of any loads it."""

    plannable: Callable[[], bool]
    free: Callable[[], dict[str, Words]]  # the entries that end in free text
    tokens: Callable[[str], Raw | None]  # before the first word is looked at; None where some are none
    tree: Callable[[str], Tree[LarkToken]]  # or raises UnexpectedInput


class Plans:
    """The plans of one role."""

    def __init__(self, role: str, grammar: Grammar, file: str = "") -> None:
        self._role = role
        self._grammar = grammar
        self._file = file
        known = kept.read(file, role) if file else None
        self._allowed = True if known is not None else None  # not known before Lark is loaded
        self._known = known or Known({}, {}, {}, {})
        self._new = Known({}, {}, {}, {})
        self._lines: dict[bytes, tuple[Any, ...]] = {}
        self._once: set[bytes] = set()  # lines that came once; one that comes again is worth a plan
        self._words: dict[str, str | Raw] = {}  # chunks as they are, found without folding them
        self._whens: dict[str, Node] = {}  # the times that lines begin with, by their text

    def read(self, text: str, line: str, number: int) -> Entry | Parts | Refused | None:
        """The entry of a line known whole, else its parts or its refusal; None: ask Lark.

        `line` is the text with look-alike characters made plain.
        """
        cut = line.find(" --")
        if cut >= 0 and line.find('"', 0, cut) < 0 and "\n" not in line:
            key = line[: cut + 3].encode("utf-8", "surrogatepass").translate(_FOLD)
        else:
            cut = -1
            key = line.encode("utf-8", "surrogatepass").translate(_FOLD)
        plan = self._lines.get(key)
        if plan is None:
            return self._piece_by_piece(line, cut, key)
        kind, body, when, until, remark = plan
        if body.__class__ is tuple:
            body = fresh(body, line)
        if when.__class__ is tuple:
            when = self._whens.get(line[:until]) or self._keep_when(fresh(when, line), line, until)
        said = text[remark:].lstrip("-–—").strip() if remark >= 0 else ""
        return _new(Entry, (kind, number, text, body, when, said, ""))

    def save(self) -> None:
        """Keep what was learnt since the last time, where plans are kept at all."""
        if self._file and any(self._new) and self._allowed:
            kept.write(self._file, self._role, self._known)
        self._new = Known({}, {}, {}, {})

    def learnt(self) -> Known:
        """What was learnt since this was last asked, or saved."""
        new, self._new = self._new, Known({}, {}, {}, {})
        return new

    def learn(self, new: Known) -> None:
        """Take over what another process learnt of the same grammar, where plans were allowed."""
        self._allowed = True
        for chunk, raw in new.chunks.items():
            self._remember_chunk(chunk, raw)
        for types, shape in new.shapes.items():
            self._remember_shape(types, shape)
        for types, refusal in new.refusals.items():
            self._remember_refusal(types, refusal)
        self._remember_free(new.free)

    # ---- chunks and shapes --------------------------------------------------------------------

    def _piece_by_piece(self, line: str, cut: int, key: bytes) -> Parts | Refused | None:
        if self._allowed is None:
            self._allowed = self._grammar.plannable()
            self._remember_free(self._grammar.free())
        if not self._allowed or "\n" in line:
            return None
        lexed = self._lexed(line)
        if lexed is None:
            return None
        start, end = tail_of(lexed.types, self._known.free)
        short = _shortened(lexed, start, end) if end else lexed
        spans = short.spans
        shape = self._known.shapes.get(short.types)
        if shape is None:
            refused = self._refused(lexed)
            if refused is not None:
                return refused
            outcome = self._ask(*_with_stand_in(line, short, start)) if end else self._ask(line, lexed)
            if outcome is None or isinstance(outcome, Refused):
                return None if end else outcome
            shape = outcome
        cut_body, when, remark, comment = shape
        body = None if cut_body is None else grown(cut_body, spans, line)
        if end and body is not None:
            words = self._known.free[lexed.types[start - 1]]
            body = with_tail(body, lexed.types[start:end], lexed.spans[start:end], line, words)
        parts = _new(
            Parts,
            (
                body,
                None if when is None else self._when(when, spans, line),
                remark if remark < 0 else spans[remark][0],
                comment if comment < 0 else spans[comment][0],
            ),
        )
        if lexed.plain and not end and len(key) <= LONGEST_LINE and (cut < 0 or parts.remark == cut + 1):
            self._keep_line(key, parts, line)
        return parts

    def _lexed(self, line: str) -> Lexed | None:
        """The line's tokens, chunk by chunk; None where a chunk does not stand alone."""
        types: list[str] = []
        spans: Spans = []
        plain = True
        words = self._words
        for chunk, at in _chunks(line):
            raw: Any = words.get(chunk)
            if raw is None:
                if not chunk:
                    return None
                if chunk[0] == '"':
                    raw = "STRING"
                    plain = False
                elif chunk.startswith(("--", "—")) or chunk in ("–", "-", "#"):
                    if chunk == "-" and line[at + 1 :].lstrip(" \t")[:1].isdecimal():
                        return None  # it might be a minus sign
                    types.append("COMMENT" if chunk == "#" else "REMARK")
                    spans.append((at, len(line)))
                    plain = plain and chunk.startswith("--")
                    break
                else:
                    plain = plain and "#" not in chunk  # `#4/0` and `#4/1` are two things
                    raw = self._chunk(chunk)
                    if raw is None:
                        return None
            if raw.__class__ is str:  # most are one token
                types.append(raw)
                spans.append((at, at + len(chunk)))
                continue
            for kind, start, end in raw:
                types.append(kind)
                spans.append((at + start, at + end))
        return _new(Lexed, (tuple(types), spans, plain))

    def _chunk(self, chunk: str) -> str | Raw | None:
        key = chunk.encode("utf-8", "surrogatepass")
        odd = b"#" in key
        if not odd:
            key = key.translate(_FOLD)
        raw = self._known.chunks.get(key)
        if raw is None:
            raw = self._learn_chunk(key, chunk)
        if raw is None:
            return None
        found = raw[0][0] if len(raw) == 1 and raw[0][1:] == (0, len(chunk)) else raw
        if not odd:
            _room(self._words, MOST_CHUNKS)[chunk] = found
        return found

    def _refused(self, lexed: Lexed) -> Refused | None:
        refusals, types = self._known.refusals, lexed.types
        for count in range(1, len(types) + 1):
            refusal = refusals.get(types[:count])
            if refusal is not None:
                return _placed(refusal, lexed.spans)
        refusal = refusals.get((*types, _END))
        return None if refusal is None else _placed(refusal, lexed.spans)

    def _when(self, cut: Any, spans: Spans, line: str) -> Node:
        """The time that a line begins with; from its text alone where that was met before."""
        last = cut
        while last[1].__class__ is tuple:
            last = last[1][-1]
        until = spans[last[1]][1]
        return self._whens.get(line[:until]) or self._keep_when(grown(cut, spans, line), line, until)

    # ---- learning -----------------------------------------------------------------------------

    def _learn_chunk(self, key: bytes, chunk: str) -> Raw | None:
        if "--" in chunk or "—" in chunk or len(chunk) > LONGEST_CHUNK:
            return None  # a remark may begin within it
        raw = self._grammar.tokens(chunk)
        if raw is None or any(chunk[start] == '"' for _, start, _ in raw):
            return None  # a text in quotes may begin within it
        self._remember_chunk(key, raw)
        return raw

    def _ask(self, line: str, lexed: Lexed) -> Shape | Refused | None:
        """What Lark makes of a line of this shape; None where its tokens are not those foreseen."""
        from lark.exceptions import UnexpectedInput

        types, spans = lexed.types, lexed.spans
        numbers = {span: number for number, span in enumerate(spans)}
        try:
            tree = self._grammar.tree(line)
        except UnexpectedInput as error:
            refusal = _refusal(error, numbers)
            if refusal is None:
                return None
            self._remember_refusal((*types, _END) if refusal[1] < 0 else types[: refusal[1] + 1], refusal)
            return _placed(refusal, spans)
        shape = shape_of(tree, numbers)
        if shape is not None:
            self._remember_shape(types, shape)
        return shape

    def _keep_line(self, key: bytes, parts: Parts, line: str) -> None:
        """A plan for all lines equal to this one but for digits; none where the line is free text."""
        if key not in self._once:
            if len(self._once) >= MOST_LINES:
                self._once.clear()
            self._once.add(key)
            return
        body, when = parts.body, parts.when
        if body is None or any(node.name == "text" and len(node.children) > 1 for node in body.nodes()):
            return
        if len(self._lines) >= MOST_LINES:
            self._lines.clear()
        kind = "n/a" if body.name == "na" else body.name
        timed, until = (None, 0) if when is None else (recipe(when, line), when.end)
        self._lines[key] = (kind, recipe(body, line), timed, until, parts.remark)

    def _keep_when(self, when: Node, line: str, until: int) -> Node:
        """Keep a time by its text, where a chunk ends with it: then it reads alike in every line."""
        if until == len(line) or line[until] in " \t":
            _room(self._whens, MOST_WHENS)[line[:until]] = when
        return when

    def _remember_chunk(self, key: bytes, raw: Raw) -> None:
        for known in (self._known, self._new):
            _room(known.chunks, MOST_CHUNKS)[key] = raw

    def _remember_shape(self, types: tuple[str, ...], shape: Shape) -> None:
        for known in (self._known, self._new):
            _room(known.shapes, MOST_SHAPES)[types] = shape

    def _remember_free(self, free: dict[str, Words]) -> None:
        for known in (self._known, self._new):
            known.free.update(free)

    def _remember_refusal(self, types: tuple[str, ...], refusal: Refusal) -> None:
        for known in (self._known, self._new):
            _room(known.refusals, MOST_SHAPES)[types] = refusal


def _chunks(line: str) -> Iterator[tuple[str, int]]:
    """What stands between blanks, and where; an empty text where something does not stand alone."""
    if '"' in line or "\t" in line:
        for found in _CHUNK.finditer(line):
            yield found[0] if found.lastindex is not None else "", found.start()
        return
    at = 0
    for chunk in line.split(" "):
        if chunk:
            yield chunk, at
        at += len(chunk) + 1


def _room(memory: dict[_Key, _What], most: int) -> dict[_Key, _What]:
    if len(memory) >= most:
        memory.clear()
    return memory


def _refusal(error: Exception, numbers: dict[tuple[int, int], int]) -> Refusal | None:
    token = getattr(error, "token", None)
    if token is None:
        return None
    number = -1 if token.type == _END else numbers.get((token.start_pos, token.end_pos))
    if number is None:
        return None
    return str(token.type), number, tuple(sorted(getattr(error, "expected", ())))


def _shortened(lexed: Lexed, start: int, end: int) -> Lexed:
    """A line with one token for its free text, which is made of those from `start` to before `end`."""
    types, spans, plain = lexed
    whole = spans[start][0], spans[end - 1][1]
    return Lexed((*types[:start], TAIL, *types[end:]), [*spans[:start], whole, *spans[end:]], plain)


def _with_stand_in(line: str, short: Lexed, at: int) -> tuple[str, Lexed]:
    """A line with one plain word in place of its free text, which is its token number `at`."""
    spans = short.spans
    start, end = spans[at]
    shift = start + 3 - end
    moved = [(begin + shift, until + shift) for begin, until in spans[at + 1 :]]
    stand_in = f"{line[:start]} w {line[end:]}"
    return stand_in, short._replace(spans=[*spans[:at], (start + 1, start + 2), *moved])


def _placed(refusal: Refusal, spans: Spans) -> Refused:
    kind, number, expected = refusal
    start, end = spans[number] if spans else (0, 0)
    return Refused(Place(kind, start, end), frozenset(expected))
