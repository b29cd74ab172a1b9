"""Long work on a cluster of worker processes: the same bytes, whatever becomes of a worker, and plain words else."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from concurrent.futures import Future
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from types import SimpleNamespace

import pytest
from commands import run

import gearsearch as gs
from gearsearch.base.errors import GearsearchError
from gearsearch.base.sharing import Crew

needs_dask = [
    pytest.mark.slow,
    pytest.mark.skipif(
        find_spec("distributed") is None and "NEEDS_CLUSTER" not in os.environ, reason="distributed is not installed"
    ),
]
dask = lambda test: [test := mark(test) for mark in needs_dask][-1]  # noqa: E731


class Machines:
    """A scheduler and its workers, each a process of its own, as they are started by hand."""

    def __init__(self, folder):
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        self.address, self._folder = f"127.0.0.1:{port}", folder
        self.scheduler = self._start("scheduler", "--host", "127.0.0.1", "--port", str(port))
        self.workers = [self.worker() for _ in range(2)]

    def worker(self, path=None):
        """One more worker, with the package of this folder."""
        return self._start("worker", self.address, "--nthreads", "1", "--no-nanny", path=path)

    def _start(self, kind, *words, path=None):
        paths = os.pathsep.join([path or str(Path(gs.__file__).parents[1]), str(Path(__file__).parent)])
        return subprocess.Popen(
            [sys.executable, "-m", f"distributed.cli.dask_{kind}", *words, "--no-dashboard"],
            env=os.environ | {"PYTHONPATH": paths},
            cwd=self._folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def stop(self):
        """End what is left of them."""
        for process in (*self.workers, self.scheduler):
            process.kill()
            process.wait()


@contextmanager
def machines(folder):
    both = Machines(folder)
    try:
        yield both
    finally:
        both.stop()


@pytest.fixture
def cluster(tmp_path):
    with machines(tmp_path) as both:
        yield both


def charted(folder, name, *more):
    words = ("chart", "every", "--from", "100mm", "--to", "400mm", "--out", str(folder / name))
    code = run(*words, *more)[0]
    return code, (folder / name).read_bytes() if code == 0 else None


@dask
def test_a_cluster_gives_the_same_bytes_and_so_it_does_when_a_worker_is_killed(cluster, tmp_path, monkeypatch):
    monkeypatch.setattr("gearsearch.charts.best.SLICE_TRAINS", 500)
    usual = charted(tmp_path, "usual.parquet")
    assert charted(tmp_path, "cluster.parquet", "--cluster", cluster.address) == usual
    monkeypatch.setenv("GEARSEARCH_CLUSTER", cluster.address)
    monkeypatch.setattr("gearsearch.base.sharing._LOT_SECONDS", 0.02)
    steps = []

    def step(_, done):
        steps.append(done)
        if len(steps) == 3:
            cluster.workers[0].send_signal(signal.SIGKILL)

    with monkeypatch.context() as watched:
        watched.setattr("gearsearch.base.progress.Progress.step", step)
        assert charted(tmp_path, "killed.parquet") == usual
    assert len(steps) > 12
    assert cluster.workers[0].wait() == -signal.SIGKILL
    asked = ("extend", "--lead", "333mm", "--lead", "777mm", "--tolerance", "20ppm", "--sizes", "20:50", "--add", "2")
    with monkeypatch.context() as alone:
        alone.delenv("GEARSEARCH_CLUSTER")
        here = run(*asked)
    assert run(*asked) == here


@dask
def test_a_chart_whose_scheduler_is_gone_goes_on_here(cluster, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("gearsearch.charts.best.SLICE_TRAINS", 500)
    monkeypatch.setattr("gearsearch.base.sharing._LOT_SECONDS", 0.0)
    monkeypatch.setattr("gearsearch.base.kept._AFTER", 0.0)
    steps = []

    def step(*_):
        steps.append(True)
        if len(steps) == 3:
            cluster.scheduler.send_signal(signal.SIGKILL)
            cluster.scheduler.wait()

    with monkeypatch.context() as watched:
        watched.setattr("gearsearch.base.progress.Progress.step", step)
        assert charted(tmp_path, "leads.parquet", "--cluster", cluster.address) == (2, None)
    said = capsys.readouterr().err
    assert f"{cluster.address} is gone" in said
    assert "--resume" in said
    assert charted(tmp_path, "leads.parquet", "--resume") == charted(tmp_path, "whole.parquet")
    assert "slices" in capsys.readouterr().err


def end_the_scheduler(asked):
    number, scheduler = asked
    if number == 3:
        os.kill(scheduler, signal.SIGKILL)
        time.sleep(2)
    return number


def end_this_worker(_):
    os.kill(os.getpid(), signal.SIGKILL)


@dask
def test_a_scheduler_that_is_gone_is_told_of(cluster):
    with gs.Cluster(cluster.address) as executor, pytest.raises(GearsearchError) as caught:
        list(Crew(executor).share("work", end_the_scheduler, [(n, cluster.scheduler.pid) for n in range(50)]))
    assert caught.value.code == "cluster-gone"
    assert cluster.address in str(caught.value)


@dask
def test_a_slice_that_ends_its_workers_leaves_none_and_that_is_told(cluster, monkeypatch):
    monkeypatch.setattr("gearsearch.base.cluster._NO_WORKER", 1)
    with gs.Cluster(cluster.address) as executor, pytest.raises(GearsearchError) as caught:
        list(Crew(executor).share("work", end_this_worker, range(4)))
    assert caught.value.code in ("no-workers", "worker-lost")


@dask
def test_a_scheduler_without_workers_is_told_of(tmp_path, monkeypatch):
    monkeypatch.setattr("gearsearch.base.cluster._FIRST_WORKER", 1)
    with machines(tmp_path) as both:
        for worker in both.workers:
            worker.kill()
            worker.wait()
        time.sleep(1)
        with pytest.raises(GearsearchError) as caught:
            gs.Cluster(both.address)
    assert caught.value.code == "no-workers"


@dask
def test_a_worker_of_another_version_is_told_of(cluster, tmp_path):
    shutil.copytree(Path(gs.__file__).parent, tmp_path / "other" / "gearsearch")
    with (tmp_path / "other" / "gearsearch" / "base" / "units.py").open("a") as stream:
        stream.write("\n# another\n")
    for worker in cluster.workers:
        worker.kill()
    cluster.workers.append(cluster.worker(str(tmp_path / "other")))
    with gs.Cluster(cluster.address) as executor, pytest.raises(GearsearchError) as caught:
        gs.demo().chart.every("400 mm", "402 mm", executor=executor).rows()
    assert caught.value.code == "other-version"


@dask
def test_a_worker_without_gearsearch_is_told_of(cluster, tmp_path):
    (tmp_path / "without").mkdir()
    (tmp_path / "without" / "gearsearch.py").write_text("raise ImportError('not installed')")
    for worker in cluster.workers:
        worker.kill()
    time.sleep(1)
    cluster.workers.append(cluster.worker(str(tmp_path / "without")))
    with pytest.raises(GearsearchError) as caught:
        gs.Cluster(cluster.address)
    assert caught.value.code == "other-version"


@dask
@pytest.mark.parametrize("address", ["127.0.0.1:1", "nonsense", "tcp://", "ftp://x:1", "inproc://x", ""])
def test_an_address_where_no_scheduler_answers_is_refused(address, tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("gearsearch.base.cluster._CONNECTING", 1)
    assert charted(tmp_path, "none.parquet", "--cluster", address) == (2, None)
    said = capsys.readouterr().err
    assert repr(address) in said
    assert "dask scheduler" in said


def test_without_dask_it_says_what_to_install(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert charted(tmp_path, "none.parquet", "--cluster", "127.0.0.1:8786") == (2, None)
    assert "python -m pip install distributed" in capsys.readouterr().err
    monkeypatch.setenv("GEARSEARCH_CLUSTER", "")
    assert charted(tmp_path, "here.parquet")[0] == 0


@pytest.mark.parametrize(
    ("status", "threads", "code"),
    [("closed", {"one": 1}, "cluster-gone"), ("running", {}, "no-workers"), ("running", None, "no-workers")],
)
def test_a_result_that_never_comes_is_not_waited_for_for_ever(status, threads, code, monkeypatch):
    """A task that is handed in while the scheduler goes may never be told of it; None: nobody answers."""
    monkeypatch.setattr("gearsearch.base.cluster._COUNTED", 0.01)
    monkeypatch.setattr("gearsearch.base.cluster._NO_WORKER", 0.05)
    cluster = object.__new__(gs.Cluster)
    cluster.address, cluster._hands, cluster._counted = "127.0.0.1:1", 2, 0.0
    cluster._client = SimpleNamespace(status=status, nthreads=lambda: dict(threads))
    with pytest.raises(GearsearchError) as caught:
        cluster.await_result(Future())
    assert caught.value.code == code
