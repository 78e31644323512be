"""Work spread over processes, which Ctrl-C ends without a word from any of them, and done in one that makes much."""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import pickle
import signal
import tempfile
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from generator.problems import Lost

Item = TypeVar("Item")
Made = TypeVar("Made")

AHEAD = 4  # chunks on their way for each process


@contextlib.contextmanager
def seldom_collected() -> Iterator[None]:
    """Look for what hangs on to itself less often, and not among what is there already: little is made in circles, and
    that saves a tenth. Afterwards all is as before, for `live` builds again and again in one process."""
    before = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()


def spread(
    work: Callable[[Item], Made],
    items: Iterable[Item],
    *,
    processes: int | None = None,
    chunk: int = 1,
    begin: Callable[..., None] | None = None,
    given: tuple[Any, ...] = (),
    fresh: bool = False,
) -> Iterator[Made]:
    """work(item) of all items, in their order; begin(*given) once in each process, before all else.

    processes: how many, as a rule one a core; chunk: how many items are handed over at a time. No more than AHEAD
    chunks for each process are on their way, so that what is made does not pile up where it is taken more slowly.
    fresh: the processes inherit no memory; forked ones come to hold a copy of all that this one holds. Raises Lost.
    """
    method = os.environ.get("BENCHLORE_START_METHOD") or ("spawn" if fresh else None)
    context = multiprocessing.get_context(method)
    forked = context.get_start_method() == "fork"
    if not forked:
        _tracker_first()
    with (
        contextlib.nullcontext(given) if forked else _laid_down(given) as carried,
        contextlib.ExitStack() as ends,
    ):
        with _ctrl_c_held():  # else it may come when a lock is counted and nobody knows yet how it ends
            pool = ProcessPoolExecutor(processes, context, initializer=_begin, initargs=(begin, carried))
            ends.enter_context(pool)
        left = iter(items)
        under_way: deque[Future[list[Made]]] = deque()
        most = AHEAD * (processes or os.cpu_count() or 1)
        try:
            while True:
                while len(under_way) < most and (some := list(islice(left, chunk))):
                    with _ctrl_c_held():  # processes are started in this call
                        under_way.append(pool.submit(_each, work, some))
                if not under_way:
                    return
                yield from under_way.popleft().result()
        except (BrokenProcessPool, ConnectionError, EOFError):  # a process ended before it heard of its work
            pool.shutdown(cancel_futures=True)
            raise _ended() from None
        finally:
            for chunk_of_work in under_way:
                chunk_of_work.cancel()


def _each(work: Callable[[Item], Made], items: Sequence[Item]) -> list[Made]:
    return [work(item) for item in items]


def _ended() -> Lost:
    what = "one of the build's processes was killed (out of memory?)"
    return Lost(f"{what}; fewer need less: `benchlore site --processes 1`")


@contextlib.contextmanager
def _laid_down(given: tuple[Any, ...]) -> Iterator[Path]:
    """A file with what a new process is given. Where processes are not forked, the library writes to each through a pipe,
    and would wait for ever once one has died before it read more than the pipe holds (64 KiB on Linux)."""
    with tempfile.TemporaryDirectory(prefix="benchlore-") as place:
        file = Path(place) / "given"
        file.write_bytes(pickle.dumps(given, pickle.HIGHEST_PROTOCOL))
        yield file


def _tracker_first() -> None:
    """Where processes are not forked, a helper of the library is started with the first of them, and lets Ctrl-C in again
    while it is; so it is started before."""
    if os.name == "posix":
        from multiprocessing import resource_tracker

        resource_tracker.ensure_running()


@contextlib.contextmanager
def _ctrl_c_held() -> Iterator[None]:
    """Ctrl-C comes after the block; a process that is started in it never hears of it, for it is the parent that ends all."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin(begin: Callable[..., None] | None, given: tuple[Any, ...] | Path) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # it is the parent that ends all
    for name in ("SIGTERM", "SIGHUP"):  # which the parent may take for Ctrl-C
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, signal.SIG_DFL)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if begin is not None:
        begin(*(pickle.loads(given.read_bytes()) if isinstance(given, Path) else given))


def _end_with_parent() -> None:
    """A parent that was killed cannot end those who work for it, and they would wait for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
