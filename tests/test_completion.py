"""Shells complete commands, options and files, and the manual page is one."""

import shutil
import subprocess
import sys
from pathlib import Path

import man
import pytest
from commands import run

from gearsearch.commands.completion import SHELLS


@pytest.mark.skipif(shutil.which("man") is None, reason="man is not installed")
def test_the_manual_page_is_read_without_a_complaint():
    done = subprocess.run(
        ["man", "--warnings", "-P", "cat", str(man.PAGE)],
        capture_output=True,
        text=True,
        env={"LC_ALL": "C.UTF-8", "PATH": "/usr/bin:/bin"},
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "--greatest-step-up R" in done.stdout


@pytest.mark.parametrize("shell", SHELLS)
def test_what_makes_a_shell_complete_is_a_script_that_it_takes(shell):
    code, script = run("completion", shell)
    assert code == 0
    for word in ("find", "helix-angle", "right", "every"):
        assert word in script
    Path("script").write_text(script, encoding="utf-8")
    if shutil.which(shell):
        done = subprocess.run([shell, "-n", "script"], capture_output=True, text=True)
        assert (done.returncode, done.stderr) == (0, "")


COMPLETED = {
    "fi": "find",
    "find --helix": "--helix-angle",
    "find --hand ri": "right",
    "chart look lea": "leads.parquet",
    "sheet --out she": "sheet.md",
    "shop show --format j": "json",
}


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not installed")
def test_bash_completes_commands_options_words_and_files():
    Path("script").write_text(run("completion", "bash")[1], encoding="utf-8")
    for name in ("leads.parquet", "sheet.md"):
        Path(name).touch()
    asked = "\n".join(
        f'COMP_WORDS=(gearsearch {line}); COMP_CWORD={len(line.split())}; _shtab_gearsearch; echo "${{COMPREPLY[@]}}"'
        for line in COMPLETED
    )
    done = subprocess.run(["bash", "-c", f". ./script\n{asked}"], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == list(COMPLETED.values())


def test_nothing_of_it_is_imported_before_it_is_asked_for():
    program = "import sys; from gearsearch.cli import build_parser; build_parser(); print('shtab' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
