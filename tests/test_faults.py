"""What the surroundings can do to a command: no home, no cache folder, an odd locale, a full disk, Windows files."""

import io
import os
import resource
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from itertools import product
from pathlib import Path

import pytest
from slow import some

from gearsearch.base import files
from gearsearch.cli import main
from gearsearch.shop.reader import DEMO_TEXT

FIND = [sys.executable, "-m", "gearsearch", "find", "--lead", "412.5", "--hand", "right", "--count", "1"]


def run(words, **environment):
    """A command in a process of its own."""
    env = {key: value for key, value in os.environ.items() if key not in environment}
    env |= {key: value for key, value in environment.items() if value is not None}
    return subprocess.run(words, capture_output=True, env=env, check=False)


def test_no_home_folder_and_a_cache_folder_that_is_a_file(tmp_path):
    (tmp_path / "no-folder").write_text("")
    done = run(FIND, HOME="/nonexistent", NUMBA_CACHE_DIR=str(tmp_path / "no-folder" / "below"))
    assert done.returncode == 0, done.stderr
    assert b"80/44 48/100" in done.stdout


@pytest.mark.parametrize("locale", some(["tr_TR.UTF-8", "C", "POSIX", "de_DE.ISO-8859-1"], 2))
def test_an_odd_locale_changes_no_figure(locale):
    done = run([*FIND, "--helix-angle", "20"][:-2], LC_ALL=locale, LANG=locale)
    assert done.returncode == 0, done.stderr
    assert b"412.500 mm (16.2402 in)" in done.stdout


def test_a_terminal_that_knows_only_ascii_still_gets_the_answer():
    done = run([sys.executable, "-m", "gearsearch", "divide", "42"], PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 0, done.stderr
    assert b"9 holes of the 21 circle" in done.stdout


@pytest.mark.parametrize("columns", ["1", "20", "500", "0"])
def test_an_odd_terminal_width_does_no_harm(columns):
    assert run([sys.executable, "-m", "gearsearch", "find", "--help"], COLUMNS=columns).returncode == 0


def test_a_shop_file_from_windows_with_a_name_of_its_own(tmp_path):
    folder = tmp_path / "Mühle | 2. Werkstatt"
    folder.mkdir()
    path = folder / "my shop.toml"
    text = DEMO_TEXT.replace("Millrace workshop", "Mühle | Werkstatt")
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    done = run([*FIND, "--shop", str(path)])
    assert done.returncode == 0, done.stderr
    assert "Mühle | Werkstatt" in done.stdout.decode()


def _small_files_only():
    resource.setrlimit(resource.RLIMIT_FSIZE, (10, 10))


def test_a_full_disk_leaves_nothing_half_written():
    """A limit on file size stands for the full disk."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    done = subprocess.run(
        [sys.executable, "-m", "gearsearch", "shop", "new", "mine.toml"],
        capture_output=True,
        text=True,
        preexec_fn=_small_files_only,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        check=False,
    )
    assert done.returncode == 2, done.stderr
    assert "mine.toml cannot be written: file too large" in done.stderr
    assert list(Path().iterdir()) == []


def test_a_reader_that_has_gone_is_no_crash():
    program = f"{' '.join(FIND[:-2])} --count 1000 --format csv | head -n 1"
    done = subprocess.run(["bash", "-c", program], capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert done.stdout.startswith("train,drivers")


def test_an_interrupted_search_ends_and_says_so(monkeypatch, capsys):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("gearsearch.search.find.find", interrupted)
    assert main(["find", "--lead", "412.5"]) == 130
    assert capsys.readouterr() == ("", "gearsearch: interrupted; nothing half done is left\n")


STOPS = pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])


@STOPS
def test_a_polite_kill_and_a_closed_terminal_end_every_command_as_an_interrupt(monkeypatch, capsys, number):
    """So that whatever is being written is put away."""
    before = signal.getsignal(number)
    monkeypatch.setattr("gearsearch.search.find.find", lambda *_: signal.raise_signal(number))
    assert main(["find", "--lead", "412.5"]) == 130
    assert capsys.readouterr() == ("", "gearsearch: interrupted; nothing half done is left\n")
    assert signal.getsignal(number) is before


def swallowing(number):
    """Send a signal where its exception is lost, as in what a compiled library calls back."""
    with suppress(KeyboardInterrupt):
        signal.raise_signal(number)


@STOPS
def test_an_interrupt_whose_exception_is_lost_writes_no_file(tmp_path, monkeypatch, capsys, number):
    finish = files._finish
    monkeypatch.setattr(files, "_finish", lambda draft: (swallowing(number), finish(draft)))
    assert main(["shop", "new", str(tmp_path / "shop.toml")]) == 130
    assert capsys.readouterr() == ("", "gearsearch: interrupted; nothing half done is left\n")
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_whose_exception_is_lost_is_no_success(monkeypatch, capsys):
    monkeypatch.setattr("gearsearch.commands.find.run", lambda *_: swallowing(signal.SIGINT) or 0)
    assert main(["find", "--lead", "412.5"]) == 130
    assert capsys.readouterr().err == "gearsearch: interrupted; nothing half done is left\n"


@STOPS
def test_a_signal_that_is_ignored_stays_so(tmp_path, monkeypatch, number):
    """As by nohup, and as a shell has Ctrl-C ignored for what runs in the background."""
    finish = files._finish
    monkeypatch.setattr(files, "_finish", lambda draft: (signal.raise_signal(number), finish(draft)))
    before = signal.signal(number, signal.SIG_IGN)
    try:
        assert main(["shop", "new", str(tmp_path / "shop.toml")]) == 0
        assert signal.getsignal(number) is signal.SIG_IGN
    finally:
        signal.signal(number, before)
    assert [path.name for path in tmp_path.iterdir()] == ["shop.toml"]


def test_an_interrupt_is_told_of_where_there_is_a_terminal_left(monkeypatch):
    class Gone(io.StringIO):
        def write(self, _):
            raise OSError

    monkeypatch.setattr("gearsearch.search.find.find", lambda *_: signal.raise_signal(signal.SIGHUP))
    monkeypatch.setattr(sys, "stderr", Gone())
    assert main(["find", "--lead", "412.5"]) == 130


def test_a_command_runs_in_any_thread():
    """Only the main one may hear a kill."""
    with ThreadPoolExecutor(1) as crew:
        assert crew.submit(main, ["divide", "42"], io.StringIO()).result() == 0


def test_a_defect_is_not_hidden(monkeypatch):
    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr("gearsearch.search.find.find", broken)
    with pytest.raises(ZeroDivisionError):
        main(["find", "--lead", "412.5"])


SAYING = ["find --lead 412.5", "find --help", "divide 42 --format json", "shop show", "--version", "--help"]
ANSWERS = pytest.mark.parametrize(
    ("words", "unbuffered"),
    some([*product(SAYING[:2], [""]), *product(SAYING[2:4], ["1"]), *product(SAYING, ["", "1"])], 4),
)


def sent(words, where, **environment):
    """A command with a shell's redirection; the shell opens what is there and makes nothing."""
    return run(["bash", "-c", f"{sys.executable} -m gearsearch {words} {where}"], **environment)


@ANSWERS
@pytest.mark.skipif(not Path("/dev/full").is_char_device(), reason="no device that is always full")
def test_an_answer_to_a_full_disk_is_one_message_and_exit_code_2(words, unbuffered):
    done = sent(words, "> /dev/full", PYTHONUNBUFFERED=unbuffered)
    assert done.returncode == 2
    assert done.stderr.startswith(b"gearsearch: ")
    assert done.stderr.count(b"\n") == 2
    assert b"no space left on device" in done.stderr


@ANSWERS
def test_an_answer_to_a_closed_stdout_is_one_message_and_exit_code_2(words, unbuffered):
    done = sent(words, ">&-", PYTHONUNBUFFERED=unbuffered)
    assert done.returncode == 2
    assert done.stderr.startswith(b"gearsearch: ")
    assert done.stderr.count(b"\n") == 2
    assert b"closed" in done.stderr


@pytest.mark.parametrize("where", some(["2>&-", "2> /dev/full"]))
@pytest.mark.parametrize(("words", "code"), [("find --lead x", 2), ("find --lead 412.5", 0), ("find --lead 1mm", 1)])
def test_where_nobody_can_be_told_the_exit_code_still_is_that_of_the_answer(where, words, code):
    assert sent(words, where).returncode == code


def test_where_both_streams_are_closed_the_exit_code_says_it():
    assert sent("divide 42", ">&- 2>&-").returncode == 2


def test_files_are_written_where_stdout_is_closed(tmp_path):
    done = sent(f"chart every --from 400mm --to 402mm --out {tmp_path / 'leads.csv'}", ">&-")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "leads.csv").read_text().startswith("lead_mm,")


@pytest.mark.parametrize(
    "environment",
    some(
        [
            {"PYTHONIOENCODING": "cp437", "PYTHONUTF8": "0"},
            {"PYTHONIOENCODING": "latin-1"},
            {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        ]
    ),
)
def test_what_goes_to_no_terminal_is_utf_8_on_every_system(environment):
    words = [sys.executable, "-m", "gearsearch", "divide", "--angle", "17.5"]
    assert "17.500° (17°30′00″)" in run(words, **environment).stdout.decode("utf-8")
    assert run([*words, "--format", "json"], **environment).stdout.isascii()
    assert "17°45'" in run([*words[:-1], "x"], **environment).stderr.decode("utf-8")
