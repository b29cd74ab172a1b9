"""Figures of threads for the lathe: against published factors, and against the geometry of the profile drawn out."""

import math
from fractions import Fraction
from pathlib import Path

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from slow import in_lots

import gearsearch.work
from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import INCH_MM
from gearsearch.work.naming import read_name
from gearsearch.work.profiles import FORMS, profile_of
from gearsearch.work.series import all_series

ROWS = [row for series in all_series() for row in series.threads]
names = st.sampled_from([row.name for row in ROWS])


def of(name):
    return profile_of(read_name(name))


@pytest.mark.parametrize(
    ("name", "figure", "factor", "source"),
    [
        ("M10", "depth", "0.61344", "http://homepages.tesco.net/~A10bsa/isomcpro.htm"),
        ("M10", "nut_depth", "0.54127", "http://homepages.tesco.net/~A10bsa/isomcpro.htm"),
        ("M10", "root_radius", "0.1443", "http://homepages.tesco.net/~A10bsa/isomcpro.htm"),
        ("1/2-13", "nut_depth", "0.54127", "https://www.scribd.com/document/36661779/Thread-Data"),
        ("1/2 BSW", "depth", "0.640327", "https://www.boltscience.com/pages/screw4.htm"),
        ("1/2 BSW", "nut_depth", "0.640327", "https://www.boltscience.com/pages/screw4.htm"),
        (
            "1/2 BSF",
            "crest_radius",
            "0.137329",
            "http://www.thegauge.co.uk/technical-specifications/bsw-and-bsf-thread-gauges/",
        ),
        (
            "G1",
            "root_radius",
            "0.137329",
            "http://www.thegauge.co.uk/technical-specifications/bsw-and-bsf-thread-gauges/",
        ),
        ("1/2 BSW", "nut_root_radius", "0.13732908", "https://www.trojansf.co.uk/technical/thread-forms"),
        ("2BA", "depth", "0.6000", "https://www.scribd.com/document/36661779/Thread-Data"),
        (
            "2BA",
            "root_radius",
            "0.18083",
            "http://homepages.tesco.net/~A10bsa/bapro.htm, 0.1808346; by geometry 0.1808343",
        ),
        ("1/2 NPT", "depth", "0.8", "ASME B1.20.1, from memory"),
        ("1/2 NPT", "crest_flat", "0.0381", "ASME B1.20.1 (0.033 pitch cut off), from memory"),
        (
            "M10",
            "crest_flat",
            "0.125",
            "ISO 68-1 (P/8), https://www.engineersedge.com/hardware/iso_681_metric_thread_14599.htm",
        ),
        ("1 Acme", "crest_flat", "0.3707", "ASME B1.5, from memory"),
        ("Tr 20x4", "crest_flat", "0.366", "https://obliczenia.icad.pl/gwinty/trapezowe/gwTrResultsExample.asp"),
    ],
)
def test_a_figure_is_the_published_part_of_the_pitch(name, figure, factor, source):
    profile = of(name)
    ours = getattr(profile, f"{figure}_mm") / profile.thread.pitch_mm
    assert abs(ours - Fraction(factor)) <= Fraction(1, 10 ** len(factor.partition(".")[2])), source


def test_a_trapezoidal_thread_is_as_published_in_full():
    """Tr 10x2: https://obliczenia.icad.pl/gwinty/trapezowe/gwTrResultsExample.asp, which cites ISO 2901, 2902, 2904."""
    profile = of("Tr 10x2")
    assert (profile.effective_mm, profile.core_mm, profile.depth_mm) == (9, Fraction("7.5"), Fraction("1.25"))
    assert (profile.clearance_mm, profile.flank_deg) == (Fraction("0.25"), 15)
    assert (profile.bore_mm, profile.nut_major_mm) == (8, Fraction("10.5"))


def test_an_acme_thread_has_its_allowance_by_the_pitch():
    """1-5: minor diameter 1 - 1/5 - 0.020 in; 1/4-16: 1/4 - 1/16 - 0.010 in (ASME B1.5, from memory)."""
    assert of("1-5 Acme").core_mm == INCH_MM * Fraction("0.78")
    assert of("1/2-10 Acme").core_mm == INCH_MM * Fraction("0.38")
    assert of("1/4-16 Acme").core_mm == INCH_MM * Fraction("0.1775")
    assert of("1-5 Acme").nut_major_mm == INCH_MM * Fraction("1.02")


@pytest.mark.parametrize(
    ("name", "included"),
    [
        *(("M6", 60), ("1/4-20", 60), ("1/4 BSW", 55), ("1/4 BSF", 55), ("G1", 55), ("R1", 55), ("0BA", 47.5)),
        *(("Tr 20x4", 30), ("1/2 NPT", 60), ("1 Acme", 29)),
    ],
)
def test_the_compound_is_set_to_half_the_angle(name, included):
    profile = of(name)
    assert profile.flank_deg == Fraction(included) / 2
    along = float(profile.compound_feed_mm) * math.cos(math.radians(included / 2))
    assert along == pytest.approx(float(profile.depth_mm), rel=1e-14)


@given(names)
def test_crest_groove_and_pitch_line_fit_one_triangle(name):
    """On the pitch line thread and groove are equal; each flat lies where its flanks are, each arc touches both."""
    profile = of(name)
    pitch, tangent = float(profile.thread.pitch_mm), math.tan(math.radians(float(profile.flank_deg)))
    above = float(profile.major_mm - profile.effective_mm) / 2
    below = float(profile.depth_mm) - above
    sharp = pitch / (4 * tangent)  # from the pitch line to the point of the triangle
    sine = math.sin(math.radians(float(profile.flank_deg)))
    for flat, radius, away in (
        (profile.crest_flat_mm, profile.crest_radius_mm, above),
        (profile.root_flat_mm, profile.root_radius_mm, below),
    ):
        assert (flat is None) != (radius is None)
        if flat is not None:
            assert float(flat) == pytest.approx(2 * (sharp - away) * tangent, rel=1e-9)
        elif profile.form is not FORMS["unified"]:
            assert float(radius) / sine - float(radius) == pytest.approx(sharp - away, rel=1e-9)
    assert profile.core_mm > 0
    assert profile.bore_mm is None or profile.bore_mm >= profile.core_mm


@given(names, st.integers(1, 6))
def test_the_lead_angle_is_that_of_the_unrolled_helix(name, starts):
    thread = read_name(name)
    profile = profile_of(thread, starts)
    assert profile.lead_mm == thread.pitch_mm * starts
    with mpmath.workdps(30):
        lead = mpmath.mpf(profile.lead_mm.numerator) / profile.lead_mm.denominator
        d2 = mpmath.mpf(profile.effective_mm.numerator) / profile.effective_mm.denominator
        expected = mpmath.degrees(mpmath.atan(lead / (mpmath.pi * d2)))
        ours = mpmath.mpf(profile.lead_angle_deg.numerator) / profile.lead_angle_deg.denominator
        assert abs(ours / expected - 1) < mpmath.mpf("1e-14")
    assert profile.steepest_deg > profile.lead_angle_deg


def test_the_starts_of_a_name_count_before_those_given():
    assert profile_of(read_name("Tr 40x14(P7)"), 5).lead_mm == 14
    assert profile_of(read_name("Tr 40x7"), 2).lead_mm == 14


def test_a_taper_thread_leans_by_half_its_taper():
    """1 in 16 on the diameter: 1° 47' 24" to the axis (ASME B1.20.1, from memory; 1° 47' in trade tables)."""
    for name in ("1/2 NPT", "R1/2"):
        profile = of(name)
        assert float(profile.taper_deg) == pytest.approx(1 + 47 / 60 + 24 / 3600, abs=0.5 / 3600)
        assert "taper" in {figure.code for figure in profile.figures}
    assert of("Rp1/2").taper_deg == of("G1/2").taper_deg == 0
    assert "taper" not in {figure.code for figure in of("G1/2").figures}


@in_lots(ROWS)
def test_every_standard_thread_has_its_figures_with_their_sources(row):
    figures = of(row.name).figures
    assert len({figure.code for figure in figures}) == len(figures) >= 12
    for figure in figures:
        assert figure.value > 0, figure
        assert figure.name
        assert figure.unit in ("mm", "deg")
        assert figure.source


def test_a_name_that_tells_no_form_has_no_figures():
    assert of("12-8") is of("1/2-13 UNJC") is None


def test_a_thread_deeper_than_its_core_is_refused():
    with pytest.raises(GearsearchError, match="nothing is left of its diameter"):
        of("Tr 0.5x0.24")


def test_every_form_belongs_to_a_series():
    assert {series.form for series in all_series()} == set(FORMS)


def test_the_page_of_the_room_says_where_the_figures_of_every_form_are_from():
    page = Path(gearsearch.work.__file__).with_name("README.md").read_text(encoding="utf-8")
    for form in FORMS.values():
        assert f"| {form.title} | {form.standard} | {form.basis} |" in page
    for series in all_series():
        assert f"`{series.name}`" in page
