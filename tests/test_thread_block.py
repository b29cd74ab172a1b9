"""The named thread on the sheet of a lathe, and what a taper one takes."""

import io
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from published_values import last_digit, published
from shops import DIAL_LATHE

from gearsearch.base.document import plain
from gearsearch.base.units import INCH_MM
from gearsearch.cli import main
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.sheet.job import Job
from gearsearch.sheet.page import blocks
from gearsearch.sheet.thread import the_thread
from gearsearch.shop.reader import demo_shop, read_shop
from gearsearch.shop.trains import Train
from gearsearch.work import asking
from gearsearch.work.profiles import profile_of

SHOP = read_shop(DIAL_LATHE, "lathe.toml")
TABLES = published("thread_tables")
DIALLED = {
    "effective": "effective",
    "bore": "bore",
    "depth": "depth",
    "small_end": "effective",
    "length": "effective_length",
}


def job_of(thread, shop=SHOP, starts=None):
    part = asking.part(thread=thread, starts=starts)
    answer = find(shop, part, Terms(mounting="skip"))
    return Job(check(shop, answer.fits[0].train, part))


@pytest.mark.parametrize(
    "name", ["M12", "1/2-13", "1/2 BSW", "2BA", "Tr 20x4", "G1/2", "1/2 NPT", "R1/2", "1 Acme", "M13x1.5"]
)
def test_a_sheet_of_a_lathe_has_every_figure_of_the_thread_and_where_it_is_from(name):
    job = job_of(name)
    block, profile = the_thread(job), profile_of(job.checked.part.thread)
    assert [row[0] for row in block.table.rows] == [figure.name for figure in profile.figures]
    lines = plain(" ".join([*block.lines, *(item.text for item in block.keyed().items)]))
    for row, figure in zip(block.table.rows, profile.figures, strict=True):
        assert (f"{row[2].capitalize()}: {figure.source}." if figure.note else f"by {figure.source}") in lines
        assert bool(row[2]) == bool(figure.note)
    assert "memory" not in lines
    assert block in blocks(job)
    assert any("half nuts" in plain(item.text) for part in blocks(job) for item in part.items)


@pytest.mark.parametrize(
    ("name", "depth", "wanted"),
    [
        ("1/2 BSW", "0.0534 in", "wanted: lead 0.0833 in, 1/2 BSW, 12 threads per inch, BS 84"),
        ("Tr 20x4", "0.0886 in (2.250 mm)", "wanted: lead 4.000 mm, Tr 20x4, pitch 4 mm, ISO 2904"),
        ("2BA", "0.0191 in (0.486 mm)", "wanted: lead 0.810 mm, 2BA, pitch 0.81 mm, BS 93"),
    ],
)
def test_figures_are_in_the_unit_that_the_thread_is_named_by_and_the_dialled_ones_in_that_of_the_dials(
    name, depth, wanted
):
    """The shop of these is in inches."""
    job = job_of(name)
    cells = {row[0]: row[1] for row in the_thread(job).table.rows}
    assert cells["external: depth"] == depth
    assert cells["external: minor diameter"] == job.length(profile_of(job.checked.part.thread).core_mm)
    assert wanted in job.checked.wanted.describe(job.unit, once=True)
    told = " ".join(plain(item.text) for block in blocks(job) for item in block.items if not block.own_page)
    assert bool(re.search(r"[0-9] in \([0-9.]+ mm\) of travel", told)) == (job.unit == "mm")
    if job.unit == "in":
        assert not re.search(r"[0-9] mm\b", told)


def test_pitch_and_length_are_dialled_too():
    part = asking.part(thread="Tr 40x14(P7) LH", length="254 mm")
    job = Job(check(SHOP, Train.parse("127/24 28/36"), part), depth_mm=Fraction("25.4"))
    told = plain(" ".join(item.text for block in blocks(job) for item in block.items))
    for dialled in ("10.0000 in (254.000 mm)", "1.0000 in (25.400 mm)", "0.2756 in (7.000 mm)"):
        assert dialled in told


@pytest.mark.parametrize("source", [source for source, table in TABLES.items() if "converted" not in table])
def test_what_is_dialled_agrees_with_a_printed_table_in_the_unit_of_the_dials(source):
    """The first and the last row of each, on a lathe of the other unit: within the last digits of both."""
    table = TABLES[source]
    per_unit = {"mm": Fraction(1), "in": INCH_MM}
    lines = table["rows"].strip().splitlines()
    for size, *printed in (lines[0].split(), lines[-1].split()):
        part = asking.part(thread=table["name"].format(size))
        shop = replace(SHOP, units="mm" if part.thread.unit == "in" else "in")
        job = Job(check(shop, Train.parse("20/80"), part))
        cells = {figure.code: row[1] for figure, row in zip(figures_of(job), the_thread(job).table.rows, strict=True)}
        for column, text in zip(table["columns"].split(), printed, strict=True):
            if column in DIALLED:
                figure, unit = re.match(r"([0-9.]+) (mm|in) \(", cells[DIALLED[column]]).groups()
                assert unit == shop.units
                off = abs(Fraction(figure) * per_unit[unit] - Fraction(text) * per_unit[table["unit"]])
                allowed = last_digit(text) * per_unit[table["unit"]] + last_digit(figure) * per_unit[unit] / 2
                assert off <= allowed, (source, size, column)


def figures_of(job):
    return profile_of(job.checked.part.thread, job.checked.part.starts).figures


def test_several_starts_steepen_the_helix_and_nothing_else():
    one, two = ({row[0]: row[1] for row in the_thread(job_of("Tr 20x4", starts=n)).table.rows} for n in (1, 2))
    assert {name for name in one if one[name] != two[name]} == {name for name in one if name.startswith("lead angle")}


@pytest.mark.parametrize(
    ("name", "shop"), [("13 tpi", SHOP), ("1.5 mm", SHOP), ("1/2-13 UNJC", SHOP), ("48 mm", demo_shop())]
)
def test_there_is_no_such_block_without_a_form_or_on_a_mill(name, shop):
    assert the_thread(job_of(name, shop)) is None


@pytest.mark.parametrize(("name", "where"), [("1/2 NPT", "small end"), ("1/2 BSPT", "gauge plane")])
def test_a_taper_thread_says_what_else_it_takes(name, where):
    part = asking.part(thread=name)
    assert any("taper attachment" in line for line in part.describe())
    assert where in " ".join(the_thread(job_of(name)).lines)
    assert not any("taper" in line for line in asking.part(thread="G1/2").describe())


def test_the_command_prints_it(tmp_path):
    (tmp_path / "lathe.toml").write_text(DIAL_LATHE, encoding="utf-8")
    out = io.StringIO()
    main(["sheet", "--thread", "1/2 BSW", "--shop", str(tmp_path / "lathe.toml")], out)
    assert "The thread\n1/2 BSW: Whitworth, 55°" in out.getvalue()
    assert "Chasing dial, half nuts: any mark." in out.getvalue()
