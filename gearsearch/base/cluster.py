"""Long work on several machines: the workers of a dask cluster as one executor. Needs the extra ``cluster``."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from concurrent.futures import CancelledError, Executor, Future, wait
from contextlib import suppress
from importlib import import_module
from typing import Any, TypeVar

from .errors import GearsearchError
from .spelling import spelled

R = TypeVar("R")
_CONNECTING = 10  # s until the scheduler must have answered
_FIRST_WORKER = 20  # s until the first worker must be there
_NO_WORKER = 60  # s without any worker until the work is given up
_COUNTED = 5  # s that a count of the workers holds
_START = "dask scheduler and, on each machine, dask worker ADDRESS"


class Cluster(Executor):
    """The workers of a running dask cluster; ``with Cluster("host:8786") as executor`` lets go of them at the end.

    Parameters
    ----------
    address : of the scheduler, ``host:port``

    A worker that dies is made up for by the others. Raises GearsearchError where dask is missing, nothing answers at
    the address, or it has no workers; later where the scheduler is gone or no worker is left.
    """

    @spelled
    def __init__(self, address: str) -> None:
        self.address = address
        try:
            distributed = import_module("distributed")
        except ImportError:
            raise GearsearchError(
                "a cluster needs the library distributed, which is not installed",
                "install it here and on every machine with python -m pip install distributed, or leave --cluster out",
                code="no-dask",
            ) from None
        for name in [*logging.Logger.manager.loggerDict]:  # what they log of a lost connection is told in our words
            if name.partition(".")[0] in ("distributed", "tornado", "asyncio"):
                logging.getLogger(name).setLevel(logging.CRITICAL)
        self.faults = (CancelledError, distributed.KilledWorker, distributed.comm.CommClosedError)
        try:
            self._client = distributed.Client(address, timeout=_CONNECTING, set_as_default=False)
        except (OSError, ValueError, TypeError) as error:
            raise GearsearchError(
                f"no scheduler answers at {address!r}: {str(error).splitlines()[0] if str(error) else 'no answer'}",
                f"name the address that the scheduler prints, as in 192.168.1.10:8786; start them with {_START}",
                code="no-cluster",
            ) from None
        self._executor = self._client.get_executor()
        self._hands, self._counted = 0, 0.0
        try:
            self._client.wait_for_workers(1, timeout=_FIRST_WORKER)
            self._client.run(exec, "import gearsearch")
        except TimeoutError:
            self.shutdown()
            raise self._without_workers() from None
        except ImportError as error:
            self.shutdown()
            raise GearsearchError(
                f"a worker at {address} can't load gearsearch: {error}",
                "install one version of gearsearch, and distributed, on every machine, and start the workers again",
                code="other-version",
            ) from None

    def submit(self, fn: Callable[..., R], /, *args: object, **kwargs: object) -> Future[R]:
        """Have a worker call a function."""
        future: Future[R] = self._executor.submit(fn, *args, **kwargs)
        return future

    def hands(self) -> int:
        """How many tasks the workers run at once, as it was some seconds ago."""
        if time.monotonic() - self._counted > _COUNTED:
            self._hands = 0
            with suppress(Exception):  # whether the scheduler is gone is found out by those who wait
                self._hands = sum(self._client.nthreads().values())
            self._counted = time.monotonic()
        return max(1, self._hands)

    def await_result(self, future: Future[Any]) -> None:
        """Wait until a result is there. Raises GearsearchError where no worker or no scheduler is left to give it."""
        since = time.monotonic()
        while not wait([future], timeout=_COUNTED).done:
            if self._client.status != "running":  # nor need the futures be told, where it went while one was handed in
                raise self._gone()
            self.hands()
            if self._hands:
                since = time.monotonic()
            elif time.monotonic() - since > _NO_WORKER:
                raise self._without_workers()

    def lost(self, error: BaseException) -> GearsearchError:
        """What has happened where a result can't be had."""
        if isinstance(error, self.faults[1]):
            return GearsearchError(
                f"the workers at {self.address} died one after another over the same slice",
                "memory may have run out there: give each worker more, or start fewer on a machine",
                code="worker-lost",
            )
        return self._gone()

    def _gone(self) -> GearsearchError:
        return GearsearchError(
            f"the scheduler at {self.address} is gone", f"start it again with {_START}", code="cluster-gone"
        )

    def _without_workers(self) -> GearsearchError:
        return GearsearchError(
            f"the scheduler at {self.address} has no workers",
            f"start some, on each machine: dask worker {self.address}",
            code="no-workers",
        )

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:  # noqa: ARG002
        """Let go of the workers; what they still do for this is cancelled."""
        with suppress(Exception):
            self._client.close(timeout=5)
