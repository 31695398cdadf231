"""Reading a question: characters made plain, the grammar, and errors in plain words."""

import re
from collections.abc import Collection, Mapping

from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.tree import Question, Word
from sitelog.asking.subjects import Subject
from sitelog.notation import lookalikes

MAX_LENGTH = 10_000  # characters; a question is one line that a person wrote
MAX_DEPTH = 50  # brackets within brackets

# A question is one line, and its only times sign is `*`.
_OF_A_QUESTION = str.maketrans("\t\n\r\u00d7", "   *")


def parse(question: str, subjects: Collection[str] = ()) -> Question:
    """The question as a tree; raises QuestionError where it is none.

    With the names of the subjects, a question that asks for none of them is refused for that first.
    """
    from sitelog.asking.question.cache import find, keep
    from sitelog.asking.question.grammar import cache_folder

    cached = find(cache_folder(), question)
    if cached is not None:
        return cached
    tree = _parsed(question, subjects)
    keep(cache_folder(), tree)
    return tree


def _parsed(question: str, subjects: Collection[str]) -> Question:
    from lark import UnexpectedCharacters, UnexpectedToken

    from sitelog.asking.question.build import RepeatedShapeError, build
    from sitelog.asking.question.expected import unexpected_character, unexpected_token
    from sitelog.asking.question.grammar import parser

    text = plain(question)
    _check_size(text)
    try:
        return build(parser().parse(text), question)
    except RecursionError:
        raise too_much(question) from None
    except UnexpectedToken as error:
        column = error.column
        known = (
            _no_field(text, column, subjects)
            or _no_subject(text, column, subjects)
            or _no_what(text, column, subjects)
        )
        raise known or unexpected_token(text, error) from None
    except UnexpectedCharacters as error:
        raise unexpected_character(text, error.column) from None
    except RepeatedShapeError as error:
        word = error.word
        raise QuestionError(
            f"`{word.text}` is said twice",
            word.column,
            word.end_column,
            f"put everything behind one `{word.text}`, with commas",
        ) from None


_SUBJECT = (
    r"(?i) *(?:(?:count|share|(?:sum|least|greatest|mean|median|spread|oldest|newest) +[^ ]+) +)?(?:of +)?"
    r"(?:history +(?:of +)?)?"
    r"([^ ,()\"<>=!]+)(?= |$)"
)


def _no_subject(text: str, column: int, subjects: Collection[str]) -> QuestionError | None:
    """The error for a question such as `how many joints`, which fails behind a word that is no subject."""
    found = re.match(_SUBJECT, text)
    if not subjects or found is None or found[1].lower() in subjects or column <= found.end():
        return None
    message = f"there is nothing called `{found[1]}` to ask for"
    help = did_you_mean(found[1], subjects, f"ask for {listed(subjects)}")
    if found[1].lower() == "select":
        message, help = "this is SQL and no question", "SQL stands behind `--sql`"
    return QuestionError(message, found.start(1) + 1, found.end() + 1, help)


def _no_what(text: str, column: int, subjects: Collection[str]) -> QuestionError | None:
    """The error for `joints undr torque`, which fails behind a word that could have been a WHAT."""
    found = re.match(_SUBJECT, text)
    if found is None or not isinstance(subjects, Mapping):
        return None
    subject = subjects.get(found[1].lower())
    word = re.compile(_WORD).match(text, found.end())
    if subject is None or word is None or column <= word.end() or is_keyword(word[1]):
        return None
    return no_such_word(subject, Word(word[1], word.start(1) + 1, word.end() + 1))


def is_keyword(text: str) -> bool:
    """Whether questions use the word themselves."""
    from sitelog.asking.question.grammar import spellings

    return text.lower() in spellings().values()


def no_such_word(subject: Subject, word: Word) -> QuestionError | None:
    """The error for a word behind a subject that takes none; None where it takes one (`readings soc`)."""
    if any(column.name == "what" for column in subject.all_columns):
        return None
    from sitelog.asking.question.grammar import spellings

    keywords = [spelling for spelling in spellings().values() if spelling.isascii() and len(spelling) > 1]
    message = f"`{word.text}` cannot stand here"
    return QuestionError(message, word.column, word.end_column, did_you_mean(word.text, keywords))


_WORD = r" +([^ ,()\"<>=!]+)(?= |$)"
_FIELD = r"(?i) *(sum|least|greatest|mean|median|spread|oldest|newest) +([^ ,()\"<>=!]+)(?= |$)"


def _no_field(text: str, column: int, subjects: Collection[str]) -> QuestionError | None:
    """The error for `oldest defects open`: the function says of which field."""
    found = re.match(_FIELD, text)
    if found is None or found[2].lower() not in subjects or column <= found.end():
        return None
    return no_measured_field(found[1], Word(found[2], found.start(2) + 1, found.end() + 1))


def no_measured_field(name: str, subject: Word) -> QuestionError:
    """The error for a subject that stands where a function wants its field."""
    example = "oldest day of joints" if name.lower() in ("oldest", "newest") else "least value of joints"
    message = f"`{name}` wants a field before `{subject.text}`"
    return QuestionError(message, subject.column, subject.end_column, f"such as `{example}`")


def plain(question: str) -> str:
    """The question with look-alike characters made plain and without a question mark at its end."""
    text = lookalikes.plain(question).translate(_OF_A_QUESTION).rstrip()
    return text.rstrip("?.") if text.endswith(("?", ".")) and not text.endswith("..") else text


def too_much(question: str) -> QuestionError:
    """The error for a question that holds more conditions or brackets than can be worked through."""
    return QuestionError("this is too much for one question", 1, len(question) + 1, "ask in several steps")


_OPEN_QUOTE = r"(?i) has +('[^']*)$"  # elsewhere a name may begin so


def _check_size(text: str) -> None:
    if not text.strip():
        raise QuestionError(
            "there is no question", 1, 2, "begin with what you ask for, such as `joints under torque`"
        )
    for column, character in enumerate(text, 1):
        if "\ud800" <= character <= "\udfff":  # half a character, left over from bytes that were no text
            raise QuestionError("the question is no readable text here", column, column + 1, "type it again")
    if len(text) > MAX_LENGTH:
        raise QuestionError(f"a question has at most {MAX_LENGTH} characters", MAX_LENGTH, MAX_LENGTH + 1)
    if open_quote := re.search(_OPEN_QUOTE, text):
        column = open_quote.start(1) + 1
        raise QuestionError("this quote is not closed", column, len(text) + 1, "put a `'` behind the text")
    depth = 0
    for column, character in enumerate(text, 1):
        depth += (character == "(") - (character == ")")
        if depth > MAX_DEPTH:
            raise QuestionError(f"brackets stand more than {MAX_DEPTH} deep", column, column + 1)
