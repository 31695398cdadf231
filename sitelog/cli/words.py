"""Plain command lines, understood without argparse, which takes longer to load than a log to be read.

A command declares its arguments once, to whatever parser it is given. `Plain` takes them in place of
argparse's and gives what argparse would give where the words are plain: whole names of options, each value a
word of its own. Whatever else stands there (help, slips, `--name=value`, short names run together) it leaves
to argparse.
"""

from __future__ import annotations

from types import SimpleNamespace

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

_ACTIONS = ("store", "store_true")
_KNOWN = {"action", "choices", "default", "dest", "help", "metavar", "nargs", "required", "type"}


class Plain:
    """The arguments of a command, declared as to an `argparse.ArgumentParser`."""

    def __init__(self) -> None:
        self._options: dict[str, dict[str, Any]] = {}
        self._places: list[dict[str, Any]] = []
        self._is_plain = True  # nothing was declared that only argparse understands

    def add_argument(self, *names: str, **how: Any) -> None:
        """One argument, as argparse takes it."""
        of_option = names[0].startswith("-")
        how = {"action": "store", "default": None, "nargs": None, "required": False, **how}
        if of_option:
            long = next((name for name in names if name.startswith("--")), names[0])
            how.setdefault("dest", long.lstrip("-").replace("-", "_"))
            if how["action"] == "store_true":
                how["default"] = False
            self._options |= dict.fromkeys(names, how)
            odd = how["nargs"] is not None or how["action"] not in _ACTIONS
        else:
            how["dest"] = names[0]
            before = self._places[-1]["nargs"] if self._places else None
            odd = how["nargs"] not in (None, "?", "*") or (before is not None and how["nargs"] is None)
            odd = odd or before == "*" or how["action"] != "store"
            self._places.append(how)
        odd = odd or not how.keys() <= _KNOWN or (isinstance(how["default"], str) and "type" in how)
        self._is_plain = self._is_plain and not odd

    def understood(self, words: list[str]) -> SimpleNamespace | None:
        """What the words say; None where argparse is to be asked."""
        if not self._is_plain:
            return None
        given: dict[str, Any] = {}
        free: list[str] = []
        left = iter(words)
        for word in left:
            if not word.startswith("-") or word == "-":
                free.append(word)
                continue
            how = self._options.get(word)
            if how is None:
                return None
            if how["action"] == "store_true":
                given[how["dest"]] = True
                continue
            value = next(left, "-")
            if value.startswith("-") or not _taken(how, [value], given):
                return None
        for how in self._places:
            most = {None: 1, "?": 1, "*": len(free)}[how["nargs"]]
            mine, free = free[:most], free[most:]
            if not mine and how["nargs"] is None:
                return None
            if mine and not _taken(how, mine, given):
                return None
        if free or any(how["required"] and how["dest"] not in given for how in self._options.values()):
            return None
        for how in (*self._options.values(), *self._places):
            nothing = [] if how["nargs"] == "*" and how["default"] is None else how["default"]
            given.setdefault(how["dest"], nothing)
        return SimpleNamespace(**given)


def _taken(how: dict[str, Any], words: list[str], given: dict[str, Any]) -> bool:
    """Add the values of one argument to `given`; False where its words are no values that it takes."""
    read = how.get("type", str)
    try:
        values = [read(word) for word in words]
    except Exception:  # whatever is wrong with it: argparse reads it again, and says so
        return False
    if "choices" in how and any(value not in how["choices"] for value in values):
        return False
    given[how["dest"]] = values if how["nargs"] == "*" else values[0]
    return True
