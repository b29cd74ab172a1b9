"""Pitches, threads per inch and modules of the standards, read as the tables write them."""

from decimal import Decimal
from fractions import Fraction

import mpmath
import pint
import pytest
from published_values import published

from gearsearch.base.units import parse_length, parse_pitch, text_of_length
from gearsearch.work.asking import part
from gearsearch.work.lists import load_list

LISTS = published("standard_threads")
METRIC = [(name, value) for name in ("iso_coarse", "iso_fine", "miniature") for value in LISTS[name]["values"].split()]
SIZED = ("unc", "unf", "unc_large", "unf_whole")
INCH = [(name, *row.split(":")) for name in SIZED for row in LISTS[name]["sizes"].split()]
REGISTRY = pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize(("name", "value"), METRIC)
def test_a_metric_pitch_is_a_lead_and_prints_as_listed(name, value):
    pitch = part(thread=f"{value} mm").lead_mm
    assert text_of_length(pitch) == f"{value} mm", LISTS[name]
    assert pitch == part(thread=value).lead_mm == part(thread=float(value)).lead_mm


@pytest.mark.parametrize(("name", "size", "threads"), INCH)
def test_an_inch_thread_makes_one_inch_in_as_many_threads_as_listed(name, size, threads):
    lead = part(thread=f"{threads} tpi").lead_mm
    assert Fraction(threads) * lead == Fraction("25.4"), (LISTS[name], size)
    assert parse_pitch(f"{threads} threads per inch", "in") == lead


@pytest.mark.parametrize(("name", "size", "threads"), INCH)
def test_an_inch_size_reads_as_the_table_writes_it(name, size, threads):
    whole, _, part = size.rpartition("-")
    inches = Fraction(whole or 0) + Fraction(part)
    expected = REGISTRY.Quantity(Decimal(inches.numerator) / inches.denominator, "inch").to("mm").magnitude
    assert parse_length(f"{size} in") == parse_length(size, "in") == Fraction(expected), (LISTS[name], threads)


@pytest.mark.parametrize("name", SIZED)
def test_the_standard_lists_have_every_thread_of_the_tables(name):
    ours = names_of(name[:3])
    printed = f"{LISTS[name]['sizes']} {LISTS[name].get('numbered', '')}".split()
    printed = [row for row in printed if row != LISTS[name].get("disagrees")]
    assert [row for row in printed if row not in ours] == [], LISTS[name]


def test_a_chart_that_calls_1_14_unf_disagrees_with_the_standard():
    table = LISTS["unf"]
    ours = names_of("unf")
    assert table["disagrees"] in table["sizes"].split()
    assert table["disagrees"] not in ours, table["reason"]
    assert table["ours"] in ours
    assert ours == {row for key in ("sizes", "numbered") for row in LISTS["unf_whole"][key].split()}


def names_of(series):
    """The threads of a standard list as the tables write them: ``1/2:13``."""
    ending = f" {series.upper()}"
    return {":".join(item.name.removesuffix(ending).rsplit("-", 1)) for item in load_list(series).items}


@pytest.mark.parametrize("module", LISTS["modules"]["values"].split())
def test_a_worm_of_each_standard_module_advances_pi_modules(module):
    lead = part(worm_module=module).lead_mm
    with mpmath.workdps(40):
        expected = mpmath.pi * mpmath.mpf(module)
        assert abs(mpmath.mpf(lead.numerator) / lead.denominator / expected - 1) < mpmath.mpf(10) ** -30
