"""Running the tests on a mutant, each in a process forked from one that has all but the mutated rooms loaded.

Linux and macOS only: it forks. The first run, on the code as it stands, notes which test runs which line, so
that a mutant is held against the tests that can see it and against no others.
"""

import ast
import contextlib
import importlib.abc
import importlib.machinery
import os
import signal
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import CodeType, FrameType, ModuleType

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ("sitelog/judging", "sitelog/physics")
FOLDERS = (
    "tests/judge",
    "tests/physics",
    "tests/trade",
    "tests/practice",
    "tests/examples",
    "tests/codes",
    "tests/trace",
    "tests/changes",
    "tests/trials",
    "tests/typing/test_start.py",
    "tests/ask/test_until.py",
    "tests/ask/test_registry.py",
    "tests/workspace",
)
_EXTRA = 20.0  # seconds to start, beside four times what the tests take

KILLED, SURVIVED, TOO_LONG = "killed", "survived", "too long"


class Coverage:
    """Which tests run which lines, and how long each takes: a pytest plugin of the first run."""

    def __init__(self) -> None:
        self.tests: dict[tuple[str, int], set[str]] = defaultdict(set)
        self.seconds: dict[str, float] = {}
        self._rooms = tuple(f"{ROOT / room}{os.sep}" for room in ROOMS)
        self._failed: set[str] = set()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """Trace one test, its fixtures too."""
        lines: set[tuple[str, int]] = set()

        def inside(frame: FrameType, event: str, _: object) -> object:
            lines.add((frame.f_code.co_filename, frame.f_lineno))
            return inside

        def enter(frame: FrameType, event: str, _: object) -> object:
            return inside(frame, event, _) if frame.f_code.co_filename.startswith(self._rooms) else None

        start = time.perf_counter()
        sys.settrace(enter)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            self.seconds[item.nodeid] = time.perf_counter() - start
            for name, line in lines:
                self.tests[os.path.relpath(name, ROOT), line].add(item.nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A test that fails or is skipped on the code as it stands tells nothing of a mutant."""
        if report.outcome != "passed":
            self._failed.add(report.nodeid)

    def seeing(self, path: str, lines: Sequence[int]) -> list[str]:
        """The tests that run one of some lines of a file, the quickest first."""
        found = set().union(*(self.tests.get((path, line), set()) for line in lines)) - self._failed
        return sorted(found, key=lambda test: self.seconds[test])

    def usable(self) -> list[str]:
        """Every test that passes, the quickest first."""
        return sorted(self.seconds.keys() - self._failed, key=lambda test: self.seconds[test])


class _Selected:
    """Only some tests, in a given order: a pytest plugin."""

    def __init__(self, tests: Sequence[str]) -> None:
        self._order = {test: at for at, test in enumerate(tests)}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep those that are asked for."""
        items[:] = sorted(
            (item for item in items if item.nodeid in self._order), key=lambda item: self._order[item.nodeid]
        )


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives out the mutant where its module is imported."""

    def __init__(self, path: str, code: CodeType) -> None:
        name = path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        self._name, self._path, self._code = name, ROOT / path, code

    def find_spec(self, name: str, path: object = None, target: object = None) -> object:
        """The place of the module, with this as its loader."""
        if name != self._name:
            return None
        spec = importlib.machinery.ModuleSpec(name, self, origin=str(self._path))
        spec.has_location = True
        if self._path.name == "__init__.py":
            spec.submodule_search_locations = [str(self._path.parent)]
        return spec

    def create_module(self, spec: object) -> None:
        """As usual."""

    def exec_module(self, module: ModuleType) -> None:
        """Run the mutant's code."""
        exec(self._code, module.__dict__)


def warm_up() -> None:
    """Load what every forked process needs, but none of the mutated rooms."""
    import hypothesis  # noqa: F401
    import lark  # noqa: F401

    from sitelog.language.syntax import parse_line
    from tests import corpora

    for path in sorted((ROOT / "tests" / "corpus").rglob("*.txt")):
        for case in corpora.read(path):
            role = next((word for word in case.attributes if word in ("sheet", "kit")), "log")
            for number, line in enumerate(case.parts[0].splitlines(), 1):
                parse_line(role, line, number)
    loaded = [name for name in sys.modules if name.replace(".", "/").startswith(ROOMS)]
    assert not loaded, f"would not be mutated: {loaded}"


def _pytest(arguments: Sequence[str], plugin: object) -> int:
    # hypothesis is loaded before pytest could have rewritten its asserts
    options = ["-q", "--hypothesis-seed=0", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
    return int(pytest.main([*options, *arguments], plugins=[plugin]))


def _forked(work: Callable[[], int], seconds: float) -> int | None:
    """The exit code of work done in a process of its own, without its output; None where it took too long."""
    child = os.fork()
    if child == 0:
        code = 3
        with contextlib.suppress(BaseException):
            os.setsid()
            quiet = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(quiet, stream)
            code = work()
        os._exit(code)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


def coverage_of(folders: Sequence[str] = FOLDERS) -> Coverage:
    """Run the tests on the code as it stands, and note what each of them runs."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "coverage"

        def work() -> int:
            coverage = Coverage()
            _pytest([*folders, f"--basetemp={folder}/tests"], coverage)
            path.write_text(
                repr((dict(coverage.tests), coverage.seconds, coverage._failed)), encoding="utf-8"
            )
            return 0

        if _forked(work, 1800) != 0:
            raise RuntimeError("the tests could not be run on the code as it stands")
        coverage = Coverage()
        tests, coverage.seconds, coverage._failed = ast.literal_eval(path.read_text(encoding="utf-8"))
        coverage.tests.update(tests)
    return coverage


def verdict(path: str, tree: ast.Module, tests: Sequence[str], seconds: float) -> str:
    """What the tests make of a mutated file: killed, survived or too long (which kills too)."""
    if not tests:
        return SURVIVED
    code = compile(tree, str(ROOT / path), "exec")
    files = sorted({test.split("::", 1)[0] for test in tests})

    def work() -> int:
        sys.meta_path.insert(0, _Mutated(path, code))
        with tempfile.TemporaryDirectory() as folder:
            arguments = ["-x", "--no-header", "--tb=no", f"--basetemp={folder}/tests", *files]
            return _pytest(arguments, _Selected(tests))

    code_of_end = _forked(work, 4 * seconds + _EXTRA)
    if code_of_end is None:
        return TOO_LONG
    return SURVIVED if code_of_end in (0, 5) else KILLED
