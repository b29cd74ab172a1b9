"""The command line: exit codes, messages, and what it does not import."""

import subprocess
import sys

import pytest
from commands import run

from gearsearch import __version__
from gearsearch.cli import COMMANDS, main

HEAVY = {"numpy", "numba", "pandas", "pyarrow", "matplotlib"}


def test_the_version_is_printed():
    assert run("--version") == (0, f"gearsearch {__version__}\n")


def test_without_a_command_the_help_is_printed():
    code, text = run()
    assert code == 0
    assert all(name in text for name in COMMANDS)


def imported(words):
    """Which heavy packages a command has imported when it ends."""
    program = (
        "import sys\nfrom gearsearch.cli import main\n"
        f"try:\n    main({words!r})\nexcept SystemExit:\n    pass\n"
        f"print(sorted({HEAVY!r} & set(sys.modules)), file=sys.stderr)"
    )
    return subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stderr


@pytest.mark.parametrize("words", [["--help"], ["shop", "show"], ["shop", "measure"]])
def test_commands_that_need_no_search_import_nothing_heavy(words):
    assert imported(words) == "[]\n"


@pytest.mark.parametrize(
    "words",
    [
        ["find", "--lead", "412.5", "--hand", "right", "--pairs", "3"],
        ["check", "100/24 32/48", "--lead", "412.5"],
        ["sheet", "--lead", "412.5", "--hand", "right"],
        ["divide", "127"],
        ["extend", "--lead", "412.5", "--lead", "777"],
    ],
)
def test_the_search_for_a_lead_or_a_few_imports_numpy_and_compiles_nothing(words):
    assert imported(words) in ("['numpy']\n", "[]\n")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name, capsys):
    with pytest.raises(SystemExit) as stopped:
        main([name, "--help"])
    assert stopped.value.code == 0
    assert f"gearsearch {name}" in capsys.readouterr().out.split("xamples:")[1]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["fnd"], "gearsearch has no command 'fnd'"),
        (["find", "--lead"], "--lead needs a value"),
        (["find", "--laed", "3"], "gearsearch find has no option --laed"),
        (["find", "--hand", "up", "--lead", "3"], "--hand cannot be 'up'"),
        (["find", "--lead", "412", "--pairs", "two"], "--pairs 'two' is not a whole number"),
        (["find", "--lead", "412", "--count", "1.5"], "--count '1.5' is not a whole number"),
        (["find", "--lead", "412", "--route", "no"], "there is no route 'no' in Millrace workshop"),
        (["find", "--lead", "412", "--without", "99"], "there is no loose gear of 99 teeth to do without"),
    ],
)
def test_a_wrong_request_gets_one_message_and_exit_code_2(words, message, capsys):
    code, text = run(*words)
    error = capsys.readouterr().err
    assert code == 2
    assert text == ""
    assert error.startswith(f"gearsearch: {message}")
    assert "\nhelp: " in error
    assert "Traceback" not in error


def test_a_reader_that_goes_away_is_no_crash():
    program = f"{sys.executable} -m gearsearch shop show | head -n 1"
    done = subprocess.run(["bash", "-c", program], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert len(done.stdout.splitlines()) == 1


@pytest.mark.parametrize(
    ("plain", "quoted"),
    [
        (["check", "80/44", "48/100", "--lead", "412.5"], ["check", "80/44 48/100", "--lead", "412.5"]),
        (["check", "--hand", "RH", "80/44", "48/100"], ["check", "--hand", "right", "80/44 48/100"]),
        (["sheet", "--lead", "412.5", "44/(80)/20", "60/86"], ["sheet", "44/(80)/20 60/86", "--lead", "412.5"]),
    ],
)
def test_a_train_may_be_typed_without_quotes(plain, quoted):
    assert run(*plain) == run(*quoted)
    assert run(*plain)[1]


@pytest.mark.parametrize("words", [["3/8", "48/100"], ["48/100", "mm"], ["in", "48/100"]])
def test_only_pairs_right_behind_the_train_belong_to_it(words):
    assert run("check", "80/44", "--lead", "3", *words) == (2, "")
    assert run("sheet", "--lead", "3", "mm", "80/44", *words) == (2, "")


@pytest.mark.parametrize("hand", ["right", "R", "rh", "Right-hand", " RIGHT hand"])
def test_a_hand_may_be_typed_in_short(hand):
    assert run("find", "--lead", "412.5", "--hand", hand) == run("find", "--lead", "412.5", "--hand", "right")
