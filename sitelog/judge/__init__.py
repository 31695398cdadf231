"""What stands → verdicts."""

from sitelog.judge.judge import Judge
from sitelog.judge.results import Result

__all__ = ["Judge", "Result"]
