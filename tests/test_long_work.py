"""Long work: the same bytes however it is shared out."""

import os
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from multiprocessing import get_context

import pytest
from commands import run

import gearsearch as gs
from gearsearch.base import sharing
from gearsearch.base.errors import GearsearchError
from gearsearch.base.sharing import HERE, Crew, Remade, code_digest


@pytest.fixture(scope="module")
def processes():
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        yield pool


def double(number):
    return 2 * number


def end_this_process(_):
    os.kill(os.getpid(), signal.SIGKILL)


class Counted(Remade):
    """How often it was made in this process is what it tells."""

    made = 0

    def __init__(self, word):
        self.word = word
        type(self).made += 1

    def made_from(self):
        """A word is enough."""
        return Counted, (self.word,)

    def told(self, number):
        """What tells where it was worked on."""
        return self.word, number, os.getpid(), type(self).made


def saved(folder, chart, name):
    chart.save(folder / name)
    return (folder / name).read_bytes()


LEADS = [f"{lead} mm" for lead in (91.7, 133.3, 201.9, 333.7, 411.3, 512.9, 777.1, 901.3)]
CHARTS = {
    "every": lambda shop, **more: shop.chart.every("400 mm", "480 mm", **more),
    "all_arrangements": lambda shop, **more: shop.chart.every("400 mm", "402 mm", all_arrangements=True, **more),
    "list": lambda shop, **more: shop.chart.list("iso-54", **more),
    "grid": lambda shop, **more: shop.chart.grid(range(10, 60, 5), helix_angles=range(10, 45, 5), **more),
}


@pytest.mark.parametrize("kind", CHARTS)
def test_a_chart_is_the_same_bytes_from_one_thread_all_threads_and_processes(kind, tmp_path, processes, monkeypatch):
    monkeypatch.setattr("gearsearch.charts.best.SLICE_TRAINS", 2000)
    make = CHARTS[kind]
    usual = saved(tmp_path, make(gs.demo()), "usual.parquet")
    with ThreadPoolExecutor(1) as one:
        assert saved(tmp_path, make(gs.demo(), executor=one), "one.parquet") == usual
    assert saved(tmp_path, make(gs.demo(), executor=processes), "processes.parquet") == usual


def test_advice_is_the_same_from_one_thread_all_threads_and_processes(processes):
    ask = partial(gs.demo().extend, LEADS, tolerance="100 ppm", sizes=range(30, 42), add=2)
    usual = ask().record()
    assert len(usual["gains"]) == 4
    with ThreadPoolExecutor(1) as one:
        assert ask(executor=one).record() == usual
    assert ask(executor=processes).record() == usual


def test_a_set_from_scratch_is_the_same_from_processes(processes):
    ask = partial(gs.demo().extend.design, ["333 mm", "777 mm"], 4, tolerance="500 ppm", sizes=range(20, 30))
    assert ask(executor=processes).record() == ask().record()


def test_a_worker_makes_what_it_needs_once(processes):
    told = list(Crew(processes).share("work", Counted("word").told, range(200)))
    assert [row[:2] for row in told] == [("word", number) for number in range(200)]
    assert {made for *_, made in told} == {1}
    assert os.getpid() not in {process for *_, process, _ in told}


def test_a_worker_of_another_version_is_refused(processes, monkeypatch):
    asked = Counted("other")
    monkeypatch.setattr("gearsearch.base.sharing.code_digest", lambda: "another")
    with pytest.raises(GearsearchError) as caught:
        list(Crew(processes).share("work", asked.told, range(3)))
    assert caught.value.code == "other-version"
    monkeypatch.undo()
    assert len(code_digest()) == 16


def test_a_command_that_takes_long_goes_on_in_processes(tmp_path, capsys, monkeypatch):
    words = ("chart", "every", "--from", "400mm", "--to", "410mm", "--out")
    assert run(*words, str(tmp_path / "threads.parquet"))[0] == 0
    begun = []
    first = sharing.ProcessPoolExecutor
    monkeypatch.setattr(
        sharing, "ProcessPoolExecutor", lambda *how, **more: begun.append(first(*how, **more)) or begun[-1]
    )
    monkeypatch.setattr(sharing.Growing.__init__, "__defaults__", (0.0,))
    assert run(*words, str(tmp_path / "processes.parquet"))[0] == 0
    assert len(begun) == (sharing._cores() > 1)
    assert (tmp_path / "processes.parquet").read_bytes() == (tmp_path / "threads.parquet").read_bytes()
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="this system has no signals to hold back")
def test_an_interrupt_waits_until_the_processes_have_begun():
    asked, held = "import signal; print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, []))", []
    with pytest.raises(KeyboardInterrupt), sharing._undisturbed():
        os.kill(os.getpid(), signal.SIGINT)
        held.append(subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True).stdout)
    assert held == ["True\n"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])


def test_work_that_grows_keeps_its_order_where_it_moves_into_processes():
    def stepping(count):
        for number in range(count):
            time.sleep(0.002)
            yield number

    with sharing.Growing(0.1) as executor:
        told = list(Crew(executor).share("work", Counted("grown").told, stepping(600), total=600))
    assert [number for _, number, _, _ in told] == list(range(600))
    places = [place for _, _, place, _ in told]
    assert places[0] == os.getpid()
    assert sharing._cores() == 1 or places[-1] != os.getpid()


def test_a_worker_that_dies_is_told_of():
    with ProcessPoolExecutor(1, get_context("spawn")) as pool, pytest.raises(GearsearchError) as caught:
        list(Crew(pool).share("work", end_this_process, range(3)))
    assert caught.value.code == "worker-lost"


@pytest.mark.parametrize("wrong", ["tcp://127.0.0.1:8786", 4, map])
def test_what_is_no_executor_is_refused(wrong):
    with pytest.raises(GearsearchError) as caught:
        gs.demo().chart.every("400 mm", "401 mm", executor=wrong)
    assert caught.value.code == "wrong-type"


def test_items_are_taken_when_their_turn_is_near_and_results_are_not_kept():
    taken, given = [], 0

    def items():
        for number in range(100_000):
            taken.append(number)
            yield number

    slow = lambda number: time.sleep(0.02) or number  # noqa: E731
    work = HERE.share("work", slow, items())
    for given, result in enumerate(work):
        assert result == given
        if given == 40:
            break
    work.close()
    assert len(taken) < 2000


def test_progress_goes_by_the_weight_of_the_items(monkeypatch):
    seen = []
    monkeypatch.setattr("gearsearch.base.progress.Progress.step", lambda _, done: seen.append(done))
    assert list(HERE.share("work", double, [5, 2, 3], weight=float, total=10)) == [10, 4, 6]
    assert seen == [5, 7, 10]


def test_an_interrupt_leaves_no_worker_behind():
    before = threading.active_count()
    work = HERE.share("work", lambda _: time.sleep(0.01), range(10_000))
    next(work)
    with pytest.raises(KeyboardInterrupt):
        work.throw(KeyboardInterrupt())
    assert threading.active_count() == before
