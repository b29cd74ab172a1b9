"""How densely a saved chart covers the leads: the figures of the plot against every lead of the chart."""

import io
from fractions import Fraction
from itertools import product
from pathlib import Path

import naive_charts
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refusals import refused
from slow import in_lots

from gearsearch.charts import making as charts
from gearsearch.charts.saved import read_chart
from gearsearch.cli import main
from gearsearch.output.chart_files import write_chart
from gearsearch.output.drawing import density, papers
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop


def saved(name="leads.parquet", between=(Fraction(400), Fraction(425)), **terms):
    """A saved chart of the demo shop."""
    write_chart(charts.every(demo_shop(), Terms(**terms), between_mm=between), [name])
    return name


def test_the_leads_of_each_hand_are_those_with_a_train_that_mounts():
    found, frame = density.density_of(saved()), read_chart("leads.parquet")
    for hand in ("right", "left"):
        assert found.leads_mm[hand].tolist() == sorted(set(frame.lead_mm[frame[f"mounts_{hand}"] == "yes"]))
    assert len(found.leads_mm["right"]) != len(found.leads_mm["left"])


@given(
    st.lists(st.integers(100, 1000), min_size=2, max_size=12, unique=True),
    st.integers(1, 9),
)
def test_no_wanted_lead_in_a_step_is_farther_from_the_nearest_than_is_said(leads, count):
    leads = np.array(sorted(leads), float)
    steps = np.linspace(leads[0], leads[-1], count + 1)
    said = density.farthest(leads, steps)
    wanted = np.linspace(leads[0], leads[-1], 2000)
    off = np.abs(leads[:, None] - wanted).min(axis=0) / wanted
    for step in range(count):
        inside = (steps[step] <= wanted) & (wanted <= steps[step + 1])
        assert off[inside].max() <= said[step] + 1e-12


def test_the_worst_wanted_lead_between_two_leads_is_as_far_from_both():
    said = density.farthest(np.array([100.0, 150.0, 160.0]), np.array([100.0, 150.0, 160.0]))
    assert said.tolist() == pytest.approx([50 / 250, 10 / 310])
    assert naive_charts.nearest([100, 150], 125 - 0.01, 1) == [100]
    assert naive_charts.nearest([100, 150], 125 + 0.01, 1) == [150]
    assert said[0] == (150 - 125) / 125 == (125 - 100) / 125


def test_where_nothing_is_known_nothing_is_said():
    said = density.farthest(np.array([100.0, 110.0]), np.array([80.0, 90.0, 105.0, 120.0, 130.0]))
    assert np.isnan(said).tolist() == [True, False, False, True]


def test_the_plot_counts_every_lead_and_is_the_same_bytes_each_time():
    found = density.density_of(saved())
    made = []
    for _ in range(2):
        with papers.drawing():
            figure = density.density_figure(found, "mm")
            papers.save([figure], Path("plot.svg"), ".svg")
        made.append(Path("plot.svg").read_bytes())
    assert made[0] == made[1]
    upper, lower = figure.axes[1:]
    assert [int(patch.get_data().values.sum()) for patch in lower.patches] == [90, 96]
    assert len({patch.get_linestyle() for patch in upper.patches}) == 2
    words = " ".join(text.get_text() for text in figure.axes[0].texts)
    assert "right hand: 90 leads (drawn out); the widest gap is from 400.050 mm to 401.143 mm" in words


def test_a_wide_chart_in_inches_is_drawn_by_logarithms():
    found = density.density_of(saved(between=(Fraction(100), Fraction(300)), hand="left"))
    with papers.drawing():
        figure = density.density_figure(found, "in", "Letter")
    upper, lower = figure.axes[1:]
    assert (upper.get_xscale(), upper.get_yscale(), lower.get_yscale()) == ("log", "log", "linear")
    assert lower.get_xlim() == pytest.approx(tuple(found.leads_mm["left"][[0, -1]] / 25.4))


@in_lots(
    [*product([1e-6, 0.068, 1.0, 200.0, 7234.5], [1.0001, 1.02, 1.5, 2.1, 3.3, 12.0, 700.0, 1e7], [False, True])],
    lots=4,
)
def test_there_are_figures_enough_at_an_axis_whatever_its_ends(low, times, wide):
    figures = density.round_figures(low, low * times, wide=wide)
    assert 4 <= len(figures) <= 12
    assert figures == sorted(set(figures))
    assert low - 1e-6 * low <= figures[0]
    assert figures[-1] <= low * times * (1 + 1e-6)


def test_the_figures_of_a_narrow_plot_are_printed():
    found = density.density_of(saved(between=(Fraction(200), Fraction(450)), hand="right"))
    with papers.drawing():
        figure = density.density_figure(found, "mm")
        figure.canvas.draw()
    upper, lower = figure.axes[1:]
    assert [label.get_text() for label in upper.get_yticklabels()] == ["0.07", "0.1", "0.15", "0.2"]
    assert [label.get_text() for label in lower.get_xticklabels()] == ["200", "250", "300", "350", "400", "450"]


def test_only_a_chart_of_every_lead_is_plotted():
    write_chart(charts.grid(demo_shop(), Terms(), [Fraction(50)], [Fraction(20)], "helix angle"), ["grid.parquet"])
    with refused("refused", "grid"):
        density.density_of("grid.parquet")
    with refused("refused"):
        density.density_of(saved(between=(Fraction(825, 2), Fraction(825, 2))))


def plot(*words):
    """Exit code of ``gearsearch chart plot``."""
    return main(["chart", "plot", *words], io.StringIO())


def test_the_command_writes_every_file_or_none(capsys):
    saved()
    assert plot("leads.parquet", "--out", "leads.svg", "--out", "leads.pdf", "--paper", "letter") == 0
    assert capsys.readouterr().err == "written: leads.svg\nwritten: leads.pdf\n"
    assert Path("leads.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert Path("leads.pdf").read_bytes().startswith(b"%PDF")
    Path("leads.svg").unlink()
    Path("x").mkdir()
    assert plot("leads.parquet", "--out", "leads.svg", "--out", "x/../leads.svg") == 2
    assert "leads.svg and x/../leads.svg are one file" in capsys.readouterr().err
    assert plot("leads.parquet", "--out", "leads.svg", "--out", "leads.pdf") == 2
    assert "leads.pdf exists" in capsys.readouterr().err
    assert not Path("leads.svg").exists()
    assert plot("leads.parquet", "--out", "leads.txt") == 2
    assert capsys.readouterr().err == (
        "gearsearch: leads.txt has none of the endings that a picture can have\n"
        "help: end the name in one of .svg, .png, .pdf\n"
    )
