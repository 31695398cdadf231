"""Line → entry: what stands in a line, without knowing units, sheets or files."""

from sitelog.language.syntax.grammars import grammar, kinds
from sitelog.language.syntax.parser import kept_in, learn, learnt, parse_line, save_plans, use_cache
from sitelog.language.syntax.tokens import Entry, Fault, Node, Token

__all__ = [
    "Entry",
    "Fault",
    "Node",
    "Token",
    "grammar",
    "kept_in",
    "kinds",
    "learn",
    "learnt",
    "parse_line",
    "save_plans",
    "use_cache",
]
