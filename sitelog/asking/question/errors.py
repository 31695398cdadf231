"""What is wrong with a question, and the nearest word that would have worked."""

from collections.abc import Iterable


class QuestionError(Exception):
    """A question that cannot be answered. Columns count from 1, in characters; the end is exclusive."""

    def __init__(self, message: str, column: int, end_column: int, help: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.column = column
        self.end_column = end_column
        self.help = help


def nearest(word: str, candidates: Iterable[str]) -> str:
    """The candidate that is spelt most like the word, or an empty text where none comes near."""
    from difflib import get_close_matches

    by_folded = {candidate.casefold(): candidate for candidate in sorted(candidates)}
    found = get_close_matches(word.casefold(), by_folded, 1, 0.6)
    return by_folded[found[0]] if found else ""


def did_you_mean(word: str, candidates: Iterable[str], otherwise: str = "") -> str:
    """A help line naming the nearest candidate; else `otherwise`."""
    found = nearest(word, candidates)
    return f"did you mean `{found}`?" if found else otherwise


def listed(words: Iterable[str], most: int = 24) -> str:
    """Words for a help line: `a`, `b`, `c`, and how many more there are."""
    items = [f"`{word}`" for word in words]
    more = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + more
