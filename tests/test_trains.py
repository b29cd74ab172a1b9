"""Trains: notation, ratio, hand."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refusals import refused

from gearsearch.base.errors import TrainError
from gearsearch.shop.trains import HANDS, Pair, Train, hand_of, is_pair, other_hand

teeth = st.integers(1, 9999)
pairs = st.builds(
    Pair, teeth, teeth, st.lists(teeth, max_size=3).map(tuple), st.sampled_from(["", "m1.5", "dp20", "m1.5a14.5"])
)
trains = st.lists(pairs, min_size=1, max_size=4).map(tuple).map(Train)


@given(trains)
def test_a_printed_train_reads_back_as_itself(train):
    assert Train.parse(str(train)) == train


@given(trains, st.sampled_from([" ", "  ", ", ", ",", " x ", "x", " * ", "*", " × ", "×", "; "]))
def test_every_separator_means_the_same(train, separator):
    if all(not pair.kind for pair in train.pairs):
        assert Train.parse(separator.join(str(pair) for pair in train.pairs)) == train


def test_a_train_tells_its_parts():
    train = Train.parse("40/(56)/72 32/48")
    assert train.drivers == (40, 32)
    assert train.driven == (72, 48)
    assert train.idlers == (56,)
    assert train.gears == 4
    assert train.studs == 2
    assert train.ratio == Fraction(72 * 48, 40 * 32)
    assert train.wheels == (("", 40), ("", 56), ("", 72), ("", 32), ("", 48))
    assert str(train) == "40/(56)/72 32/48"


def test_spaces_round_the_stroke_do_no_harm():
    assert Train.parse(" 100 / 24   32/ 48 ") == Train.parse("100/24 32/48")


@pytest.mark.parametrize(
    ("text", "given"),
    [
        ("100", "'100'"),
        ("100/24/32", "'100/24/32'"),
        ("100:24:32", "'100:24:32'"),
        ("100:24:", "'100:24:'"),
        ("100::24", "'100::24'"),
        ("100-24/32", "'100-24/32'"),
        ("100-", "'100-'"),
        ("-30-40", "'-30-40'"),
        ("a/b", "'a/b'"),
        ("100/(x)/24", "'100/('"),
        ("1.5/2", "'1.5/2'"),
        ("-3/4", "'-3/4'"),
        ("40/()/72", "'40/()/72'"),
    ],
)
def test_what_is_no_train_is_named(text, given):
    with pytest.raises(TrainError) as caught:
        Train.parse(text)
    assert str(caught.value) == (
        f"{given} is not a pair of gears\nhelp: write pairs driver/driven in power order, "
        "idlers in brackets between: 100/24 32/48 or 40/(56)/72"
    )


@pytest.mark.parametrize("text", ["", "   ", ",", "x"])
def test_an_empty_train_says_how_to_write_one(text):
    with pytest.raises(TrainError) as caught:
        Train.parse(text)
    assert str(caught.value) == (
        "the train is empty\nhelp: write pairs driver/driven in power order, as in 100/24 32/48"
    )


def test_a_gear_without_teeth_is_refused():
    with refused("train", "0"):
        Train.parse("0/20")
    with refused("train"):
        Train(())


def test_a_ridiculous_number_of_digits_is_refused_at_once():
    with refused("train"):
        Train.parse("9" * 10_000 + "/20")


@pytest.mark.parametrize("hand", ["right", "left"])
def test_each_mesh_turns_the_hand_over(hand):
    """DESIGN: with n studs the hand is that of one stud when n is odd (common practice, no source)."""
    assert hand_of(1, hand) == hand_of(3, hand) == hand
    assert hand_of(0, hand) == hand_of(2, hand) == other_hand(hand) != hand
    assert hand_of(1, None) is None


def test_the_whole_message_says_what_is_wrong_with_a_train_made_in_python():
    with pytest.raises(TrainError) as caught:
        Pair(0, 20)
    assert str(caught.value) == "a gear cannot have 0 teeth\nhelp: give tooth counts of at least 1"
    with pytest.raises(TrainError) as caught:
        Train(())
    assert str(caught.value) == "a train needs gears, and has none\nhelp: give at least one pair, as in 40/72"


@pytest.mark.parametrize("text", ["/72", "40/", "40/72@", "/(56)/72", "40/(56)/"])
def test_a_pair_that_lacks_a_part_is_refused(text):
    with refused("train"):
        Train.parse(text)


@pytest.mark.parametrize("text", ["100 /24", "100/ 24", "100/\t24"])
def test_a_space_on_either_side_of_the_stroke_does_no_harm(text):
    assert str(Train.parse(text)) == "100/24"


def test_as_many_as_200_characters_are_read_and_a_long_one_is_cut_to_60():
    longest = "1/" + "(20)/" * 38 + "24000000"
    assert len(longest) == 200
    assert str(Train.parse(longest)) == longest
    with pytest.raises(TrainError) as caught:
        Train.parse(longest + "0")
    assert caught.value.message == f"'{longest[:60]}' is not a pair of gears"


def test_trains_of_one_ease_are_listed_by_drivers_then_driven_then_idlers():
    assert Train.parse("40/(56)/72 32/(20)/48").order == (40, 32, 72, 48, 56, 20)


def test_the_other_hand_is_the_other():
    assert (other_hand("right"), other_hand("left")) == ("left", "right")
    assert hand_of(0, "right") == "left"


def test_a_pair_made_in_python_has_no_idlers_and_no_tag_of_its_own():
    assert Pair(40, 72) == Pair(40, 72, (), "") == Train.parse("40/72").pairs[0]


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("80/44", True),
        ("40/(56)/72", True),
        ("20/24@m1.5", True),
        ("80", False),
        ("80/44 48/100", False),
        ("3/8in", False),
    ],
)
def test_a_pair_is_known_by_its_look(text, is_one):
    assert is_pair(text) is is_one


@pytest.mark.parametrize("studs", range(4))
def test_with_a_lever_the_hand_is_the_wanted_one_whatever_the_studs(studs):
    assert [hand_of(studs, "either", hand) for hand in (*HANDS, "either")] == [*HANDS, "either"]
    assert hand_of(studs, "either") == "either"


@pytest.mark.parametrize(
    "text", ["100:24, 32:48", "100:24 32:48", "100 : 24,32 : 48", "100:24 x 32/48", "100/24, 32/48"]
)
def test_a_colon_does_for_the_stroke_and_a_comma_for_the_space(text):
    assert str(Train.parse(text)) == "100/24 32/48"


def test_idlers_may_stand_between_colons():
    assert Train.parse("40:(56):(20):72@m1.5") == Train.parse("40/(56)/(20)/72@m1.5")
    assert is_pair("40:(56):72")
    assert not is_pair("40:56:72")


@pytest.mark.parametrize(
    ("text", "given", "example"),
    [
        ("40-60-50-80", "40-60-50-80", "40/60 50/80"),
        ("40-60, 50-80", "40-60", "40/60"),
        ("40-60-50", "40-60-50", "100/24 32/48"),
        ("20-" * 66 + "20", "20-" * 20, "100/24 32/48"),
    ],
)
def test_a_row_of_gears_does_not_tell_which_drives_which(text, given, example):
    with pytest.raises(TrainError) as caught:
        Train.parse(text)
    assert str(caught.value) == (
        f"'{given}' does not tell which gear drives which\n"
        f"help: write pairs driver/driven in power order, as in {example}"
    )
    assert str(Train.parse(example)) == example


def test_a_row_of_gears_without_end_is_refused_at_once():
    for row in ("20-" * 66 + "200", "20-" * 10_000 + "20"):
        with refused("train"):
            Train.parse(row)
