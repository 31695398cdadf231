"""Where the grammars are: beside the package's modules when installed, one level up in a checkout."""

import os

_PACKAGE = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))


def grammar_text(name: str) -> str:
    """The text of `grammar/<name>`, such as `query.lark`; FileNotFoundError where there is none."""
    path = os.path.join(_PACKAGE, "grammar", name)
    if not os.path.isfile(path):
        path = os.path.join(os.path.dirname(_PACKAGE), "grammar", name)
    with open(path, encoding="utf-8") as stream:
        return stream.read()
