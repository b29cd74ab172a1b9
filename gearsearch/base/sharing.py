"""Long work shared out in slices: on every core here or on any executor, in order, with progress, stopped by Ctrl-C.

A task is a function of one item that hangs on nothing else, so that wherever it runs the results are the same. What it
needs besides, such as every train of a box, belongs to a ``Remade`` object, whose method it is.
"""

from __future__ import annotations

import hashlib
import os
import signal
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sized
from concurrent.futures import (
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import islice
from multiprocessing import get_context, parent_process
from pathlib import Path
from pickle import dumps as pickled
from pickle import loads as unpickled
from typing import Any, TypeVar

from .cluster import Cluster
from .errors import GearsearchError
from .kept import SliceLog
from .progress import Progress

T = TypeVar("T")
R = TypeVar("R")
_AHEAD = 3  # lots for each worker that are begun or wait: bounds the results held, and what an interrupt leaves
_LOT_SECONDS = 0.3  # items are sent several at once, so that sending them costs little; Ctrl-C waits about as long
_MOST_IN_A_LOT = 256
_HANDS = 16  # workers of an executor that does not tell
_MOST_HELD = 4  # objects remade in one process, the last ones used


class Remade:
    """An object that a process elsewhere makes again from little, once, and keeps for the tasks that follow.

    Pickled, it is nothing but ``made_from``: a slice of the work carries some thousand bytes, not the trains.
    """

    def made_from(self) -> tuple[Callable[..., object], tuple[object, ...]]:
        """What makes the same object again: a function and what it is called with, all of which can be pickled."""
        raise NotImplementedError

    def __reduce__(self) -> tuple[object, ...]:
        try:
            made = self.__dict__["_made_from"]
        except KeyError:
            made = self.__dict__["_made_from"] = pickled(self.made_from())
        return _remade, (made, code_digest())


_held: OrderedDict[bytes, object] = OrderedDict()
_holding = threading.RLock()


def _remade(made_from: bytes, code: str) -> object:
    """The object of these bytes, made where this process has not got it yet."""
    if code != code_digest():
        raise GearsearchError(
            "a worker runs another version of gearsearch",
            "install the same version on every machine, and start the workers again",
            code="other-version",
        )
    with _holding:
        if made_from not in _held:
            function, values = unpickled(made_from)
            _held[made_from] = function(*values)
        _held.move_to_end(made_from)
        while len(_held) > _MOST_HELD:
            _held.popitem(last=False)
        return _held[made_from]


@cache
def code_digest() -> str:
    """A word that changes with every file of the package: what another version may work out otherwise."""
    top = Path(__file__).parents[1]
    files = sorted(path for path in top.rglob("*") if path.suffix in (".py", ".toml"))
    whole = hashlib.sha256()
    for path in files:
        whole.update(path.relative_to(top).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return whole.hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Crew:
    """Who does long work.

    Parameters
    ----------
    executor : where tasks run, such as a process pool; None: threads of this process, one for each core, which begin
        at once and need no guarded main module, though two of them may be no quicker than one
    """

    executor: Executor | None = None

    def __post_init__(self) -> None:
        if self.executor is not None and not hasattr(self.executor, "submit"):
            raise GearsearchError(
                f"{type(self.executor).__name__} is no executor",
                "give one of concurrent.futures, or a gearsearch.Cluster",
                code="wrong-type",
            )

    def share(
        self,
        what: str,
        task: Callable[[T], R],
        items: Iterable[T],
        weight: Callable[[T], float] = lambda _: 1,
        total: float | None = None,
        log: SliceLog | None = None,
    ) -> Generator[R, None, None]:
        """Give the result of the task for each item, in the order of the items.

        Parameters
        ----------
        what : what is being done, for the line of progress
        task : works on one item; its compiled loops let go of the interpreter, so that cores really share the work
        items : what to work on, each taken when its turn is near; of about equal cost
        weight, total : how much of the work an item is, and the whole; None: the number of items
        log : keeps what is done, and gives what was done before

        Memory: the results of a few lots for each worker. An exception of a task, or Ctrl-C, ends the work: lots that
        have begun are finished, the others never begin. Raises GearsearchError where a worker dies.
        """
        length = len(items) if isinstance(items, Sized) else None
        whole = total if total is not None else length or 0
        with Progress(what, whole) as progress, self._at_work() as (executor, hands):
            lots, waiting = _Lots(items, length, hands, log), deque[tuple[_Lot, Future[tuple[list[R], float]]]]()
            done, sent = 0.0, task if isinstance(executor, ThreadPoolExecutor | Growing) else pickled(task)
            try:
                while True:
                    while len(waiting) < _AHEAD * hands() and (lot := lots.next()):
                        future = _known(lot.found) if lot.found else executor.submit(_each, sent, lot.items)
                        waiting.append((lot, future))
                    if not waiting:
                        return
                    lot, future = waiting.popleft()
                    if isinstance(executor, Cluster):
                        executor.await_result(future)
                    results, seconds = future.result()
                    lots.took(lot, seconds)
                    for item, result in zip(lot.items, results, strict=True):
                        if log and lot.is_new:
                            log.put(item, result)
                        yield result  # one that has been given is not kept
                        done += weight(item)
                        progress.step(done)
            finally:
                for _, future in waiting:
                    future.cancel()

    @contextmanager
    def _at_work(self) -> Iterator[tuple[Executor, Callable[[], int]]]:
        if self.executor is None:
            cores = _cores()
            with ThreadPoolExecutor(cores) as executor:
                yield executor, lambda: cores
            return
        if isinstance(self.executor, Cluster):
            try:
                yield self.executor, self.executor.hands
            except self.executor.faults as error:
                raise self.executor.lost(error) from None
            return
        workers = getattr(self.executor, "_max_workers", None) or _HANDS
        try:
            yield self.executor, lambda: workers
        except (BrokenExecutor, CancelledError) as error:
            raise GearsearchError(
                f"a worker ended before its work was done: {error or 'cancelled'}",
                "memory may have run out: try fewer workers, or look at what the system says of it",
                code="worker-lost",
            ) from None


@dataclass(slots=True)
class _Lot:
    """Items that go out together.

    Parameters
    ----------
    items : the items
    found : their results, where they are known from before
    is_new : whether they come after all that was kept before
    """

    items: list[Any]
    found: list[Any]
    is_new: bool = False


class _Lots:
    """Items put together so that a lot takes about as long as ``_LOT_SECONDS``, by how long those before took."""

    def __init__(
        self, items: Iterable[Any], length: int | None, hands: Callable[[], int], log: SliceLog | None
    ) -> None:
        self._items = iter(items)
        self._most = _MOST_IN_A_LOT if length is None else max(1, min(_MOST_IN_A_LOT, length // (4 * hands())))
        self._size = 1
        self._log = log
        self._known: _Lot | None = None

    def next(self) -> _Lot | None:
        """The next lot; None at the end."""
        if self._known:
            lot, self._known = self._known, None
            return lot
        lot = _Lot([], [])
        for item in islice(self._items, self._size):
            found = self._log.take(item) if self._log else None
            if found is not None:
                self._known = _Lot([item], [found])
                break
            lot.items.append(item)
            lot.is_new = self._log is not None and self._log.is_read
        return lot if lot.items else self.next() if self._known else None

    def took(self, lot: _Lot, seconds: float) -> None:
        """How long a lot took where it was worked on."""
        if not lot.found:
            fitting = int(_LOT_SECONDS * len(lot.items) / max(seconds, 1e-6))
            self._size = max(1, min(fitting, 4 * self._size, self._most))


def _known(results: list[R]) -> Future[tuple[list[R], float]]:
    """Results that are there already."""
    future: Future[tuple[list[R], float]] = Future()
    future.set_result((results, 0.0))
    return future


def _each(task: Callable[[T], R] | bytes, items: list[T]) -> tuple[list[R], float]:
    """The results for some items, and the seconds they took; a pickled task is read here, where it may be refused."""
    does: Callable[[T], R] = unpickled(task) if isinstance(task, bytes) else task
    start = time.perf_counter()
    return [does(item) for item in items], time.perf_counter() - start


HERE = Crew()


class Growing(Executor):
    """Threads for what is done in some seconds, then a process for each core, which takes a second or two to begin.

    Threads wait for each other where numpy does little at once: on two cores, with mounting judged, two take as long as
    one (``benchmarks/long.py speed``). For commands; from Python a script must guard its main module for processes.

    Parameters
    ----------
    after : seconds from the first task to the processes
    """

    def __init__(self, after: float = 4.0) -> None:
        self._after, self._max_workers = after, _cores()
        self._threads = ThreadPoolExecutor(self._max_workers)
        self._processes: ProcessPoolExecutor | None = None
        self._begun: float | None = None
        self._last: tuple[object, bytes] | None = None

    def submit(self, function: Callable[..., R], /, *args: Any, **named: Any) -> Future[R]:
        """Begin a task here or in a process: its first value is what to do, which goes pickled to a process."""
        self._begun = self._begun or time.monotonic()
        if self._max_workers == 1 or time.monotonic() - self._begun < self._after:
            return self._threads.submit(function, *args, **named)
        if self._processes is None:
            self._processes = ProcessPoolExecutor(self._max_workers, get_context("spawn"), initializer=_follow)
        task, *rest = args
        if self._last is None or self._last[0] is not task:
            self._last = task, pickled(task)
        with _undisturbed():  # the first tasks begin a process each
            return self._processes.submit(function, self._last[1], *rest, **named)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the threads and the processes."""
        for pool in filter(None, (self._threads, self._processes)):
            pool.shutdown(wait, cancel_futures=cancel_futures)


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Hold Ctrl-C back while processes begin, each of which would tell on stderr how far it had got; act on it then."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: came.append(number))
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT]) if hasattr(signal, "pthread_sigmask") else None
    try:
        yield  # a process begins with the mask of this one, and keeps it
    finally:
        if mask is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        signal.signal(signal.SIGINT, before)
        if came and callable(before):
            before(came[0], None)


def _follow() -> None:
    """Leave Ctrl-C to the process that this one works for, and end with it, however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
