"""How the tool comes back into its groove: what a lathe says of its half nuts, on the sheet and in answers."""

import csv
import io
import json
from fractions import Fraction

import pytest
from shops import DIAL_LATHE

from gearsearch.base.document import plain
from gearsearch.base.units import INCH_MM, parse_pitch
from gearsearch.cli import main
from gearsearch.shop.dial import Dial
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.machines.mill import Mill

ROUTES = (Route("spindle", Fraction(1), "right"),)
DIALLED = Lathe(INCH_MM / 8, ROUTES, dial=Dial(32, 8))
PLAIN = Lathe(INCH_MM / 8, ROUTES)


def said(machine, thread, starts=1, unit="mm"):
    return [plain(line) for line in machine.catching(parse_pitch(thread) * starts, starts, unit)]


@pytest.mark.parametrize(
    ("thread", "starts", "lines"),
    [
        ("16 tpi", 1, ["close the half nuts anywhere"]),
        ("10 tpi", 1, ["any mark"]),
        ("13 tpi", 1, ["every 2nd mark: 1, 3, 5 and 7 if you began at 1"]),
        ("1.75 mm", 1, ["never open the half nuts: reverse the lathe"]),
        ("16 tpi", 2, ["close the half nuts anywhere"]),
        ("13 tpi", 2, ["marks 1 and 5 only, if you began at 1"]),
    ],
)
def test_a_lathe_with_a_dial_says_its_rule(thread, starts, lines):
    told = said(DIALLED, thread, starts)
    assert told[0].endswith(lines[0])
    assert len(told) in (1, starts)


def test_a_mark_on_is_the_next_start():
    """Two starts half an inch apart, as the marks are. Four a quarter inch apart: a mark goes on by two of them."""
    assert said(DIALLED, "2 tpi", 2)[1] == "1 mark on, the tool falls where the next start goes"
    assert len(said(DIALLED, "4 tpi", 4)) == 1


@pytest.mark.parametrize(
    ("thread", "unit", "text"),
    [
        ("16 tpi", "mm", "half nuts: close them anywhere, the tool finds its groove"),
        ("13 tpi", "in", "bring the carriage back 1.0000 in (25.400 mm) or a multiple of it to a stop"),
        ("1.5 mm", "mm", "bring the carriage back 190.500 mm (7.5000 in) or a multiple of it to a stop"),
        ("0.35 mm", "mm", "half nuts: keep them closed and reverse"),
        ("0.473 mm", "mm", "half nuts: never open them: reverse the lathe"),
    ],
)
def test_a_lathe_without_a_dial_says_how_far_to_go_back(thread, unit, text):
    (line,) = said(PLAIN, thread, unit=unit)
    assert text in line


def test_a_mill_opens_nothing():
    assert said(Mill(6, ROUTES), "1.5 mm") == []


def charted(folder, text, *words):
    """The rows of a chart of this shop, and its page."""
    shop, rows, page = folder / "shop.toml", folder / "chart.csv", folder / "chart.md"
    shop.write_text(text, encoding="utf-8")
    outs = ("--out", str(rows), "--out", str(page), "--overwrite", "--shop", str(shop))
    assert main(["chart", *words, *outs], io.StringIO()) == 0
    return list(csv.DictReader(io.StringIO(rows.read_text("utf-8")))), page.read_text("utf-8")


def test_a_list_chart_has_the_rule_of_every_train(tmp_path):
    rows, page = charted(tmp_path, DIAL_LATHE, "list", "unc", "--count", "2")
    assert len({row["dial"] for row in rows}) > 3
    for row in rows:
        lead = Fraction(int(row["lead_num"]), int(row["lead_den"]))
        assert row["dial"] == Dial(32, 8).rule(INCH_MM / 8, lead).short
    assert "dial: where on the chasing dial" in " ".join(page.split())


def test_there_is_no_such_column_without_a_dial_or_in_a_chart_of_every_lead(tmp_path):
    plain_rows, page = charted(
        tmp_path, DIAL_LATHE.replace("[machine.dial]\nteeth = 32\nmarks = 8\n", ""), "list", "unc"
    )
    assert "dial" not in plain_rows[0]
    assert "dial:" not in page
    every, page = charted(tmp_path, DIAL_LATHE, "every", "--from", "2mm", "--to", "2.1mm")
    assert "dial" not in every[0]
    assert "dial:" not in page


@pytest.mark.parametrize(
    ("thread", "short"),
    [
        ("8 tpi", "anywhere"),
        ("10 tpi", "any mark"),
        ("13 tpi", "every 2nd"),
        ("11 1/2 tpi", "1, 5"),
        ("11 1/4 tpi", "same mark"),
        ("2 7/8 tpi", "count 16"),
        ("1.75 mm", "closed"),
    ],
)
def test_a_rule_in_a_word(thread, short):
    assert Dial(32, 8).rule(INCH_MM / 8, parse_pitch(thread)).short == short


def answered(folder, text, *words):
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    out = io.StringIO()
    main([*words, "--shop", str(folder / "shop.toml")], out)
    return out.getvalue()


def test_find_tells_the_rule_of_every_train(tmp_path):
    asked = ("find", "--thread", "13 tpi", "--mounting", "skip")
    answer = json.loads(answered(tmp_path, DIAL_LATHE, *asked, "--format", "json"))
    for fit in answer["fits"]:
        rule = Dial(32, 8).rule(INCH_MM / 8, Fraction(fit["lead_exact"]))
        assert (fit["dial"], fit["carriage_back_mm"]) == (rule.text, float(rule.back.distance_mm))
    assert answer["fits"][0]["dial"] == "every 2nd mark: 1, 3, 5 and 7 if you began at 1"
    (row, *_) = csv.DictReader(io.StringIO(answered(tmp_path, DIAL_LATHE, *asked, "--format", "csv")))
    assert (row["dial"], row["carriage_back_mm"]) == (answer["fits"][0]["dial"], "25.4")


def test_however_narrow_the_terminal_find_tells_the_rule_of_the_first_train(tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    asked = ("find", "--thread", "13 tpi", "--mounting", "skip")
    text = " ".join(answered(tmp_path, DIAL_LATHE, *asked).split())
    assert "no. 1, chasing dial, half nuts: every 2nd mark: 1, 3, 5 and 7 if you began at 1" in text
    mill = DIAL_LATHE.replace("[machine.dial]\nteeth = 32\nmarks = 8\n", "").replace('"lathe"', '"mill"')
    assert "half nuts" not in answered(tmp_path, mill, *asked)


def test_where_the_nuts_must_never_open_no_mark_of_the_next_start_is_told():
    machine = Lathe(INCH_MM / 8, (Route("plain", Fraction(1)),), dial=Dial(32, 8))
    assert len(list(machine.catching(Fraction("4.5"), 3, "mm"))) == 1
    assert machine.dial.rule(INCH_MM / 8, Fraction("4.5")).next_start(3)


def test_without_a_dial_a_lathe_tells_the_way_back_and_a_mill_nothing(tmp_path):
    plain_lathe = DIAL_LATHE.replace("[machine.dial]\nteeth = 32\nmarks = 8\n", "")
    asked = ("find", "--thread", "13 tpi", "--mounting", "skip", "--format", "json")
    fit = json.loads(answered(tmp_path, plain_lathe, *asked))["fits"][0]
    assert (fit["dial"], fit["carriage_back_mm"]) == (None, 25.4)
    mill = plain_lathe.replace('"lathe"', '"mill"')
    fit = json.loads(answered(tmp_path, mill, *asked))["fits"][0]
    assert (fit["dial"], fit["carriage_back_mm"]) == (None, None)


def test_check_tells_the_rule(tmp_path):
    text = answered(tmp_path, DIAL_LATHE, "check", "24/36", "--thread", "1/2 BSW")
    assert "chasing dial, half nuts: any mark" in text
    record = json.loads(answered(tmp_path, DIAL_LATHE, "check", "24/36", "--format", "json"))
    assert (record["dial"], record["carriage_back_mm"]) == ("any mark", 6.35)
