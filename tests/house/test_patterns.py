"""Patterns are those of `re`, whether they were kept or not."""

import ast
import re
from pathlib import Path

import pytest

from sitelog import kept_files, patterns

PACKAGE = Path(__file__).parents[2] / "sitelog"
ODD = [
    ("(?P<day>[0-9]{1,2})[/.-](?P<month>[0-9]+)", 0),
    (r'("[^"]*"|[^ \t"]++"?+)(?![^ \t])|[^ \t]', 0),
    (r"([+-]?\d+)([^\dx×*]*)[x×*](.*)", patterns.IGNORECASE | patterns.DOTALL),
    (r"^KIND_\w+.*ω$", patterns.MULTILINE),
]


def _written() -> list[tuple[str, int]]:
    """The patterns that stand in calls of `patterns.…` in the code, as far as they stand there whole."""
    trees = [ast.parse(file.read_text(encoding="utf-8")) for file in PACKAGE.rglob("*.py")]
    calls = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Call) and node.args]
    return [
        (call.args[0].value, 0)
        for call in calls
        if ast.unparse(call.func).startswith("patterns.") and isinstance(call.args[0], ast.Constant)
    ]


@pytest.fixture
def started(tmp_path, monkeypatch):
    """What begins anew, as a start does, with what is kept."""

    def start() -> None:
        monkeypatch.setattr(patterns, "_made", {})
        monkeypatch.setattr(patterns, "_kept", None)
        monkeypatch.setattr(patterns, "_new", [])

    before = kept_files.kept_in()
    kept_files.keep_in(str(tmp_path))
    start()
    yield start
    kept_files.keep_in(before)


def test_kept_patterns_are_those_of_re(started, monkeypatch):
    wanted = [*ODD, *_written()]
    assert len(wanted) > 15
    for pattern, flags in wanted:
        assert patterns.compile(pattern, flags) == re.compile(pattern, flags)
    patterns.save()
    started()
    monkeypatch.setattr(patterns, "_anew", lambda *key: pytest.fail(f"not kept: {key}"))
    for pattern, flags in wanted:
        made, same = patterns.compile(pattern, flags), re.compile(pattern, flags)
        assert made == same
        assert (made.groups, made.groupindex, made.flags) == (same.groups, same.groupindex, same.flags)
    assert patterns.match(*ODD[0][:1], "03/11").groupdict() == {"day": "03", "month": "11"}


@pytest.mark.parametrize("harm", ["cut", "foreign", "codes"])
def test_what_is_kept_wrongly_is_passed_over(started, tmp_path, harm):
    patterns.compile(*ODD[0])
    patterns.save()
    file = tmp_path / "patterns.codes"
    if harm == "cut":
        file.write_bytes(file.read_bytes()[:-3])
    elif harm == "foreign":
        kept_files.write(str(file), "another version", {ODD[0]: (32, (1, 2, 3), 0, {}, (None,))})
    else:
        version = patterns._version()
        kept_files.write(str(file), version, {ODD[0]: (32, (999, 2, 3), 2, {}, (None, None, None))})
    started()
    assert patterns.compile(*ODD[0]) == re.compile(*ODD[0])


def test_nothing_is_kept_where_nothing_shall_be(started, tmp_path):
    kept_files.keep_in("")
    assert patterns.fullmatch(r"\d+", "12") is not None
    patterns.save()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["", "M8 x 20", "a.b*c[d]-e\\f ^$|(?){+}#~&\t", "Ω·²"])
def test_escape_is_that_of_re(text):
    assert patterns.escape(text) == re.escape(text)


def test_the_others_are_those_of_re():
    assert patterns.IGNORECASE == re.IGNORECASE
    assert patterns.MULTILINE == re.MULTILINE
    assert patterns.DOTALL == re.DOTALL
    text = "a1 b22 c"
    assert patterns.findall(r"\d+", text) == re.findall(r"\d+", text)
    assert patterns.split(r"\d+", text) == re.split(r"\d+", text)
    assert patterns.search(r"b\d", text)[0] == "b2"
    assert [one[0] for one in patterns.finditer(r"\d", text)] == ["1", "2", "2"]
    assert patterns.sub(r"\d+", lambda found: f"<{found[0]}>", text) == "a<1> b<22> c"
