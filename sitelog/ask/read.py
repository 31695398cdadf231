"""Reading a question: characters made plain, the grammar, and errors in plain words."""

from sitelog.ask.errors import QuestionError
from sitelog.ask.tree import Question

MAX_LENGTH = 10_000  # characters; a question is one line that a person wrote
MAX_DEPTH = 50  # brackets within brackets

# One character for one, so that columns stay: what phones and word processors make of plain ones.
_PLAIN = str.maketrans(
    {
        "“": '"',
        "”": '"',
        "„": '"',
        "«": '"',
        "»": '"',
        "−": "-",
        "×": "*",
        "·": "·",
        "º": "°",
        "\t": " ",
        "\n": " ",
        "\r": " ",
        "\u00a0": " ",
        "\u2009": " ",
        "\u202f": " ",
        "\ufeff": " ",
    }
)


def parse(question: str) -> Question:
    """The question as a tree; raises QuestionError where it is none."""
    from lark import UnexpectedCharacters, UnexpectedToken

    from sitelog.ask.build import RepeatedShapeError, build
    from sitelog.ask.expected import unexpected_character, unexpected_token
    from sitelog.ask.grammar import parser

    text = plain(question)
    _check_size(text)
    try:
        return build(parser().parse(text), question)
    except RecursionError:
        raise too_much(question) from None
    except UnexpectedToken as error:
        raise unexpected_token(text, error) from None
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


def plain(question: str) -> str:
    """The question with look-alike characters made plain and without a question mark at its end."""
    text = question.translate(_PLAIN).rstrip()
    return text.rstrip("?.") if text.endswith(("?", ".")) and not text.endswith("..") else text


def too_much(question: str) -> QuestionError:
    """The error for a question that holds more conditions or brackets than can be worked through."""
    return QuestionError("this is too much for one question", 1, len(question) + 1, "ask in several steps")


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
    depth = 0
    for column, character in enumerate(text, 1):
        depth += (character == "(") - (character == ")")
        if depth > MAX_DEPTH:
            raise QuestionError(f"brackets stand more than {MAX_DEPTH} deep", column, column + 1)
