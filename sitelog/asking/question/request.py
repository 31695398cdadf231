"""What a question asks for: its subject or the history of it, and the day whose state it asks about."""

from collections.abc import Mapping
from datetime import date

from sitelog.asking.question.errors import QuestionError, did_you_mean, listed
from sitelog.asking.question.read import no_measured_field, no_such_word, parse
from sitelog.asking.question.selecting import as_of
from sitelog.asking.question.tree import Question, Word
from sitelog.asking.subjects import HISTORIES, SUBJECTS, Subject
from sitelog.base.frozen import NamedTuple


class Request(NamedTuple):
    """A question with what has to be at hand to answer it.

    `subject` is the history of a subject where the question asks for that; `subjects` are all that there
    are; `day` is the day of `as of`, else the day on which the question is asked.
    """

    question: Question
    subject: Subject
    subjects: Mapping[str, Subject]
    day: date

    @property
    def history(self) -> str:
        """The subject whose history is asked; empty where what stands is asked."""
        return self.subject.name if self.question.history is not None else ""


def request_of(question: str | Question, today: date, subjects: Mapping[str, Subject] = SUBJECTS) -> Request:
    """What a question asks for on a day; a text is parsed.

    Raises `QuestionError` where it is no question, or asks for what there is not.
    """
    tree = parse(question, subjects) if isinstance(question, str) else question
    subject = _subject(tree, subjects)
    if tree.history is not None:
        subject = _history(tree.history, subject)
    if tree.what is not None and (wrong := no_such_word(subject, tree.what)) is not None:
        raise wrong
    return Request(tree, subject, subjects, as_of(tree, today) or today)


def _subject(question: Question, subjects: Mapping[str, Subject]) -> Subject:
    word, measure = question.subject, question.measure
    found = subjects.get(word.text.lower())
    if found is None:
        measured = measure.field if measure is not None else None
        if measure is not None and measured is not None and measured.text.lower() in subjects:
            raise no_measured_field(measure.name, measured)  # `least readings insulation`
        raise QuestionError(
            f"there is nothing called `{word.text}` to ask for",
            word.column,
            word.end_column,
            did_you_mean(word.text, subjects, f"ask for {listed(subjects)}"),
        )
    return found


def _history(word: Word, subject: Subject) -> Subject:
    found = HISTORIES.get(subject.name)
    if found is None:
        raise QuestionError(
            f"{subject.name} have no history of their own",
            word.column,
            word.end_column,
            f"each is a row already, or `entries` has it; a history have {listed(HISTORIES)}",
        )
    return found
