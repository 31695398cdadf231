"""States: verdicts, and what else can be said of a row, as tokens of the hidden column `states`."""

from sitelog.ask.fields import Sql

VERDICTS = (
    "missing", "not-ok", "under", "over", "out-of-order", "too-soon", "reopened", "pre-only", "not-tested",
    "untraceable", "doubtful", "no-limit", "pass", "n/a",
)  # fmt: skip
FAILING = ("not-ok", "under", "over", "out-of-order", "too-soon")

# Words that a column may hold though nothing stored has them yet: asking for them is no slip.
VOCABULARY: dict[str, tuple[str, ...]] = {
    "verdict": VERDICTS,
    "severity": ("minor", "major", "danger"),
    "visit": ("install", "service", "removal"),
}

_TOKENS = {"passing": ("pass",), "failing": FAILING}


def state_sql(name: str) -> Sql:
    """The condition that a row has a state."""
    tokens = _TOKENS.get(name, (name,))
    tests = " OR ".join('instr(r."states", ?) > 0' for _ in tokens)
    return Sql(f"coalesce({tests}, 0)", tuple(f" {token} " for token in tokens))
