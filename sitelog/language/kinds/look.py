"""Looks: an inspection answered `ok`, `not ok` or with a word; and settings, read off or set."""

from __future__ import annotations

import re

from sitelog.base.frozen import record
from sitelog.language.kinds.base import Place, Reader, Record, unquoted
from sitelog.language.kinds.kind import WITHOUT_REMARK, LogKind, SheetKind, draft_at
from sitelog.language.kinds.requirement import NO_LIMITS, Limits, Requirement, asked, limit_nodes, limits_of
from sitelog.language.syntax.tokens import Node, Token
from sitelog.notation.quantities import Quantity

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sitelog.language.kinds.kind import Draft

ANSWERS_OK = frozenset({"ok", "okay"})
_MOMENTS = ("DATE", "TIME")
_SECRETS = frozenset({"password", "passwd", "passcode", "passphrase", "passkey", "pin", "puk"})


@record
class Look(Record):
    """What was looked at, where, and the answer in small letters; empty where it is still blank."""

    whats: tuple[Place, ...]
    places: tuple[Place, ...]
    answer: str
    mode: str = "final"


@record
class Setting(Record):
    """Settings or versions of one value, as written, and as a quantity where it is one with a unit."""

    whats: tuple[Place, ...]
    places: tuple[Place, ...]
    value: str
    quantity: Quantity | None
    at: tuple[int, int]


def read_look(reader: Reader) -> Look | None:
    """`look WHAT [PLACES] ANSWER`."""
    groups = reader.nodes("group")
    negative = reader.node("negative")
    mode, answer = "final", ""
    if negative is not None:
        tokens = negative.tokens()
        word = unquoted(tokens[1].text).casefold() if len(tokens) > 1 else "ok"
        mode, answer = (
            ("not-tested", "") if word in ("tested", "looked", "seen") else ("final", f"not {word}")
        )
        if answer == "not ok" and not reader.entry.remark:
            reader.say(
                "reason-wanted",
                "`not ok` wants a reason",
                negative.start,
                negative.end,
                "add ` -- ` and what is wrong",
            )
    elif not reader.has("HOLLOW"):
        if len(groups) < 2 or len(groups[-1].tokens()) > 1:
            reader.say("unreadable", "the answer is missing", help="end it with `ok`, `not ok` or a word")
            return None
        answer = unquoted(groups[-1].tokens()[0].text).casefold()
        groups = groups[:-1]
    if len(groups) > 2:
        reader.say(
            "unreadable",
            "too many words: a look is WHAT, PLACES and one answer",
            groups[0].start,
            groups[-1].end,
        )
        return None
    places = reader.places(groups[1]) if len(groups) > 1 else ()
    return Look(reader.head(), reader.places(groups[0]), places, answer, mode)


def read_asked_look(reader: Reader) -> list[Requirement]:
    """`look WHATS [PLACES] [= ANSWER]`."""
    groups, answer = reader.nodes("group"), reader.node("answer")
    if len(groups) > 2:
        message = "too many words: a look is WHAT and PLACES; an answer that is wanted stands behind `=`"
        reader.say("unreadable", message, groups[2].start, groups[-1].end)
        return []
    wanted = (
        Limits(word=unquoted(answer.tokens()[0].text), text=reader.text_of(answer)) if answer else NO_LIMITS
    )
    places = tuple(place.name for place in reader.places(groups[1])) if len(groups) > 1 else ()
    return [
        one for what in reader.places(groups[0]) for one in asked(reader, "look", what.name, places, wanted)
    ]


def read_set(reader: Reader) -> Setting | None:
    """`set WHATS [PLACES] VALUE`: one value for every setting that is named, at every place."""
    groups, values = reader.nodes("group"), reader.node("values")
    secret = (
        token
        for token in groups[0].tokens()
        if any(word in _SECRETS for word in re.split(r"[-_./]", token.text.casefold()))
    )
    if (token := next(secret, None)) is not None:
        reader.say(
            "password",
            "passwords have no place in a log",
            token.start,
            token.end,
            "delete the line, and change the password",
        )
        return None
    quantity = None
    if values is not None:
        text, at = reader.text_of(values), (values.start, values.end)
        first, *more = values.nodes()
        if more:
            help = "a setting has one value; write a line for each setting"
            reader.say("wrong-count", "more than one value", more[0].start, more[-1].end, help)
            return None
        if any(token.type == "HOLLOW" for token in first.tokens()):
            return None  # a blank still to be filled in
        if len(first.tokens()) > 1 or any(character.isalpha() for character in text):
            quantity = reader.value(first)
            if quantity is None:
                return None
    elif moment := next(
        (part for part in reader.parts if isinstance(part, Token) and part.type in _MOMENTS), None
    ):
        text, at = moment.text, (moment.start, moment.end)
    elif len(groups) > 1:
        text, at = unquoted(reader.text_of(groups[-1])), (groups[-1].start, groups[-1].end)
        groups = groups[:-1]
    else:
        reader.say("unreadable", "the value is missing", help="for example: set firmware inverter 4.12")
        return None
    if len(groups) > 2:
        reader.say(
            "unreadable",
            "too many words: a setting is WHAT, PLACE and a value",
            groups[0].start,
            groups[-1].end,
        )
        return None
    places = reader.places(groups[1]) if len(groups) > 1 else ()
    return Setting(reader.head(), reader.places(groups[0]), places, text, quantity, at)


def read_asked_set(reader: Reader) -> list[Requirement]:
    """`set WHATS [PLACES] LIMIT`, `set WHATS [PLACES] WORD`, `set WHATS [PLACES] = "text"`."""
    groups, nodes = reader.nodes("group"), limit_nodes(reader)
    limits = limits_of(reader, nodes) if nodes and not _is_version(reader, nodes) else NO_LIMITS
    if nodes and limits == NO_LIMITS:
        limits = Limits(text=" ".join(reader.text_of(node) for node in nodes))
    elif quoted := [word for word in reader.words() if not nodes]:
        limits = Limits(word=quoted[-1], text=f'= "{quoted[-1]}"')
    elif not nodes and len(groups) > 1:
        word = unquoted(reader.text_of(groups[-1]))
        # Two words: what and where. Three, or a second one that is asked for by name: the wanted answer.
        if len(groups) > 2:
            groups, limits = groups[:-1], Limits(word=word, text=f"= {word}")
    if len(groups) > 2:
        message = "too many words: a setting is WHAT, PLACE and what it is to be"
        reader.say("unreadable", message, groups[2].start, groups[-1].end)
        return []
    places = tuple(place.name for place in reader.places(groups[1])) if len(groups) > 1 else ()
    return [
        each for what in reader.places(groups[0]) for each in asked(reader, "set", what.name, places, limits)
    ]


def _is_version(reader: Reader, nodes: list[Node]) -> bool:
    """Versions and plain numbers are compared piece by piece: 2.11 is later than 2.8."""
    return all(
        len(node.tokens()) <= 2 and not any(c.isalpha() for c in node.tokens()[-1].text) for node in nodes
    )


def observe_look(look: Look) -> Iterator[Draft]:
    """One answer for each thing looked at, at each place."""
    if look.answer or look.mode != "final":
        for seen in look.whats:
            for place in look.places or (Place("", seen.start, seen.end),):
                yield draft_at("look", seen.name, place, look.mode, look.answer)


def observe_set(setting: Setting) -> Iterator[Draft]:
    """Each setting, at each place."""
    value = ("final", setting.quantity, None, setting.value, (), *setting.at)
    for what in setting.whats:
        for place in setting.places or (Place("", what.start, what.end),):
            yield ("set", what.name, place.name, *value)


LOG_KINDS = (
    LogKind(
        "look",
        read_look,
        "look wall-sound ok",
        makes="look",
        observe=observe_look,
        waits=True,
        repeats=WITHOUT_REMARK,
    ),
    LogKind("set", read_set, "set firmware inverter 4.12", makes="set", observe=observe_set, waits=True),
)
SHEET_KINDS = (
    SheetKind(
        "look",
        read_asked_look,
        "answer",
        "look {about}  ___",
        "look wall-sound, ventilation",
        title="look",
        subject="looks",
        called="what",
        plain=True,
        unknown="place of what",
        replaces=True,
    ),
    SheetKind(
        "set",
        read_asked_set,
        "setting",
        "set {about}  ___{unit}",
        "set firmware inverter >= 4.10",
        title="setting",
        subject="settings",
        called="what",
        has_what=True,
        replaces=True,
    ),
)
