"""The command line: parse, one library call, print. Errors become one message and an exit code here only."""

from __future__ import annotations

import gc
import importlib
import os
import signal
import sys
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import NoReturn, TextIO

from .base import streams
from .base.errors import GearsearchError
from .base.files import guarded
from .base.spelling import as_typed
from .commands.parser import Parser

COMMANDS = {
    "find": "the best trains for a wanted lead",
    "check": "what a given train cuts, whether it mounts, and whether its error matters",
    "chart": "lead charts of your own gears, to search and to print",
    "sheet": "the set-up sheet: everything at the machine, in the order it is done",
    "divide": "index circles, angles, differential trains, stepped ramps",
    "pair": "two trains for two helical gears that must mesh",
    "extend": "which gear to add, which is never needed, and sets from scratch",
    "shop": "write a shop file, or read one back",
    "completion": "what makes bash, zsh or fish complete commands and options",
}
BAD_REQUEST = 2
INTERRUPTED = 130
READER_GONE = 141  # what a shell reports for a program whose reader has closed the pipe
_STOPS = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]

_ABOUT = """\
The best change-gear train for a lead, from the gears you own. Every train is tried,
those that don't mount on your quadrant are dropped, and you see what the error does to
the part."""

_MORE = """\
examples:
  gearsearch find --lead 412.5 --hand right      the nearest trains for a lead
  gearsearch check "100/24 32/48" --lead 3.6in   a train you have in mind
  gearsearch shop new                            write a shop file to fill in
  gearsearch COMMAND --help                      what each command can do

The shop file is --shop FILE, else $GEARSEARCH_SHOP, else shop.toml in this folder,
else the built-in demo shop. Exit code 0: answered; 1: no train qualifies, or a check
failed; 2: the request or the shop file is wrong, or the answer can't be written."""


def build_parser(commands: Iterable[str] = COMMANDS) -> Parser:
    """The parser of every command, with the options of those named: to make them takes longer than all else."""
    parser = Parser(prog="gearsearch", description=_ABOUT, epilog=_MORE)
    parser.add_argument("--version", action="store_true", help="print the version and stop")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    for name, about in COMMANDS.items():
        of_one = subparsers.add_parser(name, help=about)
        if name in commands:
            _module(name).add(of_one)
    parser.set_defaults(whole=parser)
    return parser


def main(argv: Sequence[str] | None = None, out: TextIO | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    argv : the words after ``gearsearch``; None for those of this process
    out : where the answer goes; None for stdout

    Mistakes of the user are told on stderr and give 2; any other exception is a defect and is not hidden.
    """
    out = out or sys.stdout
    try:
        code = _run(argv, out)
        out.flush()
        return code
    except GearsearchError as error:
        _refuse(f"gearsearch: {error}")
        return BAD_REQUEST
    except KeyboardInterrupt as error:
        with suppress(OSError):  # the terminal may be gone
            said = str(error) or "interrupted; nothing half done is left"
            print(f"gearsearch: {said}", file=sys.stderr, flush=True)
        return INTERRUPTED
    except BrokenPipeError:
        return READER_GONE
    except RecursionError:
        print("gearsearch: the request is nested too deeply to be read", file=sys.stderr)
        return BAD_REQUEST


def _refuse(text: str) -> None:
    """Print a refusal: on a terminal no wider than it is, elsewhere each sentence in one line."""
    if sys.stderr.isatty():
        from .output.tables import filled, terminal_width

        text = "\n".join(part for line in text.split("\n") for part in filled(line, terminal_width(), "  "))
    print(text, file=sys.stderr)


def entry() -> NoReturn:
    """The console script."""
    streams.prepare()
    _compile_sooner()
    code = main()
    sys.stderr.flush()
    os._exit(code)  # a normal exit waits 0.1 s for the compiler's tables to be taken apart


def _compile_sooner() -> None:
    """Take a tenth off the first run ever: the compiler makes millions of small objects, and need not try so hard."""
    gc.set_threshold(200_000, 50, 100)
    os.environ.setdefault("NUMBA_OPT", "1")  # the loops measured no slower


def _run(argv: Sequence[str] | None, out: TextIO) -> int:
    words = list(sys.argv[1:] if argv is None else argv)
    parser = build_parser(COMMANDS if "completion" in words else words)  # it completes the options of every command
    args = parser.parse_args(words)
    if args.version:
        from . import __version__

        print(f"gearsearch {__version__}", file=out)
        return 0
    if args.command is None:
        parser.print_help(out)
        return 0
    with _stopped_politely(), as_typed():
        code: int = _module(args.command).run(args, out)
    return code


@contextmanager
def _stopped_politely() -> Iterator[None]:
    """Let Ctrl-C, a polite kill and a closed terminal end the work alike, so that no draft of a file is left behind.

    Where one of them comes while a library calls back, its exception is lost: it is raised again before files are put
    in place, and at the end. What the parent process has had ignored, such as a closed terminal by nohup, stays so.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    asked: list[int] = []

    def stop(number: int, _: object) -> None:
        asked.append(number)
        raise KeyboardInterrupt

    def guard() -> None:
        if asked:
            raise KeyboardInterrupt

    heeded = [number for number in _STOPS if signal.getsignal(number) not in (signal.SIG_IGN, None)]
    before = {number: signal.signal(number, stop) for number in heeded}
    try:
        with guarded(guard):
            yield
        guard()
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _module(name: str):  # type: ignore[no-untyped-def]
    return importlib.import_module(f"gearsearch.commands.{name}")
