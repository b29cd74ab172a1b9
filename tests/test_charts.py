"""Charts: every lead with its best train, thinned, listed, gridded; written and read back."""

import csv
import dataclasses
import io
import re
from fractions import Fraction
from itertools import pairwise
from math import floor

import duckdb
import naive
import naive_charts
import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import classic, mill
from slow import some
from strategies import shops

import gearsearch
from gearsearch.base.errors import GearsearchError
from gearsearch.base.facts import Heading, Table
from gearsearch.charts import looking
from gearsearch.charts import making as charts
from gearsearch.charts.best import BestTrains
from gearsearch.charts.rows import LeadRows, by_train, thinned
from gearsearch.charts.saved import read_chart
from gearsearch.output.chart_files import Imprint, write_chart
from gearsearch.output.columnar import GROUP_ROWS
from gearsearch.output.markdown import escaped, ruled, safe
from gearsearch.output.markdown_pages import MarkdownPages
from gearsearch.output.pages import NO_TRAIN, fitted
from gearsearch.output.paper import Paper
from gearsearch.search.check import check
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.lists import LeadList, load_list, standard_list
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance

SKIP = Terms(mounting="skip")


def leads_of(shop, terms, *between):
    """All leads of a shop as one block, or none."""
    parts = list(BestTrains(shop, terms).leads(*between))
    return LeadRows.joined(parts) if parts else None


def best_trains(source, leads, hand):
    """For each lead its train for a hand, as naive has it: (lead, drivers, driven, idlers)."""
    chosen, rows = leads.hands[hand], []
    for row in np.flatnonzero(chosen.pairs > 0):
        train = chosen.train(source.pool, row)
        rows.append((leads.lead(row), train.drivers, train.driven, train.idlers))
    return rows


def plainly(rows):
    """Rows of naive in the same form."""
    return [
        (lead, tuple(t for _, t in a), tuple(t for _, t in b), tuple(g[1] for _, g in idlers))
        for lead, (a, b, idlers) in rows
    ]


@pytest.mark.parametrize("teeth", [(20, 24, 24, 30, 36), (20, 24, 28, 32, 40, 48), (24, 24, 24, 36)])
@pytest.mark.parametrize("hand", ["right", "left"])
def test_every_lead_and_its_best_train_are_those_of_the_slow_chart(teeth, hand):
    shop = mill(teeth)
    source, leads = BestTrains(shop, SKIP), leads_of(shop, SKIP)
    assert plainly(naive_charts.every(shop, shop.route(), (1, 2), hand)) == best_trains(source, leads, hand)


@settings(max_examples=25, deadline=None)
@given(shops(most=6), st.sampled_from(["right", "left"]))
def test_made_up_boxes_with_joined_fixed_and_bored_gears_give_the_slow_chart(shop, hand):
    try:
        source = BestTrains(shop, SKIP)
    except GearsearchError:  # no train at all
        assert naive_charts.every(shop, shop.route(), (1, 2), hand) == []
        return
    leads = leads_of(shop, SKIP)
    ours = [] if leads is None else best_trains(source, leads, hand)
    assert plainly(naive_charts.every(shop, shop.route(), (1, 2), hand)) == ours


def test_by_the_rule_of_thumb_only_trains_that_pass_are_charted():
    shop = mill((20, 24, 30, 36, 48, 60))
    modules = [gears.kind.module_mm for gears in shop.gears]
    slow = naive_charts.every(
        shop, shop.route(), (1, 2), "right", lambda a, b, idlers: naive.clears_by_rule(a, b, idlers, modules)
    )
    source, leads = BestTrains(shop, Terms()), leads_of(shop, Terms())
    assert source.word == "rule"
    assert plainly(slow) == best_trains(source, leads, "right")


def test_slices_change_nothing(monkeypatch):
    whole = leads_of(classic(), SKIP)
    monkeypatch.setattr("gearsearch.charts.best.SLICE_TRAINS", 500)
    source = BestTrains(classic(), SKIP)
    assert len(list(source.slices(*source.reach_mm, source.most_at_once))) > 3
    sliced = leads_of(classic(), SKIP)
    assert whole.num.tolist() == sliced.num.tolist()
    assert whole.hands["left"].idlers.tolist() == sliced.hands["left"].idlers.tolist()


def test_the_ends_of_a_range_are_both_inside_and_exact():
    whole = leads_of(classic(), SKIP)
    low, high = whole.lead(10), whole.lead(40)
    inside = leads_of(classic(), SKIP, low, high)
    assert (inside.lead(0), inside.lead(len(inside) - 1), len(inside)) == (low, high, 31)
    hair = Fraction(1, 10**18)
    assert len(leads_of(classic(), SKIP, low + hair, high - hair)) == 29


def test_leads_ascend_without_repeats_and_floats_are_the_nearest():
    leads = leads_of(demo_shop(), Terms())
    exact = [leads.lead(row) for row in range(len(leads))]
    assert all(a < b for a, b in pairwise(exact))
    assert leads.lead_mm.tolist() == [float(lead) for lead in exact]


@pytest.mark.parametrize("share", [Fraction(1, 1000), Fraction(1, 50), Fraction(1)])
def test_thinning_one_hand_keeps_what_the_slow_thinning_keeps(share):
    terms = Terms(hand="right")
    whole = leads_of(demo_shop(), terms)
    chosen = whole.hands["right"]
    ease = zip(chosen.pairs.tolist(), chosen.idler_count.tolist(), (-chosen.clearance_um).tolist(), strict=True)
    rows = [(whole.lead(row), key) for row, key in enumerate(ease)]
    thin = LeadRows.joined(list(thinned(iter([whole]), share)))
    assert naive_charts.easiest_of_each_step(rows, share) == [thin.lead(row) for row in range(len(thin))]


def test_a_lead_has_one_row_where_both_hands_take_the_same_gears_else_one_for_each():
    leads = leads_of(demo_shop(), Terms())
    rows = by_train(leads)
    for hand in ("right", "left"):
        assert int(rows.own[hand].sum()) >= int((leads.hands[hand].pairs > 0).sum())
        served = rows.own[hand] & (rows.hands[hand].pairs > 0)
        assert sorted(rows.num[served].tolist()) == sorted(leads.num[leads.hands[hand].pairs > 0].tolist())
    assert len(leads) < len(rows) < 2 * len(leads)


def test_all_arrangements_hold_the_best_of_every_lead_and_every_order():
    shop = mill((20, 24, 30, 36))
    chart = charts.every(shop, Terms(mounting="skip", hand="left"), all_arrangements=True)
    rows = LeadRows.joined(list(chart.rows))
    ours = {(rows.lead(i), rows.gears.train(chart.source.pool, i).order) for i in range(len(rows))}
    slow = set()
    for lead, sets in naive.every_lead(shop, shop.route(), 1, 2).items():
        for train_set in sets:
            firsts = {}
            for a, b, idlers in naive.arrangements(shop, shop.route(), train_set, "left"):
                firsts.setdefault((a, b), tuple(g[1] for _, g in idlers))
            for (a, b), idlers in firsts.items():
                slow.add((lead, (*(t for _, t in a), *(t for _, t in b), *idlers)))
    assert slow == ours
    assert len(rows) == len(ours)


def written(tmp_path, chart, *names, **more):
    """The chart written to files of these names; returns their paths."""
    paths = [tmp_path / name for name in names]
    write_chart(chart, paths, **more)
    return paths


def test_a_saved_chart_is_read_alike_by_pandas_pyarrow_and_duckdb(tmp_path):
    (path,) = written(tmp_path, charts.every(demo_shop(), Terms()), "leads.parquet")
    frame, table_ = read_chart(path), pq.read_table(path)
    assert isinstance(frame, pd.DataFrame)
    exact = [Fraction(num, den) for num, den in zip(frame.lead_num, frame.lead_den, strict=True)]
    assert exact == sorted(exact)
    assert frame.lead_mm.tolist() == [float(lead) for lead in exact]
    shop = demo_shop()
    base = shop.drive(shop.route()).lead_of_machine_mm
    for lead, drivers, driven in zip(exact, frame.drivers, frame.driven, strict=True):
        assert lead == base * Fraction(int(np.prod(driven, dtype=np.int64)), int(np.prod(drivers, dtype=np.int64)))
    query = "select count(*), min(lead_mm), max(lead_num), sum(len(idlers_left)) from '{}'"
    rows = duckdb.sql(query.format(path)).fetchall()[0]
    assert rows == (
        len(frame),
        frame.lead_mm.min(),
        frame.lead_num.max(),
        sum(len(idlers) for idlers in table_["idlers_left"].to_pylist() if idlers is not None),
    )


def test_the_columns_of_a_chart_stand_in_their_order_with_types_units_and_facts(tmp_path):
    chart = charts.every(demo_shop(), Terms(), thin=Fraction(1, 100))
    (path,) = written(tmp_path, chart, "leads.parquet", imprint=Imprint("gearsearch chart every", "1 May"))
    schema = pq.read_schema(path)
    assert [f"{field.name}: {field.type}" for field in schema] == [
        "lead_mm: double",
        "lead_num: int64",
        "lead_den: int64",
        "drivers: list<element: int16 not null>",
        "driven: list<element: int16 not null>",
        "idlers_right: list<element: int16 not null>",
        "idlers_left: list<element: int16 not null>",
        "mounts_right: string",
        "mounts_left: string",
        "gears: int16",
        "clearance_mm: double",
        "idler_pairs_right: list<element: int16 not null>",
        "idler_pairs_left: list<element: int16 not null>",
        "clearance_right_mm: double",
        "clearance_left_mm: double",
        "train: string",
        "train_right: string",
        "train_left: string",
    ]
    assert schema.field("lead_mm").metadata[b"unit"] == b"mm"
    facts = read_chart(path).attrs
    assert facts["shop"] == "Millrace workshop"
    assert facts["gearsearch_format"] == "1"
    assert facts["gearsearch_version"] == gearsearch.__version__
    assert facts["machine_lead_mm"] == "360"
    assert facts["command"] == "gearsearch chart every"
    assert facts["date"] == "1 May"
    assert facts["units"].startswith("lengths in mm")


def test_row_groups_are_of_one_size_ascend_and_the_same_input_gives_the_same_bytes(tmp_path):
    terms = Terms(pairs=(1, 3), mounting="skip", hand="right")
    one, two = (
        written(tmp_path, charts.every(demo_shop(), terms), name)[0].read_bytes() for name in ("a.parquet", "b.parquet")
    )
    assert one == two
    meta = pq.ParquetFile(tmp_path / "a.parquet").metadata
    groups = [meta.row_group(group) for group in range(meta.num_row_groups)]
    assert len(groups) > 1
    assert {group.num_rows for group in groups[:-1]} == {GROUP_ROWS}
    ends = [group.column(0).statistics for group in groups]
    assert all(a.max <= b.min for a, b in pairwise(ends))
    assert {group.sorting_columns for group in groups} == {(pq.SortingColumn(0),)}


def test_a_grid_says_that_it_is_sorted_and_a_list_does_not(tmp_path):
    chart = charts.grid(demo_shop(), Terms(), [Fraction(20), Fraction(30)], [Fraction(15), Fraction(20)])
    meta = pq.ParquetFile(written(tmp_path, chart, "grid.parquet")[0])
    order = [meta.schema_arrow.names[column.column_index] for column in meta.metadata.row_group(0).sorting_columns]
    assert order == ["diameter_mm", "helix_angle_deg", "rank"]
    frame = read_chart(tmp_path / "grid.parquet")
    assert frame[order].equals(frame[order].sort_values(order))
    assert frame[["wanted_num", "wanted_den", "error_num", "error_den"]].isna().all(axis=None)
    chart = charts.of_list(demo_shop(), Terms(route="spindle"), standard_list("iso-261"), 1)
    path = written(tmp_path, chart, "list.parquet")[0]
    assert pq.ParquetFile(path).metadata.row_group(0).sorting_columns == ()
    for row in pq.read_table(path).to_pylist():
        lead, wanted = Fraction(row["lead_num"], row["lead_den"]), Fraction(row["wanted_num"], row["wanted_den"])
        assert float(wanted) == row["wanted_mm"]
        assert Fraction(row["error_num"], row["error_den"]) == lead - wanted


@pytest.mark.parametrize("hand", ["right", "either"])
def test_a_train_stands_as_text_with_the_idlers_of_its_hand(tmp_path, hand):
    chart = charts.every(demo_shop(), Terms(hand=hand), (Fraction(250), Fraction(280)))
    for row in pq.read_table(written(tmp_path, chart, "leads.parquet")[0]).to_pylist():
        for end in ("right", "left"):
            name = "train" if hand == end else f"train_{end}"
            if row[f"mounts_{end}"] in (None, "no", "not asked"):
                assert row.get(f"train_{end}") is None
                continue
            train = Train.parse(row[name])
            assert (list(train.drivers), list(train.driven)) == (row["drivers"], row["driven"])
            assert list(train.idlers) == row[f"idlers_{end}"]
            assert row["train"] == (row[name] if hand == end else re.sub(r"\([0-9]+\)/", "", row[name]))
    assert (row["mounts_left"] == "not asked") == (hand == "right")


@pytest.mark.parametrize("reader", ["duckdb", "polars"])
def test_a_saved_chart_is_read_by_other_programs(tmp_path, reader):
    path = written(tmp_path, charts.every(demo_shop(), Terms(), (Fraction(250), Fraction(280))), "leads.parquet")[0]
    library = pytest.importorskip(reader)
    if reader == "duckdb":
        rows = library.sql(f"select lead_num, lead_den, train, drivers from '{path}'").fetchall()
    else:
        rows = library.read_parquet(path)["lead_num", "lead_den", "train", "drivers"].rows()
    shop = demo_shop()
    for num, den, train, drivers in rows:
        assert shop.lead(Train.parse(train), shop.route()) == Fraction(num, den)
        assert [*drivers] == [*Train.parse(train).drivers]


def test_a_hand_without_a_train_says_no_and_the_other_row_says_nothing(tmp_path):
    (path,) = written(tmp_path, charts.every(demo_shop(), Terms()), "leads.parquet")
    frame = read_chart(path)
    assert set(frame.mounts_right.dropna()) == {"yes", "no"}
    twice = frame[frame.duplicated(["lead_num", "lead_den"], keep=False)]
    assert len(twice) > 100
    assert (twice.mounts_right.isna() != twice.mounts_left.isna()).all()
    assert not (frame.mounts_right.eq("no") & frame.mounts_left.eq("no")).any()


def test_each_hand_has_the_clearance_that_check_finds_for_its_train(tmp_path):
    shop = demo_shop()
    chart = charts.every(shop, Terms(), (Fraction(295), Fraction(305)))
    parquet, text = written(tmp_path, chart, "leads.parquet", "leads.csv")
    for path in (parquet, text):
        hits = looking.look_up(path, Fraction(300), 30).hits
        assert {(str(hit.train), hit.clearance_mm) for hit in hits if hit.lead_mm == 300} == {
            ("24/(80)/20", 114.0),
            ("24/(44)/(127)/20", 63.0),
        }
        for hit in hits:
            placement = check(shop, hit.train, terms=Terms(hand=hit.hand)).fit.placement
            assert hit.clearance_mm == floor(1000 * placement.clearance_mm + 1e-6) / 1000, hit


def test_where_no_hand_is_known_a_chart_names_none(tmp_path):
    shop = mill((20, 24, 30, 36), hand=None)
    (path,) = written(tmp_path, charts.every(shop, SKIP), "leads.parquet")
    frame = read_chart(path)
    assert frame.mounts.tolist() == ["unknown"] * len(frame)
    assert frame.mounts_right.isna().all()
    assert looking.look_up(path, Fraction(360), 2).hits[0].hand == ""


def test_csv_holds_what_parquet_holds(tmp_path):
    terms = Terms(hand="right")
    parquet, text = written(tmp_path, charts.every(demo_shop(), terms), "leads.parquet", "leads.csv")
    frame = read_chart(parquet)
    with text.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert list(rows[0]) == list(frame.columns)
    assert [Fraction(int(row["lead_num"]), int(row["lead_den"])) for row in rows] == [
        Fraction(num, den) for num, den in zip(frame.lead_num, frame.lead_den, strict=True)
    ]
    assert [row["drivers"] for row in rows] == [" ".join(map(str, teeth)) for teeth in frame.drivers]


def test_two_kinds_of_tooth_are_told_apart(tmp_path):
    kinds = (Kind(Fraction(3, 2), Fraction(20), "m1.5"), Kind(Fraction(2), Fraction(20), "m2"))
    sets = (GearSet(kinds[0], (20, 30)), GearSet(kinds[1], (24, 40)))
    shop = dataclasses.replace(mill((20, 30)), gears=sets)
    (path,) = written(tmp_path, charts.every(shop, SKIP), "leads.parquet")
    frame = read_chart(path)
    assert {tuple(kinds) for kinds in frame.kinds} == {("m1.5",), ("m2",), ("m1.5", "m2"), ("m2", "m1.5")}
    assert "@m" in str(looking.look_up(path, Fraction(360), 1).hits[0].train)


@pytest.mark.parametrize("wanted", [Fraction(825, 2), Fraction(1), Fraction(10**6)])
@pytest.mark.parametrize("near", some([4, 1, 50]))
def test_looking_up_a_lead_gives_its_true_neighbours(tmp_path, wanted, near):
    chart = charts.every(demo_shop(), Terms(pairs=(1, 2), mounting="skip", hand="left"))
    (path,) = written(tmp_path, chart, "leads.parquet")
    frame = read_chart(path)
    leads = [Fraction(num, den) for num, den in zip(frame.lead_num, frame.lead_den, strict=True)]
    found = looking.look_up(path, wanted, near).hits
    assert [hit.lead_mm for hit in found] == sorted(naive_charts.nearest(leads, wanted, near))
    shop = demo_shop()
    assert all(shop.lead(hit.train, shop.route()) == hit.lead_mm for hit in found)


def test_looking_reads_only_the_row_groups_about_the_lead(tmp_path, monkeypatch):
    chart = charts.every(demo_shop(), Terms(pairs=(1, 3), mounting="skip", hand="right"))
    (path,) = written(tmp_path, chart, "leads.parquet")
    read = []
    whole = pq.ParquetFile.read_row_groups
    monkeypatch.setattr(
        pq.ParquetFile,
        "read_row_groups",
        lambda self, groups, **more: read.append(groups) or whole(self, groups, **more),
    )
    looking.look_up(path, Fraction(100), 3)
    assert pq.ParquetFile(path).num_row_groups > 1
    assert max(len(groups) for groups in read) == 1


def test_neighbours_are_found_across_row_groups(tmp_path, monkeypatch):
    monkeypatch.setattr("gearsearch.output.columnar.GROUP_ROWS", 50)
    (path,) = written(tmp_path, charts.every(demo_shop(), Terms()), "leads.parquet")
    file = pq.ParquetFile(path)
    assert file.num_row_groups > 100
    leads = sorted(
        {Fraction(num, den) for num, den in read_chart(path)[["lead_num", "lead_den"]].itertuples(index=False)}
    )
    for group in range(0, file.num_row_groups, 13):
        ends = file.metadata.row_group(group).column(0).statistics
        for wanted in (Fraction(ends.min), Fraction(ends.max) + Fraction(1, 10**6)):
            found = {hit.lead_mm for hit in looking.look_up(path, wanted, 7).hits}
            assert found == set(naive_charts.nearest(leads, wanted, 7))


def test_a_list_is_ranked_by_error_in_the_terms_of_the_part(tmp_path):
    items = (
        Part(Fraction(127, 10), name="half | inch", tolerance=Tolerance.parse("0.1%")),
        Part(Fraction(1, 10), name="no train near", tolerance=Tolerance.parse("0.1%")),
    )
    chart = charts.of_list(
        demo_shop(), Terms(route="spindle", hand="left"), LeadList("x", "x", items), 2, None, Fraction(60)
    )
    (path,) = written(tmp_path, chart, "list.parquet")
    frame = read_chart(path)
    assert frame.name.tolist() == ["half | inch"] * 2 + ["no train near"] * 2
    assert frame["rank"].tolist() == [1, 2, 1, 2]
    assert frame.within.tolist()[0] is True
    assert frame.within.tolist()[2:] == [False, False]
    assert frame.error_mm.tolist()[0] == 0.0
    assert frame.on_the_part.tolist()[0] == "exact"
    assert re.fullmatch(r"[0-9.]+ mm (long|short) over 60 mm", frame.on_the_part.tolist()[1])
    off = frame.lead_mm - frame.wanted_mm
    assert np.allclose(frame.error_mm, off, rtol=0, atol=1e-12)
    assert np.allclose(frame.error_ppm, off / frame.wanted_mm * 1e6, rtol=1e-9, atol=1e-6)


def test_each_cell_of_a_grid_is_what_find_answers(tmp_path):
    from gearsearch.search.find import find

    diameters, angles = [Fraction(10), Fraction(25)], [Fraction(15), Fraction(30), Fraction(45)]
    (path,) = written(tmp_path, charts.grid(demo_shop(), Terms(hand="right"), diameters, angles), "grid.parquet")
    frame = read_chart(path)
    assert len(frame) == 6
    for row in frame.itertuples():
        wanted = charts.cell_lead_mm(Fraction(row.diameter_mm), Fraction(row.helix_angle_deg), "helix angle")
        fit = find(demo_shop(), Part(wanted), Terms(hand="right", count=1, mounting="must")).fits[0]
        assert fit.lead_mm == Fraction(row.lead_num, row.lead_den)
        assert (list(fit.train.drivers), list(fit.train.driven)) == (list(row.drivers), list(row.driven))
        given_ = np.degrees(np.arctan2(np.pi * row.diameter_mm, row.lead_mm))
        assert row.helix_angle_given_deg == pytest.approx(given_, abs=1e-9)


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("landscape", [False, True])
@pytest.mark.parametrize("kind", ["every", "list", "grid"])
def test_pages_are_aligned_at_most_100_columns_wide_and_repeat_their_headings(tmp_path, size, landscape, kind):
    shop, terms = demo_shop(), Terms(pairs=(1, 3))
    chart = {
        "every": lambda: charts.every(shop, terms, (Fraction(300), Fraction(310))),
        "list": lambda: charts.of_list(shop, Terms(route="spindle"), load_list("iso-54", starts=(1, 2))),
        "grid": lambda: charts.grid(shop, terms, [Fraction(i) for i in range(10, 40)], [Fraction(20), Fraction(30)]),
    }[kind]()
    paper = Paper(size, landscape, 20)
    (path,) = written(tmp_path, chart, "chart.md", imprint=Imprint("gearsearch chart", "2026-11-25", paper))
    text = path.read_text(encoding="utf-8")
    pages = text.split("\n---\n")
    assert len(pages) > 1
    assert max(map(len, text.splitlines())) <= 100
    for number, page in enumerate(pages, 1):
        rows = [line for line in page.splitlines() if line.startswith("|")]
        assert len({len(row) for row in rows}) == 1, page
        assert len(rows) <= 22
        assert re.search(rf"^## .*(, Millrace workshop \(demo shop\)|…), page {number} of {len(pages)}\n", page, re.M)
        legend = page.partition(rows[-1])[2]
        assert ("clear: tightest gap, in mm" in legend) == (kind == "every")
        assert "in power order" in legend or "mesh by mesh from" in legend
        assert not any(f"left out for want of room: {heading}" in legend for heading in ("tried", "lead"))
        assert "tried" in rows[0] or kind == "grid"
        assert re.fullmatch(r"\|(:?-+:?\|)+", rows[1])
    assert f"size: {size} {'landscape' if landscape else 'portrait'}" in pages[0]
    assert "lead of the machine" in pages[0]
    assert "isolate the machine" in " ".join(pages[0].split())


def test_a_page_is_as_it_was_looked_at(tmp_path):
    chart = charts.every(demo_shop(), Terms(), (Fraction(411), Fraction(413)))
    (path,) = written(tmp_path, chart, "chart.md", imprint=Imprint("gearsearch chart every", "2026-11-25"))
    rows = [line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("|")]
    assert rows[:2] == [
        "| lead, mm | mesh 1 | mesh 2 | idler R | idler L     | clear R | clear L | tried |",
        "|---------:|:-------|:-------|:--------|:------------|--------:|--------:|:------|",
    ]
    assert rows[-4:] == [
        "|  412.750 | 80/52  | 72/127 | none    |             |    31.5 |         |       |",
        "|  412.750 | 72/52  | 80/127 |         | 64 in 1     |         |    13.6 |       |",
        "|  412.800 | 80/32  | 30/86  | none    |             |    48.0 |         |       |",
        "|  412.800 | 60/86  | 80/64  |         | 52 in 1     |         |    30.0 |       |",
    ]


PAPER = MarkdownPages(io.StringIO(), Paper(), 0)
HEADINGS = (Heading("name"), Heading("lead, mm", right=True), Heading("lead, in", 3, right=True))


def test_names_are_escaped_and_cut_where_the_page_is_too_narrow():
    assert escaped("a|b *c* <d> `e`") == "a\\|b \\*c\\* \\<d\\> \\`e\\`"
    for name in ("x" * 90, "x_" * 45):
        table = fitted(Table((*HEADINGS, Heading("tried")), ((name, "1.0000", "0.0394", ""),)), PAPER)
        lines = ruled(safe(table)).splitlines()
        assert len(table.headings) == 4
        assert len(set(map(len, lines))) == 1
        assert len(lines[0]) <= 100
        assert "…" in lines[2]


def test_columns_that_a_narrow_page_leaves_out_are_the_lightest():
    gaps = (Heading("clear R", 4), Heading("clear L", 4))
    table = Table((*HEADINGS, *gaps, Heading("ppm", 2)), (("x" * 30, "1.0000", "0.0394", "12.0", "9.0", "3"),))
    seen = {}
    for width in range(100, 20, -1):
        PAPER.width = width
        told = {heading.short for heading in fitted(table, PAPER).headings}
        seen.setdefault("; ".join(h.short for h in table.headings if h.short not in told), width)
    PAPER.width = 100
    assert list(seen)[:3] == ["", "ppm", "lead, in"]
    assert "clear R; clear L" in str(list(seen))
    assert not any(("clear R" in absent) != ("clear L" in absent) for absent in seen)
    assert fitted(NO_TRAIN, PAPER) == NO_TRAIN


def test_a_chart_without_a_row_says_so(tmp_path):
    chart = charts.every(mill((20, 21)), Terms(pairs=(1, 1), mounting="skip"), (Fraction(350), Fraction(355)))
    paths = written(tmp_path, chart, "a.parquet", "a.md", "a.csv")
    assert len(read_chart(paths[0])) == 0
    assert "no train does this" in paths[1].read_text(encoding="utf-8")
    assert len(paths[2].read_text(encoding="utf-8").splitlines()) == 1
    assert looking.look_up(paths[0], Fraction(1), 3).hits == ()


BAD = {
    "there is no lead from 500.000 mm to 400.000 mm\nhelp: give the shorter lead first": lambda: charts.every(
        demo_shop(), Terms(), (Fraction(500), Fraction(400))
    ),
    "leads from 20000.000 mm to the longest are out of reach\nhelp: these gears reach from 13.606 mm (0.5357 in) to "
    "9525.000 mm (375.0000 in) by the route worm; take another route, or more pairs": lambda: charts.every(
        demo_shop(), Terms(), (Fraction(20000), None)
    ),
    "a chart cannot be thinned by steps of 0 %\nhelp: give more than 0 %, up to 100 %": lambda: charts.every(
        demo_shop(), Terms(), thin=Fraction(0)
    ),
    "a chart cannot be thinned by steps of -1 %\nhelp: give more than 0 %, up to 100 %": lambda: charts.every(
        demo_shop(), Terms(), thin=Fraction(-1, 100)
    ),
    "a chart cannot be thinned and hold all arrangements\nhelp: leave one of the two out": lambda: charts.every(
        demo_shop(), Terms(), thin=Fraction(1, 100), all_arrangements=True
    ),
    "helix angle 90 is not above 0° and below 90°\nhelp: give an angle between the two, such as 20": lambda: (
        charts.grid(demo_shop(), Terms(), [Fraction(10)], [Fraction(90)])
    ),
    "lead angle 1/100000000 is too near to 0° or 90° to make a lead\n"
    "help: give an angle farther from both, or the lead itself": lambda: charts.grid(
        demo_shop(), Terms(), [Fraction(10)], [Fraction(1, 10**8)], "lead angle"
    ),
    "a grid cannot have 0 cells\nhelp: give diameters × angles of 1 to 1 000 000": lambda: charts.grid(
        demo_shop(), Terms(), [], [Fraction(9)]
    ),
    "0 is no number of trains for each lead\nhelp: give 1 to 1000": lambda: charts.of_list(
        demo_shop(), Terms(), load_list("unc"), 0
    ),
    "the gears of Test shop make no train of 2 pairs\nhelp: ask for fewer pairs, or add gears that mesh with each "
    "other": lambda: charts.every(mill((20, 30, 40)), Terms(pairs=(2, 2))),
    "the paper 'a5' is not known\nhelp: use A4 or Letter": lambda: Paper("a5"),
    "a page cannot have 3 rows\nhelp: give 5 to 1000 rows": lambda: Paper(rows=3),
    "there is no chart nothing.parquet\nhelp: name a .parquet file that gearsearch chart has written": lambda: (
        read_chart("nothing.parquet")
    ),
}


@pytest.mark.parametrize("message", BAD)
def test_what_cannot_be_charted_is_told_with_what_would_do(message):
    with pytest.raises(GearsearchError) as caught:
        BAD[message]()
    assert str(caught.value) == message


def test_outs_are_refused_before_any_work(tmp_path):
    chart = charts.every(demo_shop(), Terms())
    (tmp_path / "there.md").write_text("old", encoding="utf-8")
    for out, said in {
        "leads.xlsx": "leads.xlsx has none of the endings",
        "leads": "leads has none of the endings",
        "there.md": "exists",
        "no/leads.md": "there is no folder",
    }.items():
        with pytest.raises(GearsearchError, match=re.escape(said)):
            write_chart(chart, [tmp_path / out])
    with refused("one-file"):
        write_chart(chart, [tmp_path / "a.md", tmp_path / "a.md"])
    with refused("refused", "--out"):
        write_chart(chart, [])
    assert len(list(chart.rows)) > 0


@pytest.mark.parametrize("name", ["leads.parquet", "leads.md", "leads.csv"])
@pytest.mark.parametrize("fault", some([OSError(28, "No space left on device"), KeyboardInterrupt()]))
def test_a_fault_half_way_leaves_the_old_file_and_nothing_else(tmp_path, name, fault):
    path = tmp_path / name
    path.write_text("old", encoding="utf-8")
    chart = charts.every(demo_shop(), Terms())

    def broken():
        yield next(iter(chart.rows))
        raise fault

    spoiled = dataclasses.replace(chart, make=broken)
    with pytest.raises((GearsearchError, KeyboardInterrupt)) as caught:
        write_chart(spoiled, [path], overwrite=True)
    if isinstance(fault, OSError):
        assert "cannot be written: no space left on device" in str(caught.value)
    assert path.read_text(encoding="utf-8") == "old"
    assert [left.name for left in tmp_path.iterdir()] == [name]


def test_what_is_no_chart_is_refused(tmp_path):
    junk, plain = tmp_path / "junk.parquet", tmp_path / "plain.parquet"
    junk.write_bytes(b"PAR1 is not enough")
    pd.DataFrame({"a": [1]}).to_parquet(plain)
    with refused("refused", "junk.parquet"):
        read_chart(junk)
    with refused("refused", "plain.parquet"):
        read_chart(plain)


def test_the_classic_box_is_charted_in_full():
    leads = leads_of(classic(), Terms(mounting="skip", pairs=(2, 2)))
    assert len(leads) == len(naive.every_lead(classic(), classic().route(), 2, 2))
