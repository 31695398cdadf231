"""Text against what a question asks: names, globs, ranges, groups, order."""

from collections.abc import Sequence

from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.fields import LISTS, PLACES, FieldRef, Param, Scope, Sql
from sitelog.asking.question.names import RangeError, continued, expand, glob_pattern, is_glob
from sitelog.asking.question.states import VOCABULARY
from sitelog.asking.question.tree import Word
from sitelog.notation.lookalikes import plain

_MOST_NAMES = 30_000  # the database takes some 32 000 parameters in one statement


def any_name(scope: Scope, found: FieldRef, words: Sequence[Word], *, groups: bool = False) -> Sql:
    """The condition that a text field is one of the names.

    With `groups`, `bracket` also stands for all `bracket-*` and `bracket/*`.
    """
    exact: list[str] = []
    globs: list[str] = []
    previous = ""
    known = _known(scope, found) if any(word.quoted or not is_glob(word.text) for word in words) else {}
    for word in words:
        text = word.text if word.quoted else continued(word.text, previous)
        if not word.quoted:
            previous = text
        if is_glob(text) and not word.quoted:
            globs.append(glob_pattern(text))
            continue
        names = (text,) if word.quoted else _expanded(text, word)
        if groups and len(names) == 1:
            globs += [glob_pattern(f"{text}-") + "*", glob_pattern(f"{text}/") + "*"]
            if any(name.startswith((f"{text.casefold()}-", f"{text.casefold()}/")) for name in known):
                continue
        if not any(name.casefold() in known for name in names):
            raise _nothing_has(scope, found, word, text)
        exact += [spelt for name in names for spelt in known.get(name.casefold(), (name,))]
    if len(exact) > _MOST_NAMES:
        raise QuestionError(
            "that is too many names at once", words[0].column, words[-1].end_column, "use a `*`"
        )
    if _has_spellings(scope, found):
        folded = [plain(name).casefold() for name in exact]
        tests, params = _tests(found.sql(), exact, globs)
        more, others = _spelling_tests(folded, globs)
        return Sql(f"coalesce({tests} OR {more}, 0)", params + others)
    is_list = (scope.subject.name, found.column.name) in LISTS
    tests, params = (_list_tests if is_list else _tests)(found.sql(), exact, globs)
    return Sql(f"coalesce({tests}, 0)", params, (f"({tests})", params))


def compared(found: FieldRef, op: str, text: str) -> Sql:
    """Text in its natural order: numbers in it by size, so that 2.3.12 is behind 2.3.9."""
    return Sql(f"{found.sql()} {op} ? COLLATE natural_order", (text,))


def contains(found: FieldRef, text: str) -> Sql:
    """The condition that a text field holds the text, in any letter case."""
    return Sql(f"coalesce(instr(fold({found.sql()}), fold(?)) > 0, 0)", (text,))


def _tests(column: str, exact: list[str], globs: list[str]) -> tuple[str, tuple[Param, ...]]:
    tests = [f"lower({column}) GLOB lower(?)" for _ in globs]
    if exact:
        tests.append(f"{column} COLLATE NOCASE IN ({', '.join('?' * len(exact))})")
    return " OR ".join(tests), (*globs, *exact)


_SAME = "same"  # the hidden column with the other names of a place, each between line feeds


def _has_spellings(scope: Scope, found: FieldRef) -> bool:
    """Whether the field is the place of rows of which some sheet has several names for a place."""
    own = any(column.name == _SAME for column in scope.subject.all_columns)
    return own and found.label in PLACES and bool(scope.known.names(_SAME))


def _spelling_tests(exact: list[str], globs: list[str]) -> tuple[str, tuple[Param, ...]]:
    tests = [f"lower(r.\"{_SAME}\") GLOB '*' || char(10) || lower(?) || char(10) || '*'" for _ in globs]
    tests += [f'instr(r."{_SAME}", char(10) || ? || char(10)) > 0' for _ in exact]
    return " OR ".join(f"coalesce({test}, 0)" for test in tests), (*globs, *exact)


def _list_tests(column: str, exact: list[str], globs: list[str]) -> tuple[str, tuple[Param, ...]]:
    """The same for a text that holds several names."""
    text = f"', ' || {column} || ', '"
    tests = [f"lower({text}) GLOB lower('*, ' || ? || ', *')" for _ in globs]
    tests += [f"instr(fold({text}), fold(', ' || ? || ', ')) > 0" for _ in exact]
    return " OR ".join(tests), (*globs, *exact)


def _expanded(text: str, word: Word) -> tuple[str, ...]:
    try:
        return expand(text)
    except RangeError as error:
        raise QuestionError(
            str(error), word.column, word.end_column, "a range is written `bracket-1..8`"
        ) from None


def _known(scope: Scope, found: FieldRef) -> dict[str, list[str]]:
    """The names of such a column as they are stored, by their plain characters in small letters."""
    known: dict[str, list[str]] = {}
    for name in sorted(_names(scope, found)):
        known.setdefault(plain(name).casefold(), []).append(name)
    return known


def _names(scope: Scope, found: FieldRef) -> set[str]:
    """Every name that is stored in such a column, or could be."""
    column = found.column.name
    stored = scope.known.names(column).union(VOCABULARY.get(f"{scope.subject.name}.{column}", ()))
    if any(column == name for _, name in LISTS):
        stored = frozenset(name for text in stored for name in text.split(", "))
    if _has_spellings(scope, found):
        spelt = scope.known.names(_SAME)
        stored |= frozenset(name for text in spelt for name in text.split("\n") if name)
    return {*stored, *VOCABULARY.get(column, ())}


def is_known(scope: Scope, found: FieldRef, word: Word) -> bool:
    """Whether anything stored has this name in such a column."""
    return is_glob(word.text) or word.text.casefold() in _known(scope, found)


def _nothing_has(scope: Scope, found: FieldRef, word: Word, text: str) -> QuestionError:
    names = sorted(_names(scope, found))
    written = sorted({*scope.known.names(found.column.name), *VOCABULARY.get(found.column.name, ())})
    otherwise = (
        f"there are {listed(written, 12)}" if names else f"nothing that was read has a `{found.label}`"
    )
    return QuestionError(
        f"nothing that was read has `{text}` as its `{found.label}`",
        word.column,
        word.end_column,
        did_you_mean(text, names, otherwise),
    )
