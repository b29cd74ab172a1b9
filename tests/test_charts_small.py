"""Charts of boxes of a few gears, row for row against the slow way; small enough for loops that are interpreted."""

import csv
import io
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import atan, degrees, pi

import naive
import naive_charts
import naive_mounting
import numpy as np
import pyarrow.parquet as pq
import pytest
from quadrants import plain
from refusals import refused
from shops import mill
from slow import some

from gearsearch.base.errors import GearsearchError
from gearsearch.charts import looking
from gearsearch.charts import making as charts
from gearsearch.charts.best import BestTrains
from gearsearch.charts.columns import facts_of
from gearsearch.charts.lead_cells import LEAD_DIGITS, number, places_apart, threads_per_inch
from gearsearch.charts.legend import heading_facts
from gearsearch.charts.lines import cells_of, lines_of, table_of
from gearsearch.charts.nearest import Nearest
from gearsearch.charts.rows import LeadRows, thinned
from gearsearch.charts.saved import read_chart
from gearsearch.output.chart_files import Imprint, write_chart
from gearsearch.output.grid_pages import grid_pages
from gearsearch.output.markdown_pages import MarkdownPages
from gearsearch.output.pages import ChartPages, fitted
from gearsearch.output.paper import Paper
from gearsearch.output.text import text as text_of
from gearsearch.search import kernels
from gearsearch.search.catalogue import Catalogue
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import HANDS
from gearsearch.work.asking import part
from gearsearch.work.figures import Figures, error_in_words
from gearsearch.work.lists import LeadList
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance

SIX = plain((24, 32, 40, 48, 72, 100))
WHOLE = Terms(pairs=(1, 2))


def slow_chart(shop, hand):
    """For each lead the best train that mounts, as (lead, drivers, idlers, driven, clearance in µm), by lead."""
    route, rows = shop.route(), []
    source = BestTrains(shop, WHOLE)
    number = {teeth: size for size, teeth in enumerate(source.pool.teeth)}
    for lead, sets in sorted(naive.every_lead(shop, route, 1, 2).items()):
        best = None
        for train_set in sorted(sets, key=lambda train_set: len(train_set[0])):
            if best is None or len(best[5]) == len(train_set[0]):
                drivers, driven = ([number[teeth] for _, teeth in side] for side in train_set)
                found = naive_mounting.best(shop, source.pool, route, drivers, driven, hand)
                best = min(filter(None, (best, found)), default=None)
        if best is not None:
            told = source.pool.teeth
            pairs = [(told[a], tuple(told[i] for i in idlers), told[b]) for a, idlers, b in best[5]]
            rows.append((lead, tuple(pairs), -best[1]))
    return rows


def all_leads(shop, terms=WHOLE):
    """Every lead of a shop as one block."""
    return LeadRows.joined(list(BestTrains(shop, terms).leads()))


def of_hand(shop, leads, hand):
    """The rows of leads in the form of the slow chart."""
    box, chosen, rows = BestTrains(shop, WHOLE).pool, leads.hands[hand], []
    for row in np.flatnonzero(chosen.pairs > 0):
        train = chosen.train(box, row)
        pairs = tuple((pair.driver, pair.idlers, pair.driven) for pair in train.pairs)
        rows.append((leads.lead(row), pairs, int(chosen.clearance_um[row])))
    return rows


@pytest.mark.parametrize("hand", HANDS)
def test_every_lead_of_a_quadrant_has_the_train_and_the_clearance_of_the_slow_chart(hand):
    expected = slow_chart(SIX, hand)
    assert len(expected) > 5
    assert of_hand(SIX, all_leads(SIX), hand) == expected


def nearest_of(rows, wanted, count):
    """The rows of the slow chart whose leads are the nearest to a wanted one."""
    return [row for row in rows if row[0] in naive_charts.nearest([lead for lead, *_ in rows], wanted, count)]


@pytest.mark.parametrize("count", some([2, 40, 1], 2))
def test_the_nearest_leads_of_a_quadrant_are_those_of_the_slow_chart(count):
    wanted = [Fraction(value) for value in (1, 90, 216, 360, 400, 10**5)]
    source = BestTrains(SIX, WHOLE)
    found = Nearest(source, wanted, count).answer()
    for hand in HANDS:
        whole = slow_chart(SIX, hand)
        for item, lead in enumerate(wanted):
            mine = found.take(np.flatnonzero(found.more["item"] == item))
            assert sorted(of_hand(SIX, mine, hand)) == nearest_of(whole, lead, count), (hand, item)


def test_a_quadrant_without_a_stud_has_no_train_of_two_pairs_to_chart_or_list():
    shop, terms = plain((24, 32, 40, 48, 72, 100), studs=0), Terms(pairs=(2, 2))
    assert list(BestTrains(shop, terms).leads()) == []
    assert Nearest(BestTrains(shop, terms), [Fraction(360)], 1).answer() is None
    items = (Part(Fraction(360), name="roll"),)
    assert list(charts.of_list(shop, terms, LeadList("x", "x", items)).rows) == []
    assert list(charts.grid(shop, terms, [Fraction(20)], [Fraction(30)]).rows) == []
    assert sum(map(len, charts.every(shop, terms, all_arrangements=True).rows)) == 0


def test_a_quadrant_without_a_stud_has_the_pairs_that_reach_without_one():
    teeth, none = (80, 100, 100, 120), {"studs": 0}
    leads = all_leads(plain(teeth, **none))
    assert of_hand(plain(teeth, **none), leads, "left") == slow_chart(plain(teeth, **none), "left")
    assert not (leads.hands["right"].pairs > 0).any()
    assert Nearest(BestTrains(plain(teeth, **none), Terms(hand="right")), [Fraction(360)], 1).answer() is None


@pytest.mark.parametrize(
    ("layout", "studs", "pairs", "hand", "swept"),
    [
        ("slot", 1, 2, "left", False),
        ("slot", 1, 2, "right", True),
        ("slot", 1, 2, "either", True),
        ("slot", 3, 3, "right", True),
        ("plate", 3, 3, "right", False),
        ("plate", 3, 3, "left", True),
    ],
)
def test_no_train_is_swept_that_needs_more_studs_for_its_hand_than_the_quadrant_takes(
    layout, studs, pairs, hand, swept, monkeypatch
):
    """One stud cuts right: two pairs cut left with an idler. A plate takes two studs, however many it has."""
    shop, sweeps = plain((24, 32, 40, 48, 72, 100), layout=layout, studs=studs), []
    spans = Catalogue._spans
    monkeypatch.setattr(Catalogue, "_spans", lambda own, windows: sweeps.extend(own.pairs) or spans(own, windows))
    list(BestTrains(shop, Terms(pairs=(pairs, pairs), hand=hand)).leads())
    assert bool(sweeps) == swept
    sweeps.clear()
    find(shop, Part(Fraction(360)), Terms(pairs=(pairs, pairs), hand=hand))
    assert bool(sweeps) == swept


@pytest.mark.parametrize("share", [Fraction(1, 100), Fraction(1, 3), Fraction(1)])
@pytest.mark.parametrize("sliced", [False, True])
def test_thinning_keeps_of_each_step_what_the_slow_thinning_keeps(share, sliced):
    whole = all_leads(SIX, Terms(hand="left"))
    chosen = whole.hands["left"]
    ease = zip(chosen.pairs.tolist(), chosen.idler_count.tolist(), (-chosen.clearance_um).tolist(), strict=True)
    rows = [(whole.lead(row), key) for row, key in enumerate(ease)]
    parts = [whole.take([row]) for row in range(len(whole))] if sliced else [whole]
    kept = LeadRows.joined(list(thinned(iter(parts), share)))
    assert [kept.lead(row) for row in range(len(kept))] == naive_charts.easiest_of_each_step(rows, share)


def test_a_step_ends_exactly_at_its_end_and_not_where_the_float_of_it_ends():
    """The second lead lies a hair below the end of the first step, which rounds to the same float as the lead."""
    whole = all_leads(mill((20, 24, 30)), Terms(mounting="skip", hand="left", pairs=(1, 1)))
    first, second = whole.lead(0), whole.lead(1)
    for hair, steps in ((Fraction(1, 10**30), 1), (Fraction(0), 2), (Fraction(-1, 10**30), 2)):
        two = whole.take(slice(0, 2))
        kept = LeadRows.joined(list(thinned(iter([two]), second / first - 1 + hair)))
        assert len(kept) == steps


def test_nothing_thinned_is_nothing():
    assert list(thinned(iter([]), Fraction(1))) == []


def test_of_rows_alike_in_all_keys_the_earlier_is_the_first():
    best = np.full(3, -1)
    kernels.first_of_each(np.array([0, 0, 1, 1, 1]), np.array([[5, 2], [5, 2], [7, 1], [6, 9], [6, 8]]), best)
    assert best.tolist() == [0, 4, -1]


def test_ratios_that_share_a_float_are_told_apart():
    """Two ratios of products below 2**53 whose quotients round alike, and one that is the first of them once more."""
    high, low = 2**52 + 1, 2**52
    driven, drivers = np.array([high, high + 2, high, 1]), np.array([low, low + 2, low, 1])
    quotients = driven / drivers
    assert quotients[0] == quotients[1]
    owner, first = np.empty(4, np.int64), np.empty(4, np.int64)
    with np.errstate(over="ignore"):
        count = kernels.number(quotients.view(np.int64), driven, drivers, owner, first)
    assert (count, owner.tolist(), first[:count].tolist()) == (3, [0, 1, 0, 2], [0, 1, 3])


def written(tmp_path, chart, *names, **more):
    """The chart written to files of these names; returns their paths."""
    paths = [tmp_path / name for name in names]
    write_chart(chart, paths, **more)
    return paths


def test_a_saved_chart_holds_the_slow_chart_in_every_format(tmp_path):
    parquet, text, page = written(tmp_path, charts.every(SIX, WHOLE), "a.parquet", "a.csv", "a.md")
    frame = read_chart(parquet)
    for hand in HANDS:
        mine = frame[frame[f"mounts_{hand}"] == "yes"]
        expected = slow_chart(SIX, hand)
        assert [Fraction(num, den) for num, den in zip(mine.lead_num, mine.lead_den, strict=True)] == [
            lead for lead, *_ in expected
        ]
        assert [list(teeth) for teeth in mine.drivers] == [[a for a, _, _ in pairs] for _, pairs, _ in expected]
        assert [list(teeth) for teeth in mine.driven] == [[b for *_, b in pairs] for _, pairs, _ in expected]
        assert [list(teeth) for teeth in mine[f"idlers_{hand}"]] == [
            [teeth for _, idlers, _ in pairs for teeth in idlers] for _, pairs, _ in expected
        ]
    with text.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["lead_num"] for row in rows] == [str(num) for num in frame.lead_num]
    assert [row["mounts_left"] for row in rows] == [word or "" for word in frame.mounts_left.fillna("")]
    pages = page.read_text(encoding="utf-8").split("\n---\n")
    lines = [line for page in pages for line in page.splitlines() if line.startswith("| ")]
    assert len(lines) == len(frame) + len(pages)


@pytest.mark.parametrize("terms", [WHOLE, Terms(hand="left")])
def test_neighbours_are_found_across_row_groups_of_a_few_rows(tmp_path, monkeypatch, terms):
    monkeypatch.setattr("gearsearch.output.columnar.GROUP_ROWS", 3)
    (path,) = written(tmp_path, charts.every(SIX, terms), "a.parquet")
    assert pq.ParquetFile(path).num_row_groups > 3
    leads = [
        lead for lead, *_ in {row[0]: row for hand in terms_hands(terms) for row in slow_chart(SIX, hand)}.values()
    ]
    for wanted in (Fraction(1), Fraction(200), Fraction(361), Fraction(10**5), *leads[::5]):
        for near in (1, 3, 8):
            found = {hit.lead_mm for hit in looking.look_up(path, wanted, near).hits}
            assert found == set(naive_charts.nearest(leads, wanted, near)), (wanted, near)


def terms_hands(terms):
    """The hands that are charted."""
    return HANDS if terms.hand == "either" else (terms.hand,)


LISTED = LeadList(
    "Ours",
    "leads of the Millrace workshop",
    (
        Part(Fraction(216), name="oil groove | left bank", tolerance=Tolerance.parse("0.1%")),
        Part(
            Fraction(361), name="feed roll with a name that is far longer than the page is wide, and longer still " * 2
        ),
        Part(Fraction(1), name="sluice pinion", tolerance=Tolerance.parse("0.1%")),
    ),
)
KINDS_OF_CHART = {
    "every": lambda shop: charts.every(shop, WHOLE),
    "all": lambda shop: charts.every(shop, WHOLE, all_arrangements=True),
    "list": lambda shop: charts.of_list(shop, WHOLE, LISTED, 20, Tolerance.parse("40%"), Fraction(60)),
    "grid": lambda shop: charts.grid(
        shop, WHOLE, [Fraction(n) for n in range(10, 24, 2)], [Fraction(n) for n in range(10, 60, 10)]
    ),
}


@pytest.mark.parametrize("paper", [Paper("A4", False, 20), Paper("Letter", True, 12)], ids=["A4", "Letter"])
@pytest.mark.parametrize("kind", KINDS_OF_CHART)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_small_pages_are_aligned_at_most_100_columns_wide_and_repeat_their_headings(tmp_path, paper, kind, units):
    chart = KINDS_OF_CHART[kind](plain((24, 32, 40, 48, 72, 100), units=units))
    (path,) = written(tmp_path, chart, "chart.md", imprint=Imprint("gearsearch chart", "1 May", paper))
    text = path.read_text(encoding="utf-8")
    pages = text.split("\n---\n")
    assert len(pages) > 1
    assert max(map(len, text.splitlines())) <= 100
    for count, page in enumerate(pages, 1):
        rows = [line for line in page.splitlines() if line.startswith("|")]
        assert len({len(row) for row in rows}) == 1, page
        assert 3 <= len(rows) <= paper.rows + 2
        assert f"page {count} of {len(pages)}\n" in page
        assert ("1 May" in page) == (count == 1)


PAPER = MarkdownPages(io.StringIO(), Paper(), 0)


def by_heading(table):
    """The rows of a table as dicts."""
    names = [heading.short for heading in table.headings]
    return [dict(zip(names, row, strict=True)) for row in table.rows]


@pytest.mark.parametrize("hand", HANDS)
def test_a_grid_shows_in_each_cell_the_nearest_train_of_the_hand_of_its_page(hand):
    diameters, angles = [Fraction(20), Fraction(35)], [Fraction(15), Fraction(30), Fraction(45)]
    chart = charts.grid(SIX, WHOLE, diameters, angles)
    every = grid_pages(chart, LeadRows.joined(list(chart.rows)), PAPER, (50, 58), Fraction(1))
    lines = [line for of, page in every if of == hand for table in page for line in by_heading(table)]
    slow = slow_chart(SIX, hand)
    for row, diameter in enumerate(diameters):
        train, lead = lines[2 * row : 2 * row + 2]
        assert train["diameter, mm"] == f"{float(diameter):.3f}"
        for heading, angle in zip(list(train)[1:], angles, strict=True):
            wanted = charts.cell_lead_mm(diameter, angle, "helix angle")
            near = nearest_of(slow, wanted, 1)[0]
            given = f" ({degrees(atan(pi * diameter / near[0])):.3f}°)"
            off = given if abs(near[0] / wanted - 1) > Fraction(1, 1000) else ""
            assert lead[heading] == f"{float(near[0]):.3f}{off}"
            assert train[heading].count("(") == idlers_in(near)


@pytest.mark.parametrize("tolerance", [None, Tolerance.parse("0.1%")])
def test_a_list_has_a_line_for_each_lead_its_error_marked_and_a_dash_for_what_is_hopeless(tolerance):
    wanted = LeadList("mine", "mine", tuple(replace(part(lead=mm), name=f"{mm} mm") for mm in (150, 155, 160)))
    chart = charts.of_list(SIX, WHOLE, wanted, 4, tolerance)
    (rows,) = chart.rows
    lines = cells_of(chart, list(lines_of(chart, rows)))
    items = [n for n, line in enumerate(lines) if line["name"]]
    assert [lines[n]["name"] for n in items] == ["150 mm", "155 mm", "160 mm"]
    assert all({line["right hand"], line["left hand"]} - {"", "-"} for n, line in enumerate(lines) if n not in items)
    marks = set()
    for hand, train, error in (("right", "right hand", "error R"), ("left", "left hand", "error L")):
        for item, (first, last) in enumerate(zip(items, [*items[1:], len(lines)], strict=True)):
            mine = rows.own[hand] & (rows.hands[hand].pairs > 0) & (rows.more["item"] == item)
            for row, line in zip(np.flatnonzero(mine).tolist(), lines[first:last], strict=False):
                ppm, within = abs(rows.more["error_ppm"][row]), rows.more["within"][row]
                if ppm > 10_000 and not within:
                    assert (line[train], line[error]) == ("-", "")
                    continue
                assert line[train] == str(rows.hands[hand].train(chart.source.pool, row))
                mark = {None: "OFF" if ppm > 1000 else "", True: "ok", False: "OUT"}[within]
                assert line[error].partition(" ")[2] == mark
                marks.add(mark)
    assert marks >= ({"OFF"} if tolerance is None else {"ok", "OUT"})


def test_sizes_of_one_pitch_share_a_line_and_no_name_is_lost():
    sizes = {"a": 150, "b": 160, "c": 150, "a long name": 150, "d": 155}
    wanted = LeadList("mine", "mine", tuple(replace(part(lead=mm), name=name) for name, mm in sizes.items()))
    chart = charts.of_list(SIX, WHOLE, wanted)
    (rows,) = chart.rows
    lines = cells_of(chart, list(lines_of(chart, rows)))
    assert [(line["name"], line.get("lead, mm")) for line in lines] == [
        ("a, c, a long name", "150"),
        ("b", "160"),
        ("d", "155"),
    ]
    longer = LeadList(
        "mine", "mine", tuple(replace(item, name=f"{item.title} of some length") for item in wanted.items)
    )
    chart = charts.of_list(SIX, WHOLE, longer)
    (rows,) = chart.rows
    lines = cells_of(chart, list(lines_of(chart, rows)))
    assert [line["name"] for line in lines[:3]] == [f"{name} of some length," for name in "ac"] + [
        "a long name of some length"
    ]
    assert [line.get("lead, mm") for line in lines[:4]] == ["150", None, None, "160"]


def test_no_cell_of_a_grid_is_filled_with_a_lead_more_than_a_hundredth_off():
    diameters, angles = [Fraction(2), Fraction(20)], [Fraction(n) for n in range(15, 85)]
    chart = charts.grid(SIX, WHOLE, diameters, angles)
    rows = LeadRows.joined(list(chart.rows))
    wide = {key: cell for key, cell in trains_of(chart, rows, Fraction(10**6)).items() if cell != "-"}
    near = {key: cell for key, cell in trains_of(chart, rows, Fraction(1, 100)).items() if cell != "-"}
    assert 0 < len(near) < len(wide) == 2 * len(angles)
    off = {}
    for row in np.flatnonzero(rows.own["right"] & (rows.hands["right"].pairs > 0)).tolist():
        key = rows.more["diameter_mm"][row], rows.more["helix_angle_deg"][row]
        off[key] = min(abs(rows.more["error_ppm"][row]), off.get(key, 1e9))
    assert {key for key in wide if off[key] <= 10_000} == set(near)


def trains_of(chart, rows, farthest):
    """The train of each cell of the right-hand pages of a grid."""
    cells = {}
    for hand, page in grid_pages(chart, rows, PAPER, (500, 500), farthest):
        for table in page if hand == "right" else ():
            for line in (line for line in by_heading(table) if line["diameter, mm"]):
                cells |= {(float(line["diameter, mm"]), float(key[:-1])): cell for key, cell in list(line.items())[1:]}
    return cells


def idlers_in(row):
    """How many idlers the train of a row of the slow chart takes."""
    return sum(len(idlers) for _, idlers, _ in row[1])


def test_no_page_of_a_grid_has_trains_of_both_hands():
    chart = charts.grid(SIX, WHOLE, [Fraction(20), Fraction(35)], [Fraction(15), Fraction(30)])
    stream = io.StringIO()
    page = ChartPages(chart, MarkdownPages(stream, Paper(), 3), "gearsearch chart grid", "")
    for rows in chart.rows:
        page.add(rows)
    page.close()
    titles = [line for line in stream.getvalue().splitlines() if line.startswith("## ")]
    assert [title.split(",")[1] for title in titles] == [" right hand", " left hand"]


def test_beyond_the_reach_there_is_no_lead_and_no_arrangement():
    source = BestTrains(SIX, WHOLE)
    shortest, longest = source.reach_mm
    for ends in ((longest + 1, None), (None, shortest - 1), (longest + 1, longest + 2)):
        assert list(source.leads(*ends)) == list(source.arrangements(*ends)) == []
    assert [leads.lead(0) for leads in BestTrains(mill((20, 24)), Terms(mounting="skip")).leads(longest, longest)] == []


def test_leads_of_more_digits_than_a_float_holds_are_rounded_once():
    shop = mill((23, 29, 31, 37), Fraction(10**14 + 31, 10**14), Fraction(1))
    leads = all_leads(shop, Terms(mounting="skip", hand="right", pairs=(2, 2)))
    assert (leads.num / leads.den).tolist() != leads.lead_mm.tolist()  # rounded more than once
    assert leads.lead_mm.tolist() == [float(leads.lead(row)) for row in range(len(leads))]
    assert {leads.lead(row) for row in range(len(leads))} == set(naive.every_lead(shop, shop.route(), 2, 2))


@pytest.mark.parametrize("name", ["a.parquet", "a.md", "a.csv"])
@pytest.mark.parametrize(
    "fault", [OSError(28, "No space left on device"), KeyboardInterrupt()], ids=["full", "stopped"]
)
def test_a_fault_in_the_midst_of_a_small_chart_leaves_the_old_file_and_nothing_else(tmp_path, name, fault):
    path = tmp_path / name
    path.write_text("old", encoding="utf-8")
    chart = charts.every(SIX, WHOLE)

    def broken():
        yield next(iter(chart.rows))
        raise fault

    with pytest.raises((GearsearchError, KeyboardInterrupt)) as caught:
        write_chart(replace(chart, make=broken), [path], overwrite=True)
    assert isinstance(caught.value, KeyboardInterrupt) or "no space left on device" in str(caught.value)
    assert path.read_text(encoding="utf-8") == "old"
    assert [left.name for left in tmp_path.iterdir()] == [name]


def theirs_amid(chart, path):
    """The chart, while somebody else makes a file as its rows run."""

    def amid():
        for rows in chart.rows:
            path.write_text("theirs", encoding="utf-8")
            yield rows

    return replace(chart, make=amid)


@pytest.mark.parametrize("names", [("a.csv", "b.csv"), ("b.csv", "a.csv"), ("b.md", "b.parquet", "a.csv")])
def test_of_several_files_none_is_written_where_one_has_appeared_meanwhile(tmp_path, names):
    paths = [tmp_path / name for name in names]
    with refused("file-appeared", "a.csv"):
        write_chart(theirs_amid(charts.every(SIX, WHOLE), tmp_path / "a.csv"), paths)
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]
    assert (tmp_path / "a.csv").read_text(encoding="utf-8") == "theirs"


def test_one_file_named_by_two_paths_is_refused_before_any_row_is_made(tmp_path):
    chart = replace(charts.every(SIX, WHOLE), make=lambda: pytest.fail("a row was made"))
    with refused("one-file", "n.csv"):
        write_chart(chart, ["n.csv", (tmp_path / "n.csv").resolve()])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["a.parquet", "a.md", "a.csv"])
def test_a_chart_can_be_written_again_and_is_the_same(tmp_path, name):
    for kind, made in KINDS_OF_CHART.items():
        chart = made(SIX)
        count = write_chart(chart, [tmp_path / name], overwrite=True)
        before = (tmp_path / name).read_bytes()
        assert count > 0, kind
        assert write_chart(chart, [tmp_path / f"b{name}", tmp_path / "c.csv"], overwrite=True) == count
        assert (tmp_path / f"b{name}").read_bytes() == before


def test_a_cam_of_a_list_is_judged_on_the_work_as_find_judges_it():
    """Its tolerance is one of the lead on the work, twice as much of the geared lead at a tilt of 30°."""
    shop, cam = demo_shop(), part(lead="200 mm").tilted(30).at(Fraction(50))
    tolerance = Tolerance.parse("0.5mm")
    terms = Terms(hand="right", mounting="skip")
    chart = charts.of_list(
        shop, terms, LeadList("x", "x", (replace(cam, name="cam", tolerance=tolerance),)), 40, None, Fraction(60)
    )
    (rows,) = chart.rows
    leads = [rows.lead(row) for row in range(len(rows))]
    on_the_work = [lead * 200 / cam.lead_mm for lead in leads]
    assert rows.more["within"].tolist() == [abs(lead - 200) <= Fraction(1, 2) for lead in on_the_work]
    assert [abs(lead - cam.lead_mm) <= Fraction(1, 2) for lead in leads] != rows.more["within"].tolist()
    told = [error_in_words(Figures(Fraction(200), lead, Fraction(60))) for lead in on_the_work]
    assert rows.more["on_the_part"].tolist() == told  # a cam is no helix: no angle


def test_a_tolerance_that_a_lead_of_the_list_cannot_have_is_refused_before_any_work():
    listed = LeadList("x", "x", (replace(part(lead="200 mm").tilted(30).at(Fraction(50)), name="cam"),))
    with refused("refused", "cam"):
        charts.of_list(SIX, WHOLE, listed, 3, Tolerance.parse("0.05deg helix"))


def test_whole_numbers_and_fractions_serve_as_ends_and_sides():
    ((rows,), (same,)) = (charts.every(SIX, WHOLE, ends).rows for ends in ((300, 400), (Fraction(300), Fraction(400))))
    assert rows.num.tolist() == same.num.tolist() != []
    assert charts.grid(SIX, WHOLE, [20, Fraction(41, 2)], [15]).sides == ((20, Fraction(41, 2)), (15,))


@pytest.mark.parametrize(
    ("sides", "said"),
    {
        ((-10, 20), (20,)): "diameter -10 is not above zero",
        ((0,), (20,)): "diameter 0 is not above zero",
        ((10, 10.5), (20,)): "diameter 10.5 (float) is not an exact number",
        ((10,), (20, 20.5)): "helix angle 20.5 (float) is not an exact number",
        ((10, 20, 15), (20,)): "diameter 15 stands behind 20\nhelp: give each once, in ascending order",
        ((10,), (20, 20)): "helix angle 20 stands behind 20\nhelp: give each once, in ascending order",
    }.items(),
)
def test_sides_of_a_grid_that_cannot_be_are_refused(sides, said):
    with pytest.raises(GearsearchError) as caught:
        charts.grid(SIX, WHOLE, *sides)
    assert str(caught.value).startswith(said)


@pytest.mark.parametrize("ends", [(300.0, 400), (300, 400.0), (None, 400.0), (float("nan"), None)])
def test_ends_that_are_not_exact_are_refused(ends):
    with refused("not-exact", "float"):
        charts.every(SIX, WHOLE, ends)


@pytest.mark.parametrize("near", [0, 1001])
def test_no_neighbours_and_too_many_are_refused(tmp_path, near):
    (path,) = written(tmp_path, charts.every(SIX, Terms(pairs=(1, 1), mounting="skip")), "a.parquet")
    with pytest.raises(GearsearchError) as caught:
        looking.look_up(path, Fraction(360), near)
    assert str(caught.value) == f"{near} is no number of leads to look for\nhelp: give a whole number from 1 to 1000"


def test_neighbours_are_found_where_a_file_keeps_no_ends_of_its_row_groups(tmp_path):
    """As in a file written anew by another program, without statistics."""
    (path,) = written(tmp_path, charts.every(SIX, WHOLE), "a.parquet")
    bare = tmp_path / "bare.parquet"
    pq.write_table(pq.read_table(path), bare, row_group_size=5, write_statistics=False)
    for wanted in (Fraction(1), Fraction(361), Fraction(10**5)):
        assert looking.look_up(bare, wanted, 4).hits == looking.look_up(path, wanted, 4).hits


def test_a_chart_tells_joined_and_fixed_gears_from_loose_ones():
    kinds = (Kind(Fraction(3, 2), tag="m1.5"), Kind(Fraction(2), tag="m2"))
    sets = (
        GearSet(kinds[0], (20, 24, 24, 40), joined=((127, 120), (40, 80), (40, 80)), fixed={"first": 40}),
        GearSet(kinds[1], (), joined=((30, 60),), fixed={"last": 36}),
    )
    shop = replace(mill((20, 24)), gears=sets)
    chart = charts.every(shop, Terms(mounting="skip", pairs=(2, 2), without=(24,)))
    said = (
        "m1.5: 20 24 40, joined 40+80 40+80 120+127, fixed on the first shaft 40; m2: joined 30+60, fixed on the last "
    )
    assert f"gears: {said}shaft 36" in heading_facts(chart, "", "")
    assert facts_of(chart, "", "")["gear_set"] == f"{said}shaft 36"


def test_an_error_is_rounded_from_the_exact_figure_and_not_from_its_float():
    """216 mm less 214.9365 mm lies midway between two printed figures; its float lies a hair below."""
    wanted = LeadList("mine", "mine", (replace(part(lead="214.9365 mm"), name="roll"),))
    chart = charts.of_list(SIX, Terms(), wanted, 2)
    (rows,) = chart.rows
    assert Fraction(float(Fraction("1.0635"))) < Fraction("1.0635")
    assert "+1.064 OFF" in {cells.get("error R") for cells in cells_of(chart, list(lines_of(chart, rows)))}


LATHE = plain((20, 21, 24, 32, 40, 48, 127), kind="lathe", units="in", route="screw")


def test_no_two_leads_that_stand_together_print_alike_whatever_the_digits_of_others():
    rng = np.random.default_rng(11)
    for digits in LEAD_DIGITS.values():
        for _ in range(300):
            middle = Fraction(int(rng.integers(1, 10**7)), int(rng.choice([10, 10**4, 10**6])))
            gaps = [Fraction(1, 10 ** int(rng.integers(1, 12))) for _ in range(3)]
            leads = [middle, *(middle + sum(gaps[: n + 1]) for n in range(3))]
            for unit in ("mm", "in"):
                places = [places_apart(pair, unit, digits) for pair in pairwise(leads)]
                most = map(max, [3, *places], [*places, 3])  # as a lead between two others has them
                printed = [Fraction(number(lead, unit, n, digits)) for lead, n in zip(leads, most, strict=True)]
                assert all(a < b for a, b in pairwise(printed)), (leads, printed)


@pytest.mark.parametrize(
    ("lead", "unit", "mill", "lathe"),
    [
        ("412.5", "mm", "412.500", "412.500"),
        ("12.7", "mm", "12.700", "12.700"),
        ("2.5", "mm", "2.5000", "2.5000"),
        ("0.99219", "mm", "0.9922", "0.99219"),
        ("0.99219", "in", "0.0391", "0.039063"),
        ("25.4", "in", "1.0000", "1.0000"),
        ("0.001", "in", "0.00004", "0.000039370"),
    ],
)
def test_a_lead_of_a_lathe_has_five_significant_digits_and_one_of_a_mill_its_usual_decimals(lead, unit, mill, lathe):
    assert number(Fraction(lead), unit, 3, LEAD_DIGITS[False]) == mill
    assert number(Fraction(lead), unit, 3, LEAD_DIGITS[True]) == lathe
    assert places_apart([Fraction(lead)], unit, LEAD_DIGITS[True]) == {"mm": 3, "in": 4}[unit]


@pytest.mark.parametrize(
    ("lead", "starts", "tpi"),
    [("25.4", 1, "1.0000"), ("1.27", 1, "20.000"), ("2.54", 2, "20.000"), ("1.5", 1, "16.933"), ("0.001", 1, "25400")],
)
def test_threads_per_inch_have_five_digits_and_count_every_start(lead, starts, tpi):
    assert threads_per_inch(Fraction(lead), starts) == tpi


def page_rows(chart, **paper):
    """The rows of all pages of a chart, by the headings of their columns."""
    stream = io.StringIO()
    page = ChartPages(chart, MarkdownPages(stream, Paper(**paper), 0), "", "")
    for rows in chart.rows:
        page.add(rows)
    page.close()
    rows, names = [], []
    for line in stream.getvalue().splitlines():
        cells = [cell.strip() for cell in line.split("|")[1:-1]]
        if "tried" in cells:
            names = cells
        elif cells and "--" not in cells[0]:
            rows.append(dict(zip(names, cells, strict=True)))
    return rows


@pytest.mark.parametrize("slices", [True, False])
def test_on_the_pages_of_every_lead_no_different_leads_print_alike_wherever_pages_and_slices_end(monkeypatch, slices):
    if slices:
        monkeypatch.setattr("gearsearch.charts.best.SLICE_TRAINS", 20)
    shop = mill((20, 24, 28, 32, 40, 48, 127), Fraction(1, 1000))
    chart = charts.every(shop, Terms(mounting="skip", hand="right", pairs=(2, 2)))
    exact = [lead for part in BestTrains(shop, chart.source.terms).leads() for lead in map(part.lead, range(len(part)))]
    rows = page_rows(chart, rows=5)
    assert len(rows) == len(exact) > 100
    for unit, inch in (("mm", 1),):
        printed = [row[f"lead, {unit}"] for row in rows]
        assert all(Fraction(a) < Fraction(b) for a, b in pairwise(printed))
        for text, lead in zip(printed, exact, strict=True):
            assert abs(Fraction(text) - lead / inch) <= Fraction(1, 2 * 10 ** len(text.partition(".")[2]))
        assert {len(text.partition(".")[2]) for text in printed} >= {4, 5}
    assert rows == page_rows(charts.every(shop, chart.source.terms), rows=40)


def test_the_wanted_leads_of_a_list_are_exact_where_they_can_be_and_never_alike():
    shop = mill((20, 24, 28, 32, 40, 48, 127), Fraction(1, 100))
    for leads, printed in (
        (("0.05", "3", "1.125"), ["0.050", "3.000", "1.125"]),
        (("0.05", "0.050001", "3"), ["0.050000", "0.050001", "3.000000"]),
    ):
        wanted = LeadList("mine", "mine", tuple(replace(part(lead=lead), name=f"{lead} mm") for lead in leads))
        chart = charts.of_list(shop, Terms(mounting="skip", hand="right", pairs=(2, 2)), wanted)
        (rows,) = chart.rows
        assert [line["lead, mm"] for line in cells_of(chart, list(lines_of(chart, rows)))] == printed


@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_lathe_has_threads_per_inch_on_its_pages_and_in_its_columns(tmp_path, units):
    shop = replace(LATHE, units=units, quadrant=None)
    items = (replace(part(thread="13 tpi", starts=2), name="thread"),)
    terms = Terms(mounting="skip", hand="right")
    chart = charts.of_list(shop, terms, LeadList("x", "x", items), 3)
    (rows,) = chart.rows
    wanted, *found = cells_of(chart, list(lines_of(chart, rows)))
    assert (wanted["name"], wanted["tpi"], found) == ("thread", "13", [])  # those further off are hopeless
    mixed = LeadList("x", "x", (*items, replace(part(thread="1.5mm"), name="metric")))
    chart = charts.of_list(shop, terms, mixed)
    (more,) = chart.rows
    assert all("tpi" not in line for line in cells_of(chart, list(lines_of(chart, more))))
    (parquet, text) = written(tmp_path, charts.of_list(shop, terms, LeadList("x", "x", items), 3), "a.parquet", "a.csv")
    frame = read_chart(parquet)
    exact = [Fraction(127, 5) * 2 / Fraction(*lead) for lead in zip(frame.lead_num, frame.lead_den, strict=True)]
    assert frame.threads_per_inch.tolist() == [float(threads) for threads in exact]
    for path in (parquet, text):
        hit = looking.look_up(path, items[0].lead_mm, 1).hits[0]
        assert hit.starts == 2
        assert f" {threads_per_inch(hit.lead_mm, 2)} " in text_of(
            looking.look_up(path, hit.lead_mm, 1, units).document()
        )
    (every,) = written(tmp_path, charts.every(shop, terms), "b.parquet")
    assert {hit.starts for hit in looking.look_up(every, Fraction(3), 5).hits} == {1}


def test_leads_looked_up_are_told_apart_too(tmp_path):
    shop = mill((20, 24, 28, 32, 40, 48, 127), Fraction(1, 100))
    (path,) = written(tmp_path, charts.every(shop, Terms(mounting="skip", hand="right")), "a.parquet")
    lines = text_of(looking.look_up(path, Fraction("0.05"), 20).document()).splitlines()
    leads = [line.split() for line in lines if " mm " in line and ":" not in line]
    assert len({lead[0] for lead in leads}) == len({lead[2] for lead in leads}) == 20


def test_a_metric_shop_does_without_threads_per_inch_first_and_one_in_inches_never():
    for units, first in (("mm", {"tpi"}), ("in", {"clear, in"})):
        chart = charts.every(replace(LATHE, units=units), Terms(hand="right"))
        rows = next(iter(chart.rows))
        table = table_of(chart, cells_of(chart, list(lines_of(chart, rows))))
        whole = sum(table.sizes) + 3 * len(table.sizes) + 1
        told = {heading.short for heading in fitted(table, narrow(whole - 1)).headings}
        assert {heading.short for heading in table.headings} - told == first
        assert fitted(table, narrow(whole)) == table


def narrow(width):
    """Paper so many letters wide."""
    paper = MarkdownPages(io.StringIO(), Paper(), 0)
    paper.width = width
    return paper
