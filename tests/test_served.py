"""Which leads of a list or a grid have no train, the route that has one for them, and the exit code of none at all."""

import io
from functools import partial

import commands
import pytest
from cells import codes

import gearsearch as gs
from gearsearch import cli
from gearsearch.charts.served import lacking

run = partial(commands.run, "chart")
SHOP = gs.demo()


def trains_by(route, leads, **more):
    """How many of some leads ``find`` has a train for, asked lead by lead."""
    return sum(SHOP.find(f"{lead} mm", route=route, count=1, **more).found for lead in leads)


@pytest.fixture
def ours(tmp_path):
    """A list of leads of which the worm reaches the last alone."""
    file = tmp_path / "ours.csv"
    leads = ("0.2", "1", "2", "2.5", "412.5")
    file.write_text("name,wanted\n" + "".join(f"n{lead},{lead}mm\n" for lead in leads), "utf-8")
    return file, leads


@pytest.mark.parametrize("hand", ["right", "either"])
def test_how_many_have_no_train_and_by_which_route_they_have_one_is_what_find_finds(ours, hand):
    file, leads = ours
    chart = SHOP.chart.list(file, hand=hand)
    without = [leads[item] for item in lacking(chart.chart)]
    assert len(without) == len(leads) - trains_by("worm", leads, hand=hand) == 4
    assert codes(chart) == ["no-train", "other-route"]
    assert f"{len(without)} of {len(leads)} leads" in chart.notes[0].text
    assert f"--route any: a train for {trains_by('spindle', without, hand=hand)} of them" in chart.notes[1].text
    assert "by spindle" in chart.notes[1].text
    assert chart.found
    assert [note["code"] for note in chart.record()["notes"]] == codes(chart)


def test_where_every_lead_has_a_train_nothing_is_said():
    assert codes(SHOP.chart.list("iso-54", route="any")) == []
    assert codes(SHOP.chart.every("480 mm", "482 mm")) == []


@pytest.mark.parametrize("more", [(), ("--fewest-changes", "--tolerance", "0.1%")])
def test_a_chart_of_dashes_alone_ends_with_1_and_says_what_would_help(more):
    code, text = run("list", "iso-metric-coarse", *more)
    assert code == 1
    assert "--route spindle" in text
    assert run("list", "iso-metric-coarse", "--route", "spindle", *more)[0] == 0


def test_beside_a_file_it_is_said_too(capsys, tmp_path):
    assert cli.main(["chart", "list", "iso-metric-coarse", "--out", str(tmp_path / "a.csv")], io.StringIO()) == 1
    assert "--route spindle" in capsys.readouterr().err
    assert (tmp_path / "a.csv").exists()


def test_where_no_route_helps_find_is_named_and_its_command_can_be_typed(tmp_path):
    (tmp_path / "a.csv").write_text("name,wanted\nfine,0.02mm\nlong,412.5mm\n", "utf-8")
    code, text = run("list", str(tmp_path / "a.csv"))
    assert code == 0
    assert "gearsearch find --lead 0.02mm" in text
    assert cli.main(["find", "--lead", "0.02mm"], io.StringIO()) == 1


def test_a_grid_of_dashes_alone_likewise():
    code, text = run("grid", "--diameters", "2,3", "--helix-angles", "40,60")
    assert code == 1
    assert "4 of 4 cells" in text
    assert codes(SHOP.chart.grid([20, 3], helix_angles=[20, 40])) == ["no-train", "other-route"]
    assert run("grid", "--diameters", "20,3", "--helix-angles", "20,40")[0] == 0


@pytest.mark.parametrize("route", ["worm", "spindle"])
def test_the_advice_takes_no_train_away_that_is_there(route, tmp_path):
    """2 mm is the spindle's, 412.5 mm the worm's: each route in place of the other would only turn it round."""
    (tmp_path / "a.csv").write_text("name,wanted\na,412.5mm\nb,2mm\n", "utf-8")
    chart = SHOP.chart.list(tmp_path / "a.csv", route=route)
    assert "--route any: a train for all of them" in chart.notes[1].text
    assert codes(SHOP.chart.list(tmp_path / "a.csv", route="any")) == []


def test_what_was_not_looked_at_is_not_counted(tmp_path, monkeypatch):
    """The second lead, 1 km, is beyond both routes; it is not among the first, of which the spindle has a train."""
    monkeypatch.setattr("gearsearch.charts.served._MOST_TRIED", 1)
    (tmp_path / "a.csv").write_text("name,wanted\na,2mm\nb,1000000mm\n", "utf-8")
    assert "a train for at least 1 of them" in SHOP.chart.list(tmp_path / "a.csv").notes[1].text


def test_of_a_tolerance_to_one_side_not_the_nearest_lead_decides(tmp_path):
    """The nearest spindle lead to each is shorter, and outside; a farther one is longer, and inside."""
    rows = "".join(f"n,{lead}mm,+0.9% -0.0001%\n" for lead in ("1.0013", "1.0003", "1.0009"))
    (tmp_path / "a.csv").write_text(f"name,wanted,tolerance\n{rows}", "utf-8")
    assert "--route spindle: a train for all of them" in SHOP.chart.list(tmp_path / "a.csv").notes[1].text


def test_a_lead_more_than_1_percent_off_is_lacking_unless_its_tolerance_takes_it(tmp_path):
    """By the spindle the nearest right-hand leads are 2.4 %, 1.1 % and 0.5 % off."""
    file = tmp_path / "a.csv"
    file.write_text("name,wanted\na,155mm\nb,157mm\nc,158mm\n", "utf-8")
    asked = {"hand": "right", "route": "spindle"}
    assert lacking(SHOP.chart.list(file, **asked).chart) == [0, 1]
    assert lacking(SHOP.chart.list(file, tolerance="3%", **asked).chart) == []
