"""Saved charts read back: what is told of a lead, from Parquet and from CSV, and files that are none or damaged."""

import io
import random
import re
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from quadrants import plain
from shops import mill

from gearsearch.base.errors import GearsearchError
from gearsearch.charts import looking, saved
from gearsearch.charts import making as charts
from gearsearch.cli import main
from gearsearch.output.chart_files import write_chart
from gearsearch.output.text import text
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.work.asking import part
from gearsearch.work.lists import LeadList

SIX = plain((24, 32, 40, 48, 72, 100))
KINDS = (Kind(Fraction(3, 2), Fraction(20), "m1.5"), Kind(Fraction(2), Fraction(20), "m2"))
CHARTS = {
    "every": lambda: charts.every(SIX, Terms()),
    "one hand": lambda: charts.every(SIX, Terms(hand="left")),
    "hand unknown": lambda: charts.every(mill((20, 24, 30, 36), hand=None), Terms(mounting="skip")),
    "two kinds": lambda: charts.every(
        replace(mill((20, 30)), gears=(GearSet(KINDS[0], (20, 30)), GearSet(KINDS[1], (24, 40)))), Terms()
    ),
    "list": lambda: charts.of_list(
        SIX, Terms(), LeadList("x", "x", (replace(part(lead=216), name="a"), replace(part(lead=361), name="b")))
    ),
    "grid": lambda: charts.grid(SIX, Terms(), [Fraction(20), Fraction(35)], [Fraction(15), Fraction(30)]),
}


@pytest.mark.parametrize("kind", CHARTS)
def test_a_chart_saved_as_csv_tells_of_a_lead_what_its_parquet_does(kind):
    write_chart(CHARTS[kind](), ["a.parquet", "a.csv"])
    for wanted in (Fraction(1), Fraction(216), Fraction(361), Fraction(10**5)):
        for near in (1, 5):
            full, bare = (looking.look_up(f"a.{ending}", wanted, near) for ending in ("parquet", "csv"))
            assert bare.hits == full.hits != ()
            assert (bare.ends_mm, bare.facts) == (full.ends_mm, {})
    assert "a.csv: a chart saved as CSV, which does not say for what shop, route and gears" in text(bare.document())


def test_the_ends_of_a_chart_are_its_first_and_last_lead_however_few_groups_are_read(monkeypatch):
    write_chart(charts.every(SIX, Terms()), ["whole.parquet"])
    monkeypatch.setattr("gearsearch.output.columnar.GROUP_ROWS", 3)
    write_chart(charts.every(SIX, Terms()), ["a.parquet"])
    frame = saved.read_chart("a.parquet")
    leads = [Fraction(num, den) for num, den in zip(frame.lead_num, frame.lead_den, strict=True)]
    for path in ("a.parquet", "whole.parquet"):
        assert looking.look_up(path, Fraction(361), 1).ends_mm == (leads[0], leads[-1])


def test_groups_that_another_program_put_out_of_order_are_all_read():
    write_chart(charts.every(SIX, Terms()), ["a.parquet"])
    table = pq.read_table("a.parquet")
    pq.write_table(table.take(list(range(len(table) - 1, -1, -1))), "turned.parquet", row_group_size=3)
    columns = table.schema.names
    pq.write_table(table.select([*columns[1:], columns[0]]), "moved.parquet", row_group_size=3)
    for path in ("turned.parquet", "moved.parquet"):
        for wanted in (Fraction(1), Fraction(361), Fraction(10**5)):
            hits = looking.look_up("a.parquet", wanted, 4).hits
            assert sorted(looking.look_up(path, wanted, 4).hits, key=hits.index) == list(hits)


def looked(*words):
    """Exit code and output of ``gearsearch chart look``."""
    out = io.StringIO()
    return main(["chart", "look", *words], out), out.getvalue()


@pytest.fixture
def five_to_six_inches():
    """A chart of the demo shop in inches."""
    from gearsearch.shop.reader import DEMO_TEXT

    Path("shop.toml").write_text(DEMO_TEXT.replace('units = "mm"', 'units = "in"', 1), encoding="utf-8")
    assert main(["chart", "every", "--from", "5in", "--to", "6in", "--hand", "right", "--out", "e.parquet"]) == 0


@pytest.mark.usefixtures("five_to_six_inches")
def test_a_lead_outside_the_chart_is_told_so_with_exit_code_1():
    code, said = looked("e.parquet", "--lead", "7in", "--count", "1")
    assert code == 1
    assert "OUTSIDE" in said
    assert "within 1 %" in said
    for figure in ("5.0000 in (127.000 mm)", "6.0000 in (152.400 mm)", "7.0000 in (177.800 mm)"):
        assert figure in said
    assert "-14.286 % OFF" in said
    code, said = looked("e.parquet", "--lead", "6.001in", "--count", "1")
    assert (code, "OUTSIDE" in said, "within 1 %" in said, "OFF" in said) == (0, True, False, False)
    code, said = looked("e.parquet", "--lead", "6in", "--count", "1")
    assert (code, "OUTSIDE" in said) == (0, False)
    assert looked("e.parquet", "--lead", "7in", "--format", "json")[0] == 1


@pytest.mark.usefixtures("five_to_six_inches")
def test_a_lead_more_than_a_thousandth_off_is_marked_as_charts_mark_it():
    said = looked("e.parquet", "--lead", "5.5in", "--count", "6")[1]
    rows = [line for line in said.splitlines() if " in " in line and " mm " in line and ":" not in line]
    assert 0 < sum(" OFF " in row for row in rows) < len(rows)
    for row in rows:
        lead = float(row.split()[0])
        assert (" OFF " in row) == (abs(lead - 5.5) > 0.0055)
    assert said.endswith("\n- OFF: more than 0.1 % off\n")


def test_a_lead_just_beyond_the_mark_is_not_printed_as_if_it_were_at_it():
    assert (
        main(["chart", "every", "--from", "412.4mm", "--to", "412.6mm", "--hand", "right", "--out", "e.parquet"]) == 0
    )
    assert "+0.1001 % OFF" in looked("e.parquet", "--lead", "412.0876mm", "--count", "1")[1]


@pytest.mark.usefixtures("five_to_six_inches")
def test_an_inch_shop_is_told_the_clearance_in_inches():
    said = looked("e.parquet", "--lead", "6in", "--count", "1")[1]
    assert re.search(r"yes +1\.24 in\n", said)  # 31.5 mm


def told(read):
    """What is said to a file that cannot be read."""
    with pytest.raises(GearsearchError) as caught:
        read()
    return caught.value.message


def rewritten(change, name="b.parquet"):
    """A chart with its table changed, as another program might."""
    write_chart(charts.every(SIX, Terms(hand="right")), ["a.parquet"], overwrite=True)
    pq.write_table(change(pq.read_table("a.parquet")), name)
    return name


def with_column(name, values):
    """A change that puts other values into a column."""
    return lambda table: table.set_column(table.schema.names.index(name), name, [values * len(table)])


DAMAGED = {
    "it does not say its title": lambda table: table.replace_schema_metadata({"gearsearch_chart": "every"}),
    "it has no column lead_num": lambda table: table.drop_columns(["lead_num"]),
    "its column drivers holds something else": with_column("drivers", ["24"]),
    "it has no column idlers_right": lambda table: table.drop_columns(["idlers_right"]),
    "it has no column idlers": lambda table: table.drop_columns(["mounts_right", "mounts_left"]),
    "a row does not hold a train with its lead": with_column("lead_den", [0]),
}
ROWS = {
    "no lead": with_column("lead_num", [None]),
    "a pair that there is not": with_column("idler_pairs_right", [[3]]),
    "three driven gears": with_column("driven", [[24, 24, 24]]),
    "a gear of no teeth": with_column("drivers", [[0, 24]]),
    "a word that charts do not say": with_column("mounts_right", ["perhaps"]),
}


@pytest.mark.parametrize("how", DAMAGED)
def test_a_damaged_chart_is_refused_with_what_is_wrong_with_it(how):
    path = rewritten(DAMAGED[how])
    assert told(lambda: looking.look_up(path, Fraction(361))) == f"b.parquet is a damaged chart: {how}"


@pytest.mark.parametrize("what", ROWS)
def test_rows_that_no_chart_has_are_refused(what):
    path = rewritten(ROWS[what])
    said = told(lambda: looking.look_up(path, Fraction(361)))
    assert said == "b.parquet is a damaged chart: a row does not hold a train with its lead"


def test_bytes_spoilt_within_a_chart_are_told_as_damage():
    write_chart(charts.every(SIX, Terms()), ["a.parquet"])
    whole = Path("a.parquet").read_bytes()
    Path("b.parquet").write_bytes(whole[:4] + bytes(400) + whole[404:])
    for read in (saved.read_chart, lambda path: looking.look_up(path, Fraction(361))):
        assert told(lambda read=read: read("b.parquet")) == "b.parquet is a damaged chart: its rows cannot be read"


def test_bytes_spoilt_anywhere_are_told_and_never_raise_anything_else():
    """Single bytes, and a text that is none, which the library would tell only where it is used."""
    write_chart(charts.every(SIX, Terms()), ["a.parquet"])
    whole, chance = Path("a.parquet").read_bytes(), random.Random(16)
    for _ in range(150):
        spoilt = bytearray(whole)
        for _ in range(chance.choice([1, 5, 30])):
            spoilt[chance.randrange(len(spoilt))] = chance.choice([0, 128, 255, chance.randrange(256)])
        Path("b.parquet").write_bytes(spoilt)
        with suppress(GearsearchError):
            looking.look_up("b.parquet", Fraction(361))
            saved.read_chart("b.parquet")


def test_rows_of_text_that_is_none_are_damage():
    write_chart(charts.every(SIX, Terms()), ["a.parquet"])
    table = pq.read_table("a.parquet")
    words = pa.array([b"\xff"] * len(table)).view(pa.string())
    place = table.schema.get_field_index("mounts_right")
    pq.write_table(table.set_column(place, table.schema.field(place).with_type(pa.string()), words), "b.parquet")
    for read in (saved.read_chart, lambda path: looking.look_up(path, Fraction(361))):
        assert "damaged chart" in told(lambda read=read: read("b.parquet"))


def test_a_file_whose_facts_are_no_text_is_no_chart():
    pq.write_table(pa.table({"a": [1]}).replace_schema_metadata({b"\xff": b"\xfe"}), "a.parquet")
    assert told(lambda: saved.read_chart("a.parquet")) == "a.parquet is a Parquet file, but no chart"


CSV = {
    "a.csv is a CSV file, but no chart: it has no column lead_mm": lambda text: text.replace("lead_mm", "lead", 1),
    "a.csv is a damaged chart: line 3 does not hold a train with its lead": lambda text: _line(3, text, "x"),
    "a.csv is a damaged chart: line 2 does not hold a train with its lead": lambda text: _line(2, text, "1,2,3"),
    "a.csv is not a chart: it is not UTF-8 text": lambda text: text.replace("yes", "\udcff"),
    "a.csv is not a chart: unexpected end of data": lambda text: text + '"',
}


def _line(number, text, cells):
    lines = text.splitlines()
    lines[number - 1] = cells
    return "\n".join(lines)


@pytest.mark.parametrize("message", CSV)
def test_a_csv_file_that_is_no_chart_or_a_damaged_one_is_refused(message):
    write_chart(charts.every(SIX, Terms(hand="right")), ["a.csv"])
    text = CSV[message](Path("a.csv").read_text(encoding="utf-8"))
    Path("a.csv").write_text(text, encoding="utf-8", errors="surrogateescape")
    assert told(lambda: looking.look_up("a.csv", Fraction(361))) == message


def test_a_chart_for_people_and_a_chart_given_as_a_list_are_told_what_would_do(capsys):
    write_chart(charts.every(SIX, Terms(hand="right")), ["a.csv", "a.md"])
    assert looked("a.md", "--lead", "361mm") == (2, "")
    assert "write one to search beside it, as in --out leads.parquet" in capsys.readouterr().err
    assert main(["chart", "list", "a.csv", "--out", "b.md"]) == 2
    said = capsys.readouterr().err
    assert "a.csv is a chart that gearsearch chart has written, and no list of wanted leads" in said
    assert "gearsearch chart look a.csv --lead" in said
