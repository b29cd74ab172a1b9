"""Tables of every cut: equal spaces from the exact running total, and the unequal spaces of reamers and cutters."""

import csv
import io
import json
import re
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import pairwise

import commands
import naive_dividing as naive
import pytest
from cells import cells, codes, said
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import mill
from strategies import drawn

from gearsearch.base.errors import GearsearchError
from gearsearch.dividing import divided
from gearsearch.dividing.answer import CUT_KEYS
from gearsearch.dividing.cumulative import table_of_angle, table_of_divisions, unequal_table
from gearsearch.shop.head import Dividing
from gearsearch.shop.reader import demo_shop
from gearsearch.workshop import Workshop

run = partial(commands.run, "divide")
SHOP = demo_shop()
heads = st.builds(
    lambda ratio, circles: Dividing(Fraction(ratio), (tuple(sorted(circles)),)),
    st.sampled_from([5, 40, 60, 90, Fraction(121, 2)]),
    st.lists(st.integers(4, 40), min_size=1, max_size=4, unique=True),
)


def with_head(ratio, *circles):
    return replace(SHOP, dividing=Dividing(Fraction(ratio), (circles,)))


def holes(cut):
    return cut.crank_total.turns * cut.crank_total.circle + cut.crank_total.holes


@drawn(heads, st.integers(1, 150), quick=30, slow=200)
def test_a_table_is_that_of_the_naive_search_and_no_rounding_builds_up(head, divisions):
    assume(all(head.ratio * circle >= divisions for circle in head.circles))
    answer = table_of_divisions(replace(SHOP, dividing=replace(head, differential=False)), divisions)
    circle, totals, worst = naive.table(head.ratio, head.circles, Fraction(360, divisions), divisions)
    if answer.ways[0].by_two:
        assert worst > 0
        return
    assert answer.ways[0].crank_total.circle == circle
    assert max(abs(cut.off_deg) for cut in answer.ways) == worst
    for number, (cut, total) in enumerate(zip(answer.ways, totals, strict=True)):
        assert (cut.number, cut.angle_deg) == (number, Fraction(360 * number, divisions))
        assert cut.off_deg == holes(cut) * 360 / head.ratio / circle - cut.angle_deg
        assert abs(holes(cut) - total) <= 1
        assert abs(cut.off_deg) == abs(total * 360 / head.ratio / circle - cut.angle_deg)
    for before, cut in pairwise(answer.ways):
        assert cut.crank_total.crank_turns - before.crank_total.crank_turns == cut.crank.crank_turns
    assert answer.exact == (worst == 0)
    if worst > 0 and len(head.circles) > 1:
        assert naive.least_combined_error(head.plates, head.ratio / divisions) > 0


sides = st.lists(st.integers(4, 24), min_size=2, max_size=4, unique=True).map(sorted)


@drawn(st.lists(sides, min_size=1, max_size=2), st.sampled_from([5, 12, 40]), st.integers(2, 120), quick=25, slow=200)
def test_where_two_circles_are_exact_together_the_table_is_theirs(plates, ratio, divisions):
    head = Dividing(Fraction(ratio), tuple(map(tuple, plates)), differential=False)
    assume(all(ratio * circle >= divisions for circle in head.circles))
    answer = table_of_divisions(replace(SHOP, dividing=head), divisions)
    one = naive.table(head.ratio, head.circles, Fraction(360, divisions), divisions)[2] == 0
    two = not one and naive.least_combined_error(plates, head.ratio / divisions) == 0
    assert answer.exact == (one or two)
    assert all((cut.by_two is not None) == two for cut in answer.ways)
    for cut in answer.ways if two else ():
        first, second = cut.crank_total, cut.by_two.second
        assert any({first.circle, second.circle} <= set(side) for side in plates)
        plate = Fraction(cut.number * second.holes, second.circle) * (-1 if cut.by_two.back else 1)
        assert (first.crank_turns + plate) * 360 / ratio == cut.angle_deg == Fraction(360 * cut.number, divisions)
        assert cut.back_pin == cut.number * second.holes % second.circle
        assert cut.off_deg == 0


def test_seventy_seven_divisions_by_two_circles_by_hand():
    """60/77 turn is 17/21 - 1/33; so cut 34 is 33 × 17 = 561 = 26 × 21 + 15 holes on, the back pin round once."""
    answer = table_of_divisions(SHOP, 77)
    assert answer.exact
    assert "of the 33 circle, back;" in said(answer, "second-circle")
    assert {"combined", "back"} <= set(codes(answer))  # 1 back: the worm's backlash must be taken up again
    rows = cells(answer)
    assert (rows[1]["turns"], rows[1]["holes"], rows[1]["then"]) == ("0", "17", "1 back")
    assert (rows[33]["in all"], rows[33]["hole"], rows[33]["back pin"]) == ("26", "15", "0")
    cut = answer.record()["cuts"][33]
    assert (cut["circle"], cut["second_circle"], cut["second_back"], cut["second_total_holes"]) == (21, 33, True, 0)
    assert cut["second_holes"] == 1


def test_a_table_names_no_gear_in_use_elsewhere():
    usual, without = (next(iter(instead(Workshop(SHOP).divide(127, table=True, without=gone)))) for gone in ((), (44,)))
    assert "44/(20)/60" in usual
    assert "44" not in without


def instead(answer):
    """What a table says of the exact way."""
    return [note.text for note in answer.notes if note.code == "exact-way"]


@drawn(
    st.integers(1, 500),
    st.sampled_from([Fraction(90), Fraction(40), Fraction(7), Fraction(121, 2)]),
    quick=25,
    slow=100,
)
def test_the_dial_tells_the_exact_angle_to_the_nearest_second(divisions, ratio):
    answer = table_of_divisions(with_head(ratio, 997), divisions)
    for cut in answer.ways:
        turns, reads = cut.dial
        assert turns * 360 / ratio + reads == cut.angle_deg
        assert 0 <= reads < 360 / ratio
        turns, rounded = cut.dial_to_a_second
        assert 0 <= rounded < 360 / ratio
        assert (3600 * rounded).denominator == 1
        assert abs(turns * 360 / ratio + rounded - cut.angle_deg) < Fraction(1, 3600)


@drawn(st.fractions(Fraction(1, 2), 360, max_denominator=60), st.integers(1, 40), quick=25, slow=100)
def test_spaces_of_an_angle_are_counted_from_the_first(angle, repeats):
    answer = table_of_angle(SHOP, angle, repeats)
    assert [cut.angle_deg for cut in answer.ways] == [angle * number for number in range(repeats + 1)]
    assert all((cut.name == "1 again") == (cut.number > 0 and cut.angle_deg % 360 == 0) for cut in answer.ways)


def test_thirteen_divisions_on_the_39_circle_by_hand():
    """60 / 13 = 4 24/39 turns; the tenth cut stands at 9 × 4 24/39 = 41 21/39 turns, 249 3/13 degrees."""
    rows = cells(table_of_divisions(SHOP, 13))
    assert (rows[1]["turns"], rows[1]["holes"]) == ("4", "24")
    tenth = rows[9]
    assert (tenth["cut"], tenth["in all"], tenth["hole"]) == ("10", "41", "21")
    assert (tenth["angle"], tenth["dial"]) == ("249°13′51″", "41 + 3°13′51″")
    assert (rows[-1]["cut"], rows[-1]["in all"], rows[-1]["angle"]) == ("1 again", "60", "360°00′00″")


def test_a_reading_that_rounds_to_a_whole_turn_is_told_as_one():
    cut = replace(table_of_divisions(SHOP, 13).ways[1], angle_deg=6 - Fraction(1, 10_000))
    assert cut.dial == (0, 6 - Fraction(1, 10_000))
    assert cut.dial_to_a_second == (1, 0)


@given(
    st.sampled_from([4, 5, 6]),
    st.lists(st.integers(2, 11), min_size=1, max_size=3, unique=True),
    st.sampled_from([(3, False), (4, True), (6, True), (4, False), (2, False)]),
    st.fractions(Fraction(1, 4), 40, max_denominator=12),
)
@settings(deadline=None)
def test_unequal_spaces_are_the_best_of_every_row_that_could_be(ratio, circles, asked, difference):
    teeth, paired = asked
    row = teeth // 2 if paired else teeth
    assume(difference <= Fraction(360, teeth) / (row - 1))
    shop, best = with_head(ratio, *sorted(circles)), naive.unequal(Fraction(ratio), circles, teeth, difference, paired)
    if best is None:
        with refused("refused"):
            unequal_table(shop, teeth, difference, paired=paired)
        return
    answer = unequal_table(shop, teeth, difference, paired=paired)
    spaces = [cut.space_deg for cut in answer.ways[1:]]
    misses = [abs(after - before - difference) for before, after in pairwise(spaces[:row])]
    assert (max(misses), answer.ways[0].crank_total.circle) == best
    assert_whole(answer, teeth, row)


def assert_whole(answer, teeth, row):
    """Every tooth in its hole, the spaces wider and wider, 360° in all, twice round where they are paired."""
    spaces = [cut.space_deg for cut in answer.ways[1:]]
    assert len(spaces) == teeth
    assert sum(spaces) == answer.ways[-1].angle_deg == 360
    assert spaces == spaces[:row] * (teeth // row)
    assert all(before < after for before, after in pairwise(spaces[:row]))
    assert all(cut.off_deg == 0 for cut in answer.ways)
    assert answer.exact
    if row < teeth:
        angles = {cut.angle_deg % 360 for cut in answer.ways}
        assert {(angle + 180) % 360 for angle in angles} == angles


@given(heads, st.integers(2, 30), st.fractions(Fraction(1, 100), 3, max_denominator=100), st.booleans())
def test_unequal_spaces_make_a_whole_turn_on_any_head(head, teeth, difference, unpaired):
    paired = teeth % 2 == 0 and not unpaired
    row = teeth // 2 if paired else teeth
    assume(row > 1 and difference <= Fraction(360, teeth) / (row - 1))
    assume(
        any((head.ratio * n / (2 if paired else 1)).denominator == 1 and head.ratio * n > 1000 for n in head.circles)
    )
    assert_whole(unequal_table(replace(SHOP, dividing=head), teeth, difference, paired=paired), teeth, row)


@pytest.mark.parametrize(
    ("teeth", "difference", "spaces"),
    [
        (8, Fraction(2), ["42", "44", "46", "48"]),
        (10, Fraction(3, 2), ["33", "34.5", "36", "37.5", "39"]),
        (6, Fraction(2), ["58", "60", "62"]),
    ],
)
def test_the_spaces_of_common_hand_reamers(teeth, difference, spaces):
    """From memory: the half turns of hand reamers as they are sold; that of 6 teeth to the nearest degree."""
    answer = unequal_table(SHOP, teeth, difference)
    half = [cut.space_deg for cut in answer.ways[1 : 1 + teeth // 2]]
    assert half == [Fraction(space) for space in spaces]


def test_holes_too_coarse_for_the_difference_are_told():
    assert "coarse-holes" in codes(unequal_table(SHOP, 12, Fraction(1, 30)))
    assert "coarse-holes" not in codes(unequal_table(SHOP, 8, Fraction(2)))
    assert "0.122°" in said(unequal_table(SHOP, 12, Fraction(1, 30)), "spaces")


def test_where_holes_change_and_where_no_circle_is_exact_it_is_told():
    assert codes(table_of_divisions(SHOP, 13))[:1] == ["error"]
    assert {"only-nearest", "changing-holes"} <= set(codes(table_of_divisions(SHOP, 127)))
    assert not table_of_divisions(SHOP, 127).exact


@pytest.mark.parametrize("ending", [".md", ".json", ""])
def test_a_page_of_a_nearest_circle_says_so_at_its_head_and_which_way_is_exact(ending, tmp_path):
    answer, best = table_of_divisions(SHOP, 127), divided.of_divisions(SHOP, 127)
    assert best.exact
    page = answer.document()
    assert [note.code for note in page.against] == ["only-nearest"]
    assert {"only-nearest", "exact-way"} & {note.code for note in page.notes} == set()
    assert "3.64′" in page.against[0].text
    assert page.title.startswith("127 divisions")
    assert any(SHOP.name in line for line in page.heading)
    assert any("60:1" in line for line in page.heading)
    if not ending:
        head = run("127", "--table")[1].partition("\n\n")[0]
    else:
        answer.save(tmp_path / f"a{ending}")
        head = (tmp_path / f"a{ending}").read_text("utf-8")
    assert str(best.ways[0].train) in head
    assert "without --table" in " ".join(head.split())
    assert "exact-way" not in codes(table_of_divisions(SHOP, 1009))
    assert "no-exact-way" in codes(table_of_divisions(SHOP, 1009))


@pytest.mark.parametrize(
    ("ask", "code", "fact"),
    [
        (lambda: table_of_divisions(SHOP, 0), "out-of-range", "0"),
        (lambda: table_of_divisions(SHOP, 7.5), "out-of-range", "7.5"),
        (lambda: table_of_divisions(SHOP, 10_001), "out-of-range", "10001"),
        (lambda: table_of_divisions(SHOP, 3001), "refused", "49 circle"),
        (lambda: table_of_angle(SHOP, Fraction(0)), "refused", "0°"),
        (lambda: table_of_angle(SHOP, Fraction(5), 0), "out-of-range", "0"),
        (lambda: table_of_angle(SHOP, Fraction(5), 10_001), "out-of-range", "10001"),
        (lambda: table_of_divisions(mill((20, 30)), 7), "refused", "Test shop"),
        (lambda: unequal_table(mill((20, 30)), 8, Fraction(2)), "refused", "Test shop"),
        (lambda: unequal_table(SHOP, 1, Fraction(2)), "out-of-range", "1"),
        (lambda: unequal_table(SHOP, 2, Fraction(2)), "refused", "180°"),
        (lambda: unequal_table(SHOP, 7, Fraction(2), paired=True), "refused", "7 teeth"),
        (lambda: unequal_table(SHOP, 8, Fraction(0)), "out-of-range", "0°"),
        (lambda: unequal_table(SHOP, 8, Fraction(16)), "out-of-range", "15.000°"),
        (lambda: unequal_table(SHOP, 8, 2.5), "not-exact", "2.5"),
        (lambda: unequal_table(with_head(5, 2), 12, Fraction(1)), "refused", "6 spaces"),
        (lambda: unequal_table(with_head(5, 3), 4, Fraction(1)), "refused", "2 spaces"),
    ],
)
def test_what_cannot_be_tabled_says_why(ask, code, fact):
    with refused(code, fact):
        ask()


@pytest.mark.parametrize(
    "words", [("13", "--table"), ("8", "--unequal", "2deg"), ("--angle", "17d30m", "--repeats", "3", "--table")]
)
def test_a_table_is_the_same_for_programs_and_fits_the_terminal(words, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    code, text = run(*words)
    record = json.loads(run(*words, "--format", "json")[1])
    assert code == (0 if record["exact"] else 1)
    assert max(map(len, text.splitlines())) <= 80
    assert "no room" not in text
    rows = list(csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1])))
    assert [list(row) for row in rows] == [list(CUT_KEYS)] * len(record["cuts"])
    assert [row["angle_exact"] for row in rows] == [cut["angle_exact"] for cut in record["cuts"]]
    assert len(re.findall(r"\[ \]", text)) == len(rows)


@given(heads, st.integers(2, 200))
@settings(deadline=None)
def test_a_table_is_offered_where_it_can_be_made_and_comes_nearer(head, divisions):
    shop = replace(SHOP, dividing=replace(head, differential=False))
    answer = divided.of_divisions(shop, divisions)
    if answer.exact:
        assert "ask-table" not in codes(answer)
        return
    try:
        table = table_of_divisions(shop, divisions)
    except GearsearchError:
        assert "ask-table" not in codes(answer)
        return
    worst = max(abs(cut.off_deg) for cut in table.ways)
    assert ("ask-table" in codes(answer)) == (worst < abs(answer.ways[0].built_up_deg))
    if "ask-table" in codes(answer):
        assert said(answer, "ask-table").partition("no place")[2] in said(table, "only-nearest")


def test_only_the_circle_that_is_named_is_used():
    text = run("127", "--table", "--circle", "20")[1]
    assert "on the 20 circle" in text
    assert "only the circle of 20 holes" in text


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (["8", "--unpaired"], "--unpaired"),
        (["8", "--table", "--unpaired"], "--unpaired"),
        (["7", "--unequal", "2deg", "--unpaired"], "--unpaired"),
        (["8", "--unequal", "2deg", "--table"], "--table"),
        (["8", "--table", "--count", "2"], "--count"),
        (["8", "--table", "--nearest"], "--nearest"),
        (["8", "--unequal", "2deg", "--without", "40"], "--without"),
        (["--angle", "5", "--table", "--count", "2"], "--count"),
        (["--angle", "5", "--unequal", "2deg"], "--unequal"),
        (["--starts", "3", "--table"], "--table"),
        (["8", "--unequal", "two"], "--unequal"),
    ],
)
def test_what_a_table_has_no_use_for_is_refused(words, option, capsys):
    assert run(*words) == (2, "")
    assert option in capsys.readouterr().err


def test_unpaired_teeth_are_advised_only_where_they_have_room():
    """A turn of 5 × 3 = 15 holes is no two halves, yet 4 spaces that differ; 2000 teeth have no room either way."""
    with refused("refused", "--unpaired"):
        unequal_table(with_head(5, 3), 4, Fraction(1))
    assert len(unequal_table(with_head(5, 3), 4, Fraction(1), paired=False).ways) == 5
    with refused("refused") as caught:
        unequal_table(SHOP, 2000, Fraction(1, 100_000))
    assert "--unpaired" not in str(caught.value)


def test_teeth_need_not_be_paired():
    ways = json.loads(run("8", "--unequal", "1deg", "--unpaired", "--format", "json")[1])["cuts"]
    assert len({cut["space_exact"] for cut in ways[1:]}) == 8
