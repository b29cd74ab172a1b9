"""Mutation testing: change the package in one small place, and see whether a test fails.

``python benchmarks/mutation.py [MODULE ...] [--sample N] [--seed S] [--minutes M]``, for example
``python benchmarks/mutation.py trains leads`` or ``python benchmarks/mutation.py mounting/kernels --sample 100``.
What survives of the loops can be tried again with them compiled: ``mounting/kernels --again printed.txt --compiled``.

The tree is copied to a temporary folder and only the copy is changed. The tests are run once with a trace, which
tells the tests that reach each line; each mutant then meets only those, the quickest first, up to the first failure.
A test that takes much longer than it did counts as failed: the mutant never ends. Each survivor is printed, with the
reason from ``survivors.toml`` where it has one. Exit code 1 where one has none.
"""

from __future__ import annotations

import argparse
import contextlib
import functools
import importlib
import itertools
import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
import types
from collections import Counter
from collections.abc import Callable, Generator, Iterable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from _pytest.runner import runtestprotocol
from mutants import Mutant, mutants_of

TOP = Path(__file__).parents[1]
HELD = tomllib.loads((Path(__file__).parent / "survivors.toml").read_text(encoding="utf-8"))
TESTS = {
    "units": "units leads tolerance messages",
    "leads": "leads threads tolerance messages",
    "threads": "threads leads messages",
    "trains": "trains messages",
    "search": "search_limits search lever find_command messages",
    "tolerance": "tolerance messages",
    "figures": "tolerance messages",
    "mounting/__init__": "mounting_words mounting_small mounting against_published_mounting messages",
    "mounting/arrangement": "mounting_words mounting_small mounting against_published_mounting",
    "mounting/placement": "mounting_words mounting_small mounting against_published_mounting",
    "mounting/kernels": "mounting_words mounting_small mounting_edges mounting_narrow mounting mounting_kernels "
    "against_published_mounting",
}
COMPILED = f"{TESTS['mounting/kernels']} against_shapely_mounting"
LEFT_OUT = ("test_no_message_of_the_package_is_left_out",)  # reads the lines of the source, which a mutant shifts
GUIDE = "chooses where to look: "  # begins the reason that goes with ANY
ANY = "*"  # in survivors.toml: whatever changes in a function that only chooses where to look
INTERPRETED = ("mounting/kernels",)  # compiling the loops anew for each mutant takes longer than interpreting them
LONGEST = 6.0  # s of the processor, traced; tests that take longer are left out
PATIENCE = 3.0, 6  # s of the processor, and how many times its usual time a test may take
LIBRARIES = ("pytest", "hypothesis", "numpy", "pandas", "scipy", "sympy", "mpmath", "pint", "shapely", "numba")


Trials = Iterable[tuple[Callable[[], None], list[str]]]


class Profile:
    """Makes hypothesis quick to fail: the same examples, none made smaller, no rule about slowness."""

    def pytest_configure(self) -> None:
        """Called before the first test file is imported."""
        from hypothesis import HealthCheck, Phase, settings

        settings.register_profile(
            "mutation",
            derandomize=True,
            deadline=None,
            database=None,
            phases=(Phase.explicit, Phase.generate),
            suppress_health_check=list(HealthCheck),
        )
        settings.load_profile("mutation")


class Tracer(Profile):
    """For each test that passes: how long it takes, and which lines of one file it reaches."""

    def __init__(self, path: Path) -> None:
        self.path = str(path)
        self.lines: set[int] = set()
        self.found: dict[str, tuple[float, list[int]]] = {}
        self.on_import: dict[str, set[int]] = {}
        self.left_out: list[str] = []

    def trace(self, frame: FrameType, event: str, _: Any) -> Any:
        """Called for each line that is run."""
        if frame.f_code.co_filename != self.path:
            return None
        if event == "line":
            self.lines.add(frame.f_lineno)
        return self.trace

    @contextlib.contextmanager
    def tracing(self) -> Iterator[None]:
        """Collect the lines that are run, and give up after so long."""
        self.lines = set()
        signal.signal(signal.SIGPROF, _give_up)
        signal.setitimer(signal.ITIMER_PROF, LONGEST)
        threading.settrace(self.trace)
        sys.settrace(self.trace)
        try:
            yield
        finally:
            sys.settrace(None)
            threading.settrace(None)
            signal.setitimer(signal.ITIMER_PROF, 0)

    @pytest.hookimpl(wrapper=True)
    def pytest_make_collect_report(self, collector: Any) -> Generator[None, Any, Any]:
        """Called to import a test file, where the parameters of its tests may already reach lines."""
        if not isinstance(collector, pytest.Module):
            return (yield)
        with self.tracing():
            report = yield
        self.on_import[collector.nodeid] = self.lines
        return report

    def pytest_runtest_protocol(self, item: Any, nextitem: Any) -> bool:
        """Called to run a test."""
        begun = time.process_time()
        with self.tracing():
            reports = runtestprotocol(item, nextitem=nextitem, log=False)
        if all(report.passed for report in reports) and item.name not in LEFT_OUT:
            lines = self.lines | self.on_import[item.nodeid.split("::")[0]]
            self.found[item.nodeid] = time.process_time() - begun, sorted(lines)
        else:
            self.left_out.append(item.nodeid)
        return True


class Chosen(Profile):
    """Runs chosen tests in their order up to the first failure, and ends the process where one takes far too long.

    Parameters
    ----------
    seconds : how long each test usually takes [s]
    trials : one for each mutant: what changes the program, and the tests; without any, every test that has been
        imported but those left out: what a mutant changes on import may change the names of tests
    left_out : tests never to run
    """

    def __init__(self, seconds: dict[str, float], trials: Trials, left_out: list[str]) -> None:
        self.seconds = seconds
        self.trials = trials
        self.left_out = left_out
        self.survived: list[bool] = []
        self.imported = False

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Called when every test file has been imported, or has failed to be."""
        self.imported = not session.testsfailed
        if not self.imported:
            return True
        items = {item.nodeid: item for item in session.items if item.nodeid not in self.left_out}
        for change, names in self.trials:
            chosen = [items[name] for name in names or sorted(items, key=self._usual)]
            clock = 120 + 10 * sum(map(self._usual, names or items))
            self.survived.append(bool(apart(functools.partial(self._passes, change, chosen), clock)))
        return True

    def _usual(self, name: str) -> float:
        return self.seconds.get(name, 0.0)

    def _passes(self, change: Callable[[], None], chosen: list[Any]) -> bool:
        least, times = PATIENCE
        change()
        signal.signal(signal.SIGPROF, signal.SIG_DFL)  # ends compiled loops too, where no handler is ever called
        for item, after in itertools.zip_longest(chosen, chosen[1:]):
            signal.setitimer(signal.ITIMER_PROF, least + times * self._usual(item.nodeid))
            if not all(report.passed for report in runtestprotocol(item, nextitem=after, log=False)):
                return False
        return True


def _give_up(*_: Any) -> None:
    raise TimeoutError


def apart(task: Callable[[], Any], seconds: float) -> Any:
    """What a task gives in a process of its own; None where it fails or takes longer on the clock."""
    answer = Path(tempfile.mkstemp(prefix="answer")[1])
    child = os.fork()
    if child == 0:
        code = 1
        with contextlib.suppress(BaseException):
            os.setpgid(0, 0)
            quiet = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1):
                os.dup2(quiet, stream)
            answer.write_text(json.dumps(task()), encoding="utf-8")
            code = 0
        os._exit(code)
    try:
        status = _ended(child, seconds)
        return json.loads(answer.read_text(encoding="utf-8")) if status == 0 else None
    finally:
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(child, signal.SIGKILL)
        answer.unlink()


def _ended(child: int, seconds: float) -> int | None:
    """How a process ended; None where it had to be ended."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status
        time.sleep(0.01)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


class Bench:
    """A copy of the tree with one module of it to change.

    Parameters
    ----------
    module : as in ``TESTS``
    folder : where the copy goes
    """

    def __init__(self, module: str, folder: Path) -> None:
        self.module = module
        self.top = folder / "copy"
        shutil.copytree(TOP, self.top, ignore=shutil.ignore_patterns(".*", "__pycache__", "*.egg-info"))
        self.file = self.top / "gearsearch" / f"{module}.py"
        self.source = self.file.read_text(encoding="utf-8")
        self.tests = [f"tests/test_{name}.py" for name in TESTS[module].split()]
        self.name = f"gearsearch.{module.replace('/', '.').removesuffix('.__init__')}"
        self.reached: dict[str, tuple[float, list[int]]] = {}
        self.on_import: dict[str, list[int]] = {}
        self.left_out: list[str] = []

    def warm_up(self) -> None:
        """Import what every process needs, and nothing of the package."""
        os.chdir(self.top)
        os.environ.update(PYTHONPATH=str(self.top), PYTEST_DISABLE_PLUGIN_AUTOLOAD="1")
        sys.path[:0] = [str(self.top)]
        for library in LIBRARIES:
            with contextlib.suppress(ImportError):
                importlib.import_module(library)
        if os.environ.get("NUMBA_DISABLE_JIT") != "1":
            import numba

            numba.njit(lambda x: x)(1)

    def trace(self) -> None:
        """Learn which tests reach which lines, and which tests must be left out: they fail, or take too long."""
        if self.module not in INTERPRETED:
            apart(lambda: self._pytest(self.tests, Profile()), 3600)  # compile the loops before the clock runs
        found = apart(self._traced, 3600)
        assert found, f"the tests of {self.module} cannot be run"
        self.reached, self.on_import, self.left_out = found
        for kept in self.file.parent.glob(f"__pycache__/{self.file.stem}.*.pyc"):
            kept.unlink()  # a mutant of the same second and size would pass for what is kept
        sys.dont_write_bytecode = True
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"

    def _traced(self) -> Any:
        changed = importlib.import_module(self.name)
        assert Path(str(changed.__file__)) == self.file, "another gearsearch was imported"
        tracer = Tracer(self.file)
        self._pytest(self.tests, tracer)
        on_import = {file: sorted(lines) for file, lines in tracer.on_import.items()}
        return tracer.found, on_import, tracer.left_out

    def _pytest(self, files: list[str], plugin: Any) -> None:
        arguments = ["-q", "--tb=no", "--no-header", "-p", "no:cacheprovider", *files]
        if os.environ.get("NUMBA_DISABLE_JIT") == "1":
            arguments += ["-W", "ignore:overflow encountered:RuntimeWarning"]
        pytest.main(arguments, plugins=[plugin])

    def tests_of(self, mutant: Mutant) -> list[str]:
        """The tests that reach a mutant, the quickest first; all where it is run on import."""
        at = set(mutant.lines)
        chosen = [name for name, (_, lines) in self.reached.items() if at & set(lines)] if mutant.body else []
        return sorted(chosen or self.reached, key=lambda name: self.reached[name][0])

    def survivors(self, mutants: list[Mutant], until: float) -> Iterator[tuple[Mutant, bool]]:
        """Each mutant that is tried in time, and whether every test that reaches it passes.

        Where only the code of a function changes, the test files are imported once and the code is exchanged; what
        survives that, and what changes on import, meets test files that are imported anew.
        """
        quick = [mutant for mutant in mutants if mutant.body]
        done = apart(functools.partial(self._exchanged, quick, until), 1e9)
        assert done is not None, f"the tests of {self.module} cannot be run"
        for mutant, survived in zip(quick, done, strict=False):
            reached = {name.split("::")[0] for name in self.tests_of(mutant)}
            again = survived and any(set(mutant.lines) & set(self.on_import[file]) for file in reached)
            yield mutant, self._survives_anew(mutant) if again else survived
        for mutant in mutants:
            if not mutant.body and time.monotonic() < until:
                yield mutant, self._survives_anew(mutant)

    def compiled_survivors(self, mutants: list[Mutant], until: float) -> Iterator[tuple[Mutant, bool]]:
        """As ``survivors`` with every test of the mounting, the loops compiled anew for each: some 40 s apiece."""
        os.environ.update(PYTHONPATH=str(self.top))
        files = [f"tests/test_{name}.py" for name in COMPILED.split()]
        command = [sys.executable, "-m", "pytest", "-q", "-x", "--tb=no", "-p", "no:cacheprovider", *files]
        for mutant in mutants:
            if time.monotonic() > until:
                return
            self.file.write_text(mutant.source, encoding="utf-8")
            with tempfile.TemporaryDirectory() as cache:
                env = {**os.environ, "NUMBA_CACHE_DIR": cache, "PYTHONDONTWRITEBYTECODE": "1"}
                try:
                    done = subprocess.run(command, cwd=self.top, env=env, capture_output=True, timeout=600, check=False)
                    yield mutant, done.returncode == 0
                except subprocess.TimeoutExpired:
                    yield mutant, False

    def _exchanged(self, mutants: list[Mutant], until: float) -> list[bool]:
        module = importlib.import_module(self.name)

        def trials() -> Trials:
            for number, mutant in enumerate(mutants):
                if time.monotonic() > until:
                    break
                if number % 50 == 49:
                    print(f"{self.module}: {number + 1} of {len(mutants)}", file=sys.stderr, flush=True)
                self.file.write_text(mutant.source, encoding="utf-8")  # for tests that start the program
                yield functools.partial(exchange, module, mutant), self.tests_of(mutant)
            self.file.write_text(self.source, encoding="utf-8")

        chosen = self._run(self.tests, trials())
        assert chosen.imported, "the tests cannot be imported"
        return chosen.survived

    def _survives_anew(self, mutant: Mutant) -> bool:
        names = self.tests_of(mutant)
        files = [file for file in self.tests if any(name.startswith(f"{file}::") for name in names)]
        self.file.write_text(mutant.source, encoding="utf-8")
        try:
            found = apart(lambda: self._run(files, [(lambda: None, [])]).survived, 1e9)
        finally:
            self.file.write_text(self.source, encoding="utf-8")
        return bool(found == [True])

    def _run(self, files: list[str], trials: Trials) -> Chosen:
        seconds = {name: seconds for name, (seconds, _) in self.reached.items()}
        chosen = Chosen(seconds, trials, self.left_out)
        self._pytest(files, chosen)
        return chosen


def exchange(module: Any, mutant: Mutant) -> None:
    """Give a function the code that it has in a mutant."""
    owner, code = module, compile(mutant.source, module.__file__, "exec")
    for name in mutant.where.split("."):
        owner = vars(owner)[name]
        code = next(c for c in code.co_consts if isinstance(c, types.CodeType) and c.co_name == name)
    for wrapper in ("fget", "__func__", "func", "__wrapped__"):
        owner = getattr(owner, wrapper, owner)
    owner.__code__ = code


def reason_for(module: str, mutant: Mutant) -> str | None:
    """Why a mutant may survive, from ``survivors.toml``."""
    for row in HELD.get(module, []):
        if row["where"] == mutant.where and (mutant.change in row["changes"] or row["changes"] == [ANY]):
            return str(row["why"])
    return None


def run(module: str, options: argparse.Namespace) -> int:
    """Try the mutants of one module; print the survivors and a row of figures."""
    mutants = mutants_of((TOP / "gearsearch" / f"{module}.py").read_text(encoding="utf-8"))
    stale = _stale(module, mutants)
    again = options.again.read_text(encoding="utf-8") if options.again else None
    wanted = [m for m in mutants if re.search(options.only, str(m)) and (again is None or f": {m}: " in again)]
    random.Random(options.seed).shuffle(wanted)
    with tempfile.TemporaryDirectory(prefix="mutation") as folder:
        bench = Bench(module, Path(folder))
        until = time.monotonic() + 60 * options.minutes
        if options.compiled:
            tried = bench.compiled_survivors(wanted[: options.sample], until)
        else:
            bench.warm_up()
            bench.trace()
            for name in bench.left_out:
                print(f"{module}: left out: {name}", flush=True)
            tried = bench.survivors(wanted[: options.sample], until)
        verdicts = (_verdict(module, *row) for row in tried)
        figures = Counter(verdicts)
    print(f"{module}: mutants {len(mutants)}, tried {figures.total()}, killed {figures['killed']}, "
          f"explained {figures['explained']}, unexplained {figures['unexplained']}", flush=True)  # fmt: skip
    return int(figures["unexplained"] > 0 or stale)


def _stale(module: str, mutants: list[Mutant]) -> bool:
    """Say which explanations are of mutants that there are no longer."""
    made = {str(mutant) for mutant in mutants}
    held = [f"{row['where']}: {change}" for row in HELD.get(module, []) for change in row["changes"] if change != ANY]
    for missing in (said for said in held if said not in made):
        print(f"{module}: survivors.toml explains what is no mutant: {missing}", flush=True)
    return not made.issuperset(held)


def _verdict(module: str, mutant: Mutant, survives: bool) -> str:
    why = reason_for(module, mutant)
    if not survives:
        if why and not why.startswith(GUIDE):
            print(f"{module}: killed, though survivors.toml explains it: {mutant}", flush=True)
        return "killed"
    print(f"{module}: line {mutant.lines.start}: {mutant}: {why or 'SURVIVES'}", flush=True)
    return "explained" if why else "unexplained"


def each_apart(modules: list[str], arguments: list[str]) -> int:
    """A process for each module, whose loops are compiled or interpreted from the start."""
    worst = 0
    for module in modules:
        how = {"NUMBA_DISABLE_JIT": "1"} if module in INTERPRETED and "--compiled" not in arguments else {}
        command = [sys.executable, __file__, "--here", module, *arguments]
        worst = max(worst, subprocess.run(command, env={**os.environ, **how}, check=False).returncode)
    return worst


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", metavar="MODULE", help=f"one of {', '.join(TESTS)}; all without one")
    parser.add_argument("--sample", type=int, metavar="N", help="no more than N mutants, drawn at random")
    parser.add_argument("--seed", type=int, default=1, help="of the order of the mutants (1)")
    parser.add_argument("--minutes", type=float, default=1e9, help="begin no mutant after so long, for each module")
    parser.add_argument("--only", default="", metavar="TEXT", help="only mutants whose words hold this pattern")
    parser.add_argument(
        "--again", type=Path, metavar="FILE", help="only the survivors that an earlier run printed there"
    )
    parser.add_argument(
        "--compiled", action="store_true", help="for mounting/kernels: its slow tests too, with the loops compiled"
    )
    parser.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.here:
        return run(options.modules[0], options)
    given = [a for a in sys.argv[1:] if a not in options.modules]
    return each_apart(options.modules or list(TESTS), given)


if __name__ == "__main__":
    sys.exit(main())
