"""``gearsearch chart``: files, exit codes, what is said, and what an interrupt leaves behind."""

import io
import json
import os
import re
import shlex
import signal
import subprocess
import sys
import time
from importlib.util import find_spec

import pyarrow.parquet as pq
import pytest

from gearsearch import cli
from gearsearch.shop.reader import DEMO_TEXT


def run(capsys, *words):
    """Exit code, stdout and stderr of a command."""
    out = io.StringIO()
    code = cli.main(["chart", *words], out)
    return code, out.getvalue(), capsys.readouterr().err


def test_several_files_are_written_in_one_go(capsys, tmp_path):
    words = ("every", "--from", "400mm", "--to", "420mm", "--out", "a.parquet", "--out", "a.md", "--out", "a.csv")
    code, out, said = run(capsys, *words)
    rows = pq.read_metadata(tmp_path / "a.parquet").num_rows
    assert (code, out) == (0, "")
    told = [line.partition(" (")[0] for line in said.splitlines()]
    assert told[:3] == ["written: a.parquet", "written: a.md", "written: a.csv"]
    assert told[3].startswith("the shop is the built-in demo shop")
    assert said.count(f"{rows} rows") == 3
    assert len((tmp_path / "a.csv").read_text(encoding="utf-8").splitlines()) == rows + 1


EVERY = ("every", "--from", "400mm", "--to", "420mm")


@pytest.mark.parametrize("where", [(), ("--out", "-")])
@pytest.mark.parametrize("words", [EVERY, ("list", "iso-54"), ("grid", "--diameters", "10,20", "--helix-angles", "20")])
def test_without_a_file_a_chart_is_printed_its_rows_first(capsys, tmp_path, words, where):
    code, out, said = run(capsys, *words, *where)
    assert (code, said) == (0, "")
    assert out.partition("\n")[0].endswith(", Millrace workshop (demo shop)")
    assert f"\n- made by: gearsearch chart {' '.join(words)}\n" in out
    assert "| " not in out
    assert "tried" not in out
    assert list(tmp_path.iterdir()) == []


def test_a_printed_chart_holds_every_lead_of_its_file(capsys, tmp_path):
    printed = run(capsys, *EVERY, "--out", "-", "--out", "a.parquet")[1]
    found = re.findall(r"^ *(\d+\.\d+) ", printed, re.MULTILINE)
    table = pq.read_table(tmp_path / "a.parquet").to_pylist()
    assert [float(lead) for lead in found] == [round(row["lead_mm"], 3) for row in table]


def test_the_command_is_told_without_the_files_it_wrote_to(capsys, tmp_path):
    run(capsys, "every", "--from", "400mm", "--to", "420mm", "--hand", "left", "--thin", "1%", "--out", "a.parquet")
    facts = pq.read_schema(tmp_path / "a.parquet").metadata
    assert facts[b"command"] == b"gearsearch chart every --from 400mm --to 420mm --thin 1% --hand left"


@pytest.mark.parametrize(
    "words",
    [
        ("every", "--from", "400mm", "--to", "402mm", "--thin", "1%"),
        ("every", "--from", "400mm", "--to", "402mm", "--all-arrangements", "--pairs", "1", "--without", "20"),
        ("list", "iso-54", "--starts", "2", "--count", "1", "--tolerance", "0.1%", "--length", "60mm", "--pairs", "1"),
        ("grid", "--diameters", "10", "--helix-angles", "20", "--mounting", "skip"),
        ("grid", "--diameters", "10", "--lead-angles", "20", "--hand", "right", "--without", "20", "--without", "24"),
    ],
    ids=" ".join,
)
def test_all_that_the_rows_hang_on_is_told_and_nothing_that_was_left_as_it_is(capsys, tmp_path, words):
    layout = ("--paper", "Letter", "--landscape", "--rows", "20", "--date", "today", "--overwrite")
    run(capsys, *words, *layout, "--out", "a.parquet", "--out", "a.md")
    told = pq.read_schema(tmp_path / "a.parquet").metadata[b"command"].decode()
    assert told == shlex.join(["gearsearch", "chart", *words])


def test_a_list_and_a_grid_are_charted(capsys, tmp_path):
    (tmp_path / "ours.csv").write_text("name,wanted,tolerance\nfeed screw,13 tpi,0.1%\n", encoding="utf-8")
    words = ("list", "ours.csv", "--route", "spindle", "--count", "2", "--length", "60mm", "--date", "1 May 2026")
    assert run(capsys, *words, "--out", "l.md")[0] == 0
    text = (tmp_path / "l.md").read_text(encoding="utf-8")
    assert "feed screw" in text
    assert "1 May 2026" in text
    grid = (
        "grid",
        "--diameters",
        "10:20:5,30",
        "--lead-angles",
        "5,10",
        "--hand",
        "right",
        "--route",
        "spindle",
        "--out",
        "g.csv",
    )
    assert run(capsys, *grid)[0] == 0
    assert len((tmp_path / "g.csv").read_text(encoding="utf-8").splitlines()) == 1 + 4 * 2


def test_a_lead_is_looked_up_as_table_json_and_csv(capsys):
    run(capsys, "every", "--from", "400mm", "--to", "420mm", "--hand", "right", "--out", "a.parquet")
    look = ("look", "a.parquet", "--lead", "412.5mm", "--count", "3")
    code, table, _ = run(capsys, *look)
    assert code == 0
    assert re.search(r"412.500 mm  16.2402 in +exact", table)
    records = json.loads(run(capsys, *look, "--format", "json")[1])
    assert [record["lead_exact"] for record in records] == ["576000/1397", "4536/11", "825/2"]
    assert run(capsys, *look, "--format", "csv")[1].splitlines()[0].startswith("lead_mm,lead_exact,error_mm")


def test_a_chart_without_rows_gives_1(capsys):
    words = ("every", "--from", "359.99999mm", "--to", "359.999999mm", "--out", "a.parquet")
    assert run(capsys, *words)[0] == 1
    assert run(capsys, "look", "a.parquet", "--lead", "1mm")[:2][0] == 1


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ("every", "--out", "a.xyz"),
            "a.xyz has none of the endings that can be written\n"
            "help: end the name in one of .parquet, .md, .pdf, .csv, .html",
        ),
        (("every", "--out", "no/a.md"), "no/a.md cannot be written: there is no folder no"),
        (("every", "--thin", "0%", "--out", "a.md"), "--thin '0%' is not a share above zero"),
        (("every", "--thin=-1%", "--out", "a.md"), "--thin '-1%' is not a share above zero"),
        (("every", "--thin", "x", "--out", "a.md"), "--thin 'x' cannot be read"),
        (("every", "--thin", "1e400%", "--out", "a.md"), "--thin '1e400%' is not of a size that can be made"),
        (("every", "--thin", "1e99999999", "--out", "a.md"), "--thin '1e99999999' is not of a size that can be made"),
        (("grid", "--diameters", "9", "--helix-angles", "0:9:3", "--out", "a.md"), "helix angle 0 is not above 0°"),
        (
            ("grid", "--diameters", "9", "--helix-angles", "1e-400", "--out", "a.md"),
            "--helix-angles '1e-400' is less than 0.000000001 degrees",
        ),
        (("every", "--from", "2m", "--to", "1m", "--out", "a.md"), "there is no lead from 2000.000 mm to 1000.000 mm"),
        (("every", "--to", "1mm", "--out", "a.md"), "leads from the shortest to 1.000 mm are out of reach"),
        (("list", "iso261", "--out", "a.md"), "there is no list 'iso261'\nhelp: did you mean iso-261?"),
        (
            ("grid", "--diameters", "9:5:1", "--helix-angles", "5", "--out", "a.md"),
            "--diameters '9:5:1' is not a range",
        ),
        (("grid", "--diameters", "9", "--out", "a.md"), "a grid needs angles of one kind"),
        (("look", "a.parquet", "--lead", "5mm"), "there is no chart a.parquet"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_mistakes_are_told_with_exit_code_2(capsys, words, message):
    code, out, said = run(capsys, *words)
    assert (code, out) == (2, "")
    assert f"gearsearch: {message}" in said


def test_a_file_that_is_there_is_kept_unless_overwrite_is_asked_for(capsys, tmp_path):
    (tmp_path / "a.md").write_text("old", encoding="utf-8")
    words = ("every", "--from", "400mm", "--to", "401mm", "--out", "a.md")
    assert run(capsys, *words)[0] == 2
    assert (tmp_path / "a.md").read_text(encoding="utf-8") == "old"
    assert run(capsys, *words, "--overwrite")[0] == 0
    assert (tmp_path / "a.md").read_text(encoding="utf-8") != "old"


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_leaves_the_old_file_and_no_draft(tmp_path, stop):
    (tmp_path / "a.parquet").write_text("old", encoding="utf-8")
    words = ["every", "--pairs", "4", "--mounting", "skip", "--out", "a.parquet", "--overwrite"]
    process = subprocess.Popen(
        [sys.executable, "-m", "gearsearch", "chart", *words],
        cwd=tmp_path,
        stderr=subprocess.PIPE,
        env={**os.environ, "GEARSEARCH_SHOP": ""} if os.environ.get("GEARSEARCH_SHOP") else None,
    )
    for _ in range(600):
        if len(list(tmp_path.iterdir())) > 1:
            break
        time.sleep(0.05)
    drafts = [path.name for path in tmp_path.iterdir() if path.name != "a.parquet"]
    process.send_signal(stop)
    said = process.communicate(timeout=60)[1].decode()
    assert len(drafts) == 1
    assert process.returncode == 130, said
    assert "interrupted; nothing half done is left" in said
    assert [path.name for path in tmp_path.iterdir()] == ["a.parquet"]
    assert (tmp_path / "a.parquet").read_text(encoding="utf-8") == "old"


def test_a_saved_chart_is_looked_up_in_the_unit_of_its_own_shop(capsys, tmp_path):
    """Wherever it is read; a shop that is named goes before it, and CSV says no unit."""
    inches = DEMO_TEXT.replace('units = "mm"', 'units = "in"')
    (tmp_path / "inch.toml").write_text(inches, encoding="utf-8")
    words = ("every", "--from", "15in", "--to", "17in", "--shop", "inch.toml", "--out", "a.parquet", "--out", "a.csv")
    assert run(capsys, *words)[0] == 0
    (tmp_path / "mm.toml").write_text(DEMO_TEXT, encoding="utf-8")
    inch, metric = "wanted: 16.0000 in (406.400 mm)", "wanted: 406.400 mm (16.0000 in)"
    assert inch in run(capsys, "look", "a.parquet", "--lead", "16")[1]
    assert metric in run(capsys, "look", "a.parquet", "--lead", "406.4", "--shop", "mm.toml")[1]
    assert inch in run(capsys, "look", "a.csv", "--lead", "16", "--shop", "inch.toml")[1]
    assert metric in run(capsys, "look", "a.csv", "--lead", "406.4")[1]


def test_a_window_may_be_given_in_threads_per_inch(capsys, tmp_path):
    more = ("--hand", "right", "--pairs", "1", "--route", "spindle", "--out")
    assert run(capsys, "every", "--from", "4 tpi", "--to", "3 1/2 tpi", *more, "a.csv")[0] == 0
    assert run(capsys, "every", "--from", "1/4in", "--to", "2/7in", *more, "b.csv")[0] == 0
    assert (tmp_path / "a.csv").read_text() == (tmp_path / "b.csv").read_text()


def test_threads_per_inch_are_looked_up_as_they_are(capsys):
    assert run(capsys, "every", "--to", "16mm", "--out", "a.parquet")[0] == 0
    assert "wanted: 14.514 mm (0.5714 in)" in run(capsys, "look", "a.parquet", "--lead", "1 3/4 tpi")[1]


def test_names_with_bytes_that_are_no_text_stop_no_chart(capsys, tmp_path):
    odd = [os.fsdecode(name) for name in (b"shop\xff.toml", b"list\xff.csv", b"leads\xff.parquet", b"leads\xff.pdf")]
    (tmp_path / odd[0]).write_text(DEMO_TEXT, encoding="utf-8")
    (tmp_path / odd[1]).write_text("name,wanted\na,412.5mm\n", encoding="utf-8")
    drawn = odd[3:] * (find_spec("matplotlib") is not None)
    outs = [word for name in (odd[2], *drawn, "leads.md", "leads.csv") for word in ("--out", name)]
    assert run(capsys, "list", odd[1], "--shop", odd[0], "--date", "\udcff", *outs)[0] == 0
    assert "shop?.toml" in (tmp_path / "leads.md").read_text(encoding="utf-8")
    assert run(capsys, "look", odd[2], "--lead", "412.5mm")[0] == 0
    words = ["sheet", "--lead", "412.5", "--shop", odd[0], "--date", "\udcff", "--out", "sheet.md"]
    assert cli.main(words, io.StringIO()) == 0
    assert "shop?.toml" in (tmp_path / "sheet.md").read_text(encoding="utf-8")


def test_a_chart_of_the_demo_shop_says_so_on_every_page_and_where_it_is_looked_up(capsys, tmp_path):
    outs = ("--out", "leads.md", "--out", "leads.parquet", "--rows", "20")
    run(capsys, "every", "--from", "400mm", "--to", "420mm", *outs)
    titles = [line for line in (tmp_path / "leads.md").read_text(encoding="utf-8").splitlines() if line[:3] == "## "]
    assert len(titles) > 1
    assert all("demo" in title for title in titles)
    assert "demo" in run(capsys, "look", "leads.parquet", "--lead", "412mm")[1]
    assert "demo" in run(capsys, "every", "--from", "400mm", "--to", "401mm", "--out", "few.csv")[2]
    (tmp_path / "shop.toml").write_text(DEMO_TEXT, encoding="utf-8")
    run(capsys, "every", "--from", "400mm", "--to", "420mm", *outs, "--overwrite")
    assert "demo" not in (tmp_path / "leads.md").read_text(encoding="utf-8")
    assert "demo" not in run(capsys, "look", "leads.parquet", "--lead", "412mm")[1]
