"""The error along the cut, and the leads around a wanted one: the plots against figures got otherwise."""

import io
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import gcd
from pathlib import Path

import numpy as np
import pytest
from slow import some

from gearsearch.cli import main
from gearsearch.output.drawing import papers, plots
from gearsearch.search.check import check
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part
from gearsearch.work.tolerance import Tolerance

SHOP = demo_shop()


def checked(lead="412.6", tolerance="0.02 mm over 60 mm"):
    """The train of 412.5 mm, judged for a lead."""
    cut = {"length_mm": Fraction(60), "tolerance": None if tolerance is None else Tolerance.parse(tolerance)}
    return check(SHOP, Train.parse("80/44 48/100"), replace(part(lead=lead), **cut))


def lines_of(figure):
    """The far end of every line of the plot that begins at nothing, heaviest last."""
    lines = sorted(figure.axes[1].lines, key=lambda line: line.get_linewidth())
    return [line.get_ydata()[-1] for line in lines if len(line.get_xdata()) == 2 and line.get_ydata()[0] == 0]


def test_the_train_drifts_by_the_error_and_the_band_by_what_is_allowed():
    """Wanted 412.6, cut 412.5, over 60 mm: 60 × (412.5 / 412.6 − 1); allowed 0.02 each way; the screw 1e-4."""
    with papers.drawing():
        ends = lines_of(plots.error_figure(checked()))
    assert ends[-1] == pytest.approx(60 * (412.5 / 412.6 - 1))
    accuracy = float(SHOP.machine.screw_accuracy)
    assert sorted(ends[1:-1]) == pytest.approx(sorted([-0.02, 0.02, -60 * accuracy, 60 * accuracy]))


@pytest.mark.parametrize(
    ("lead", "tolerance", "words"),
    [
        ("412.6", "0.02 mm over 60 mm", "-0.015 mm over 60.000 mm of cut (-242.4 ppm); INSIDE the tolerance, hatched"),
        ("412.6", "100 ppm", "OUTSIDE the tolerance, hatched"),
        ("412.5", None, "the lead is exact; cut 60.000 mm long"),
        ("412.5", "+0.1/-0 mm", "the lead is exact; cut 60.000 mm long; INSIDE the tolerance"),
    ],
)
def test_the_plot_says_what_it_shows(lead, tolerance, words):
    with papers.drawing():
        figure = plots.error_figure(checked(lead, tolerance))
    assert words in figure.axes[0].texts[1].get_text()


def naive_leads(low, high):
    """Every lead of one or two pairs in a window, by trying all gears of the demo shop one by one."""
    (gears,) = SHOP.gears
    owned = gears.available()
    counts = np.array(sorted(owned))
    drivers = [c for n in (1, 2) for c in product(counts.tolist(), repeat=n) if list(c) == sorted(c)]
    base = SHOP.drive(SHOP.route()).lead_of_machine_mm
    found = set()
    for one, two in product(drivers, repeat=2):
        if len(one) != len(two):
            continue
        over, under = int(np.prod(two)), int(np.prod(one))
        if not low * under <= base * over <= high * under:
            continue
        if any((one + two).count(teeth) > owned[teeth] for teeth in one + two):
            continue
        common = gcd(over, under)
        found.add((over // common, under // common))
    return sorted(base * Fraction(*ratio) for ratio in found)


def test_every_lead_around_the_wanted_one_is_there():
    coverage = plots.coverage_of(SHOP, SHOP.route(), Fraction(825, 2))
    assert list(coverage.leads_mm) == naive_leads(*coverage.window_mm)
    gaps = [b / a for a, b in zip(coverage.leads_mm, coverage.leads_mm[1:], strict=False)]
    assert coverage.widest[1] / coverage.widest[0] == max(gaps)
    assert coverage.around_wanted[0] == Fraction(825, 2)


def test_the_widest_gap_is_the_widest_for_its_lead():
    """Of 10, 19 and 30 the gap from 10 to 19 is 90 %, that from 19 to 30 is 58 % though longer."""
    coverage = plots.Coverage(tuple(map(Fraction, (10, 15, 100, 110))), (Fraction(1), Fraction(200)), Fraction(12))
    assert coverage.widest == (15, 100)
    coverage = plots.Coverage(tuple(map(Fraction, (10, 19, 30))), (Fraction(1), Fraction(200)), Fraction(12))
    assert coverage.widest == (10, 19)
    assert coverage.around_wanted == (10, 19)


@pytest.mark.parametrize("picture", ["error", "coverage"])
@pytest.mark.parametrize("ending", some([".svg", ".png", ".pdf"]))
def test_the_same_plot_is_the_same_bytes(picture, ending):
    job = ("80/44 48/100", "--lead", "412.6mm", "--length", "60mm", "--picture", picture)
    for name in ("one", "two"):
        assert main(["sheet", *job, "--out", name + ending], io.StringIO()) == 0
    assert Path("one" + ending).read_bytes() == Path("two" + ending).read_bytes()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ["80/44 48/100", "--lead", "412.6mm", "--picture", "error"],
            "the error along the cut needs a wanted lead and the length of the cut\nhelp: give --lead and --length\n",
        ),
        (
            ["80/44 48/100", "--lead", "1mm", "--picture", "coverage"],
            "the gears give 0 leads from 0.800 mm to 1.200 mm: too few to plot\n"
            "help: ask for a lead that they reach, or for more pairs\n",
        ),
    ],
)
def test_a_plot_of_nothing_says_why(words, message, capsys):
    assert main(["sheet", *words, "--out", "plot.svg"], io.StringIO()) == 2
    assert capsys.readouterr().err == f"gearsearch: {message}"
    assert list(Path().iterdir()) == []
