"""Pieces of work done on several processors, their results in order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Protocol, TypeVar

    Piece = TypeVar("Piece", contravariant=True)
    Result = TypeVar("Result", covariant=True)
    AnyPiece = TypeVar("AnyPiece")
    AnyResult = TypeVar("AnyResult")

    class Worker(Protocol[Piece, Result]):
        """What works on pieces. Where processes cannot be forked, each gets its own by `__reduce__`."""

        def begin(self) -> None:
            """Get ready in another process; called there once, before the first piece."""

        def here(self, piece: Piece) -> Result:
            """The result of a piece, in the first process."""

        def apart(self, piece: Piece) -> Result:
            """The same in another process, from which it is sent back."""


_worker: Worker[Any, Any] | None = None


def each(
    worker: Worker[AnyPiece, AnyResult], pieces: Sequence[AnyPiece], processors: int
) -> Iterator[AnyResult]:
    """The result of every piece: by `here` in this process, by `apart` in others where there are processors.

    A forked process knows what this one has learnt. Where one is ended from outside, this process goes on
    alone. Control-C ends them all.
    """
    done = 0
    if processors > 1:
        from concurrent.futures import ProcessPoolExecutor
        from concurrent.futures.process import BrokenProcessPool
        from multiprocessing import active_children, get_all_start_methods, get_context

        others = active_children()
        way = get_context("fork" if get_all_start_methods()[0] == "fork" else "spawn")
        pool = ProcessPoolExecutor(processors, way, _begin, (worker,))
        try:
            with _undisturbed():  # this starts the processes
                results = pool.map(_apart, pieces)
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
    for piece in pieces[done:]:
        yield worker.here(piece)


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


def _begin(worker: Worker[Any, Any]) -> None:
    """Get a process ready; a forked one has this worker, another was sent one."""
    import gc
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process gets it too, and ends the others
    gc.disable()
    global _worker
    _worker = worker
    worker.begin()


def _apart(piece: Any) -> Any:
    assert _worker is not None
    return _worker.apart(piece)
