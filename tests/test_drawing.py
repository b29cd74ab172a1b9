"""The picture of the train: to scale, the same bytes each time, and refused where there is nothing true to draw."""

import re
import sys
from functools import partial
from pathlib import Path

import commands
import paper_reading as reading
import pytest
from matplotlib.patches import Circle
from slow import some

from gearsearch.output.drawing import papers, picture
from gearsearch.search.check import check
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train

run = partial(commands.code_of, "sheet")

TRAIN = ("86/(44)/52 64/127", "--lead", "432mm", "--hand", "left")


@pytest.mark.parametrize("ending", some([".svg", ".png", ".pdf"]))
@pytest.mark.parametrize("paper", some(["A4", "Letter"]))
def test_the_same_train_gives_the_same_bytes(ending, paper):
    for name in ("one", "two"):
        assert run(*TRAIN, "--paper", paper, "--out", name + ending) == 0
    assert Path("one" + ending).read_bytes() == Path("two" + ending).read_bytes()


def test_every_gear_is_drawn_where_the_mounting_puts_it():
    """The drawn circles against the placement: centres, pitch and tip radii of module 1.5 mm."""
    checked = check(demo_shop(), Train.parse(TRAIN[0]))
    placement = checked.fit.placement
    with papers.drawing():
        axes = picture.train_figure(checked).axes[1]
    drawn = {
        (round(c.center[0], 6), round(c.center[1], 6), round(c.radius, 6))
        for c in axes.patches
        if isinstance(c, Circle)
    }
    for wheel in placement.wheels:
        at = round(wheel.x_mm, 6), round(wheel.y_mm, 6)
        assert (*at, round(0.75 * wheel.teeth, 6)) in drawn
        assert (*at, round(0.75 * (wheel.teeth + 2), 6)) in drawn
    stud = placement.studs[0]
    assert (round(stud.x_mm, 6), round(stud.y_mm, 6), 10.0) in drawn


@pytest.mark.parametrize("train", some([TRAIN[0], "80/44 48/100", "60/(64)/20"]))
def test_in_the_written_picture_every_gear_stands_where_the_mounting_puts_it_at_the_scale_told(train):
    """Read back from the SVG, which counts from another corner: places are taken from the first shaft."""
    run(train, "--out", "train.svg")
    text = Path("train.svg").read_text(encoding="utf-8")
    scale = float(re.search(r"scale 1 : ([\d.]+)", text)[1])
    wheels = check(demo_shop(), Train.parse(train)).fit.placement.wheels
    first = next(wheel for wheel in wheels if wheel.shaft == 0)
    x0, y0, _ = reading.svg_round(text, f"pitch-{first.teeth}-driver-0")
    for wheel in wheels:
        name = f"{wheel.teeth}-{wheel.role}-{wheel.shaft}"
        x, y, pitch = (scale * mm for mm in reading.svg_round(text, f"pitch-{name}"))
        expected = wheel.x_mm - first.x_mm, wheel.y_mm - first.y_mm, 0.75 * wheel.teeth
        assert (x - scale * x0, y - scale * y0, pitch) == pytest.approx(expected, abs=0.01)
        assert scale * reading.svg_round(text, f"tip-{name}")[2] == pytest.approx(0.75 * (wheel.teeth + 2), abs=0.01)


def test_the_picture_says_where_the_studs_go():
    run(*TRAIN, "--out", "train.svg")
    text = Path("train.svg").read_text(encoding="utf-8")
    for words in ("86/(44)/52 64/127", "stud 1 with 44: 97.5 mm from the table screw", "scale 1 : ", "143.2", "(44)"):
        assert words in text


def test_a_train_that_does_not_mount_is_not_drawn(capsys):
    assert run("72/24 80/44", "--lead", "66mm", "--out", "train.svg") == 2
    assert "72/24 80/44 cannot be drawn to scale, for its mounting is judged: no" in capsys.readouterr().err
    assert list(Path().iterdir()) == []


def test_without_matplotlib_it_is_said_how_to_get_it(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    assert run(*TRAIN, "--out", "train.svg") == 2
    said = capsys.readouterr().err
    assert "python -m pip install matplotlib" in said
    assert ".md" not in said
    assert run(*TRAIN, "--out", "sheet.md") == 0
