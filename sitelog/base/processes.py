"""Pieces of work done on several processors, their results in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, TypeVar

    Piece = TypeVar("Piece")
    Result = TypeVar("Result")


_here: Callable[[Any], Any] | None = None


def each(
    here: Callable[[Piece], Result],
    apart: Callable[[Piece], Result],
    pieces: Sequence[Piece],
    processors: int,
    made: Callable[..., Callable[[Piece], Result]],
    told: tuple[Any, ...],
) -> Iterator[Result]:
    """What comes of every piece: `here` in this process, `apart` in others where there are processors.

    A forked process knows what this one has learnt, `apart` too. Where processes cannot be forked, each makes
    its own as `made(*told)`. Where one is ended from outside, this process goes on alone.
    """
    global _here
    done = 0
    if processors > 1:
        from concurrent.futures import ProcessPoolExecutor
        from concurrent.futures.process import BrokenProcessPool
        from multiprocessing import active_children, get_all_start_methods, get_context

        others = active_children()
        way = get_context("fork" if get_all_start_methods()[0] == "fork" else "spawn")
        _here = apart
        pool = ProcessPoolExecutor(processors, way, _begin, (made, told))
        try:
            with _undisturbed():  # this starts the processes
                results = pool.map(_done, pieces)
            for result in results:
                done += 1
                yield result
        except BrokenProcessPool:
            pass  # for want of memory perhaps
        except BaseException:  # stopped: and one of them may wait for ever, at a pipe that nobody writes to
            for process in active_children():
                if process not in others:
                    process.terminate()
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
            _here = None
    for piece in pieces[done:]:
        yield here(piece)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Control-C waits: a process that it met half started would leave the others waiting for ever."""
    import signal

    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin(made: Callable[..., Callable[[Any], Any]], told: tuple[Any, ...]) -> None:
    """Get a process ready; a forked one is."""
    import gc
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process is told too, and ends the others
    gc.disable()
    global _here
    if _here is None:
        _here = made(*told)


def _done(piece: Any) -> Any:
    assert _here is not None
    return _here(piece)
