"""Fields: from the word in a question to a column of the store, by the registry of subjects."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.tree import Word
from sitelog.asking.subjects import COMMON, Column, Subject
from sitelog.base.frozen import NamedTuple

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol
else:
    Protocol = object

Param = str | int | float


class Sql(NamedTuple):
    """A piece of SQL and the values of its `?`, in order.

    Of a condition, `sought` is one that is true for the same rows, false or unknown for all others, and such
    that an index can find them.
    """

    text: str
    params: tuple[Param, ...] = ()
    sought: tuple[str, tuple[Param, ...]] | None = None

    @property
    def where(self) -> Sql:
        """The condition for a WHERE clause, which takes what is unknown for a no."""
        return Sql(*self.sought) if self.sought is not None else self


class StoredNames(Protocol):
    """What is stored, as far as a question needs it to tell a slip from an empty answer."""

    def names(self, column: str) -> frozenset[str]:
        """Every text stored in the columns of this name, over all subjects."""

    def kinds(self, subject: str, column: str, what: str) -> frozenset[str]:
        """Every quantity kind stored in a column, of the rows of one `what` (of all where empty)."""

    def states(self, subject: str) -> frozenset[str]:
        """Every text stored in the column `states` of a subject; none where no index has them."""


class Scope(NamedTuple):
    """What a question is compiled against.

    With `censored` a value such as `>999 MΩ` decides only what it can; without, it counts as its
    number: the difference between the two is what could not be decided.
    """

    subject: Subject
    subjects: Mapping[str, Subject]
    today: date
    known: StoredNames
    what: str = ""
    censored: bool = True


class FieldRef(NamedTuple):
    """A column as SQL sees it: `before` and `after` stand around its quoted name."""

    column: Column
    label: str
    before: str = 'r."'
    after: str = '"'

    def sql(self, part: str = "") -> str:
        """The column, or one of the parts of a quantity: `number`, `unit`, `bound`, `kind`."""
        return f"{self.before}{self.column.name}{'_' + part if part else ''}{self.after}"


# `tool.due` leads from a row to the tool it was made with: field -> subject and the fields in common.
_LINKS = {"tool": ("tools", ("tool", "kit")), "site": ("sites", ("site",))}

# Texts that hold several names, with a comma and a blank between them.
LISTS = frozenset(
    {
        ("sites", "sheet"),
        ("sites", "sheets"),
        ("steps", "before"),
        ("steps", "after"),
        ("stages", "waits_for"),
    }
)

# The fields that a clause speaks of; the first that the subject has is taken.
PLACES = ("place", "points", "part", "step")
_DAYS = ("opened", "since", "day")


def find_field(scope: Scope, name: str) -> FieldRef | None:
    """The field of that name, in any letter case, or None."""
    folded = name.lower()
    for column in scope.subject.all_columns:
        if column.name == folded and not column.hidden:
            return FieldRef(column, folded)
    owner, dot, rest = folded.partition(".")
    return _linked(scope, owner, rest) if dot else None


def _linked(scope: Scope, owner: str, name: str) -> FieldRef | None:
    if _LINKS.get(owner, ("",))[0] == scope.subject.name:
        return find_field(scope, name)  # the due date of a tool among tools is its own
    flat = f"{owner}_{name}"
    for column in scope.subject.all_columns:
        if column.name == flat:  # such as the hidden `tool_due`: true on the day of the row
            return FieldRef(column, f"{owner}.{name}")
    subject, keys = _LINKS.get(owner, ("", ()))
    if subject not in scope.subjects:
        return None
    target = scope.subjects[subject]
    mine = {column.name for column in scope.subject.all_columns}
    for column in target.all_columns:
        if column.name == name and not column.hidden and mine.issuperset(keys):
            same = " AND ".join(f't."{key}" IS r."{key}"' for key in keys)
            return FieldRef(
                column, f"{owner}.{name}", '(SELECT t."', f'" FROM "{subject}" AS t WHERE {same} LIMIT 1)'
            )
    return None


def field(scope: Scope, word: Word) -> FieldRef:
    """The field a word names; QuestionError with the nearest one where there is none."""
    found = None if word.quoted else find_field(scope, word.text)
    if found is None:
        raise no_field(scope, word)
    return found


def no_field(scope: Scope, word: Word) -> QuestionError:
    """The error for a word that is no field of the subject."""
    names = field_names(scope.subject)
    otherwise = f"its fields are {listed(names, 40)}"
    if word.text.lower() in _COMMON and (owners := _owners(scope, word.text.lower())):
        otherwise = f"it is a field of {listed(owners, MOST_OWNERS)}; {otherwise}"
        return QuestionError(
            f"{scope.subject.name} have no field `{word.text}`", word.column, word.end_column, otherwise
        )
    for sign in "*/+-":
        parts = word.text.split(sign)
        if len(parts) > 1 and all(part in names or part[:1].isdigit() for part in parts):
            otherwise = f"put blanks around the `{sign}`"
            break
    else:
        otherwise = did_you_mean(word.text, names, otherwise)
    return QuestionError(
        f"{scope.subject.name} have no field `{word.text}`", word.column, word.end_column, otherwise
    )


MOST_OWNERS = 6
"""Subjects that a help line names for what another does not have."""

_COMMON = frozenset(column.name for column in COMMON if not column.hidden)


def _owners(scope: Scope, name: str) -> list[str]:
    """The subjects that have a field of this name."""
    return [subject.name for subject in scope.subjects.values() if name in field_names(subject)]


def field_names(subject: Subject) -> list[str]:
    """The names of the fields that can be asked for."""
    return [column.name for column in subject.all_columns if not column.hidden]


def place_field(scope: Scope) -> FieldRef | None:
    """The field that `in` speaks of: the place, the points, the part or the step."""
    return _first(scope, PLACES)


def day_field(scope: Scope) -> FieldRef | None:
    """The field that `since`, `on`, `older than` speak of."""
    return _first(scope, _DAYS)


def _first(scope: Scope, names: tuple[str, ...]) -> FieldRef | None:
    return next(filter(None, (find_field(scope, name) for name in names)), None)


def kind_of(scope: Scope, found: FieldRef) -> str:
    """The quantity kind of a field: one kind, `?` where it differs from row to row."""
    if found.column.kind:
        return found.column.kind
    kinds = stored_kinds(scope, found)
    return next(iter(kinds)) if len(kinds) == 1 else "?"


def stored_kinds(scope: Scope, found: FieldRef) -> frozenset[str]:
    """The kinds that a field's values have in what is stored."""
    if found.column.kind:
        return frozenset((found.column.kind,))
    return scope.known.kinds(scope.subject.stored, found.column.name, scope.what)
