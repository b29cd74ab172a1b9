"""Long work shared among the processor's cores, in order, with progress, and stopped cleanly by Ctrl-C."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from .progress import Progress

T = TypeVar("T")
R = TypeVar("R")
_AHEAD = 8  # how many tasks for each core wait at most, so that an interrupt leaves little to finish


def shared(what: str, task: Callable[[T], R], items: Sequence[T]) -> Generator[R, None, None]:
    """Give the result of the task for each item, in the order of the items.

    Parameters
    ----------
    what : what is being done, for the line of progress
    task : works on one item; its compiled loops let go of the interpreter, so that cores really share the work
    items : what to work on

    An exception of a task, or Ctrl-C, ends the work: tasks that have begun are finished, the others never begin.
    """
    cores = os.cpu_count() or 1
    with Progress(what, len(items)) as progress, ThreadPoolExecutor(cores) as crew:
        waiting: deque[Future[R]] = deque()  # a result that has been given is not kept
        begun = 0
        try:
            for done in range(len(items)):
                while begun < len(items) and begun < done + cores * _AHEAD:
                    waiting.append(crew.submit(task, items[begun]))
                    begun += 1
                yield waiting.popleft().result()
                progress.step(done + 1)
        finally:
            for future in waiting:
                future.cancel()
