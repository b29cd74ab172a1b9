"""The template on paper: a millimetre on it is a millimetre of the blank, in every file that can be written."""

import math
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path

import commands
import paper_reading as reading
import pytest
from slow import some

from gearsearch.output.drawing import papers, sheet_pages
from gearsearch.output.drawing.templates import TAB_MM, Template
from gearsearch.output.drawing.tiles import template_sheet, template_tiles
from gearsearch.search.check import check
from gearsearch.search.terms import Terms
from gearsearch.sheet.page import Job
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part

run = partial(commands.code_of, "sheet")

JOB = ("80/44 48/100", "--lead", "412.5mm", "--hand", "right", "--length", "60mm", "--diameter", "50mm")
LENGTH = math.hypot(60, 60 * math.pi * 50 / 412.5)  # of the helix on the paper
HUNDREDTH = 0.01


def written(figures, ending):
    """A file of figures, read back."""
    with papers.drawing():
        papers.save(figures(), Path("file" + ending), ending)
    return Path("file" + ending).read_bytes()


def test_lengths_in_the_svg_are_true():
    assert run(*JOB, "--picture", "template", "--out", "wrap.svg") == 0
    text = Path("wrap.svg").read_text(encoding="utf-8")
    (helix,) = reading.svg_lines(text, "helix")
    across, up = (reading.svg_lines(text, f"ruler-{way}")[0] for way in ("across", "up"))
    assert math.dist(*helix) == pytest.approx(LENGTH, abs=HUNDREDTH)
    assert across[1][0] - across[0][0] == pytest.approx(100, abs=HUNDREDTH)
    assert across[1][1] == across[0][1]
    assert abs(up[1][1] - up[0][1]) == pytest.approx(100, abs=HUNDREDTH)
    outline = reading.svg_lines(text, "outline")[0]
    assert max(x for x, _ in outline) - min(x for x, _ in outline) == pytest.approx(50 * math.pi, abs=HUNDREDTH)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_on_paper_a_right_hand_helix_rises_to_the_right(hand):
    text = written(lambda: [template_sheet(Template(400, hand, 50, 60))], ".svg").decode()
    ((x1, y1), (x2, y2)) = reading.svg_lines(text, "helix")[0]
    rises_right = (x2 - x1) * -(y2 - y1) > 0  # y counts down in this format
    assert rises_right == (hand == "right")


@pytest.mark.parametrize(("name", "size"), some(papers.PAPERS_MM.items()))
def test_lengths_in_the_pdf_are_true_and_pages_have_the_size_of_the_paper(name, size):
    assert run(*JOB, "--picture", "template", "--paper", name, "--out", "wrap.pdf") == 0
    data = Path("wrap.pdf").read_bytes()
    assert reading.pdf_pages(data) == [pytest.approx(size, abs=HUNDREDTH)]
    lengths = [math.dist(line[:2], line[2:]) for line in reading.pdf_lines(data)]
    assert sum(abs(length - 100) < HUNDREDTH for length in lengths) == 2
    assert sum(abs(length - LENGTH) < HUNDREDTH for length in lengths) == 1


@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_sheets_of_a_large_template_cover_it_without_gap_or_overlap(name):
    template = Template(900, "left", 120, 400)
    with papers.drawing():
        figures = template_tiles(template, name)
    parts = [(figure.axes[1].get_xlim(), figure.axes[1].get_ylim()) for figure in figures]
    area = sum((x1 - x0 - 1.2) * (y1 - y0 - 1.2) for (x0, x1), (y0, y1) in parts)
    assert area == pytest.approx((template.around_mm + TAB_MM) * 400.5)
    for figure in figures:
        width, height = (side * 25.4 for side in figure.get_size_inches())
        box, axes = figure.axes[1].get_position(), figure.axes[1]
        assert axes.get_xlim()[1] - axes.get_xlim()[0] == pytest.approx(box.width * width)
        assert axes.get_ylim()[1] - axes.get_ylim()[0] == pytest.approx(box.height * height)
        assert box.x1 * width <= width - 5
        assert box.y1 * height <= height - 5


def test_a_ramp_is_given_its_saw_cut_and_a_gear_its_blank():
    ramp = (
        "60/20",
        "--lead",
        "120mm",
        "--hand",
        "left",
        "--length",
        "30mm",
        "--end-mill",
        "10mm",
        "--wall",
        "36",
        "60",
    )
    assert run(*ramp, "--picture", "template", "--out", "ramp.svg") == 1  # such a train does not mount: it is short
    text = Path("ramp.svg").read_text(encoding="utf-8")
    assert "dashes: a flat saw cut 41.5° from square, 1.000 mm clear of the ramp at least" in text
    assert len(reading.svg_lines(text, "saw")) == 1
    gear = ("--gear-module", "2", "--teeth", "23", "--helix-angle", "15", "--hand", "left", "--length", "20mm")
    assert run(*gear, "--picture", "template", "--out", "gear.svg") == 0
    text = Path("gear.svg").read_text(encoding="utf-8")
    assert "Wrap round diameter 51.623 mm" in text
    assert len(reading.svg_lines(text, "helix")) >= 23


def test_a_template_says_that_it_shows_the_wanted_lead_where_the_train_cuts_another():
    """416 mm wanted, 412.5 mm cut: over 60 mm of a diameter of 50 mm 9424.778 × (1/412.5 − 1/416) = 0.192 mm."""
    assert run(JOB[0], "--lead", "416mm", *JOB[3:], "--picture", "template", "--out", "wrap.svg") == 0
    text = Path("wrap.svg").read_text(encoding="utf-8")
    assert "hand, lead 416.000 mm" in text
    assert (
        "this is the wanted lead: the train cuts 412.500 mm, at the upper end its line lies 0.192 mm to the right"
    ) in text
    assert run(*JOB, "--picture", "template", "--out", "exact.svg") == 0
    assert "this is the wanted lead" not in Path("exact.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            [*JOB[:-2], "--out", "wrap.svg"],
            "a template to wrap round needs the lead, its hand, the diameter and the length of the cut\n"
            "help: give --lead, --hand, --diameter and --length\n",
        ),
        (
            [*JOB, "--tilt", "30", "--out", "wrap.svg"],
            "a template to wrap round shows a helix, and a tilted head cuts the rise of a cam, which has none\n"
            "help: ask for another picture, as in --picture train\n",
        ),
        (
            [*JOB[:-4], "--length", "1900mm", "--diameter", "500mm", "--out", "wrap.pdf"],
            "the template takes 78 sheets of A4, and at most 20 are put together\n"
            "help: write it as .svg: one sheet of its own size\n",
        ),
    ],
)
def test_a_template_that_cannot_be_says_why(words, message, capsys):
    assert run(*words, "--picture", "template") == 2
    assert capsys.readouterr().err == f"gearsearch: {message}"
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize("length", [20, 60])
def test_both_angles_are_told_and_the_strip_has_one_name(length):
    """Lead 412.5 mm at diameter 50 mm: helix angle atan(157.080 / 412.5) = 20.85°, lead angle 69.15°."""
    with papers.drawing():
        figure = template_sheet(Template(412.5, "right", 50, length))
        words = "\n".join(text.get_text() for axes in figure.axes for text in axes.texts)
    assert "helix angle 20.85° from the axis, lead angle 69.15° square to it on this surface" in words
    assert "the strip with the dotted edge goes under the other edge" in words
    assert "tab" not in words


def test_a_short_strip_has_no_room_for_words():
    with papers.drawing():
        short, long = (template_sheet(Template(412.5, "right", 50, length)) for length in (19, 21))
    assert [len(figure.axes[1].texts) for figure in (short, long)] == [0, 1]


def test_the_printed_sheet_of_a_cam_has_no_template():
    with papers.drawing():
        pages = sheet_pages.pages(cam(30)), sheet_pages.pages(cam(None))
    helix = [[line.get_gid() for figure in figures for axes in figure.axes for line in axes.lines] for figures in pages]
    assert ["helix" in gids for gids in helix] == [False, True]


def cam(tilt):
    """A job of a train whose head is tilted, or is not."""
    shop, wanted = demo_shop(), part(lead="412.5mm").at(Fraction(50))
    wanted = wanted if tilt is None else replace(wanted, lead_mm=wanted.lead_mm / 2).tilted(tilt)
    return Job(check(shop, Train.parse("80/44 48/100"), replace(wanted, length_mm=60), Terms(hand="right")))
