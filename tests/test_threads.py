"""Threads by pitch, by threads per inch and by name (ISO 261, 965 and 2904, ASME B1.1, B1.5, B1.20.1; from memory)."""

import io
import json
import shlex
from fractions import Fraction
from pathlib import Path

import pytest

from gearsearch.base.errors import GearsearchError, UnitError
from gearsearch.cli import main
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop, load_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part, part_of_text
from gearsearch.work.forms.thread import read_thread
from gearsearch.work.naming import read_name
from gearsearch.work.part import Blank

INCH = Fraction("25.4")
LATHE_FILE = Path(__file__).parent.parent / "tables" / "lathe.toml"
LATHE = load_shop(str(LATHE_FILE))


@pytest.mark.parametrize(
    ("name", "pitch_mm"),
    [
        ("M12", Fraction("1.75")),
        ("2BA", Fraction("0.81")),
        ("G 1/2", INCH / 14),
        ("1/2 BSW", INCH / 12),
        ("1/2 npt", INCH / 14),
        ("M12x1.75", Fraction("1.75")),
        ("M 12 × 1.75", Fraction("1.75")),
        ("m8*1", 1),
        ("M2.5x0.45", Fraction("0.45")),
        ("M12x1.75-6g", Fraction("1.75")),
        ("M12x1.75 - 6h6g", Fraction("1.75")),
        ("Tr 20x4", 4),
        ("Tr 20x4-7e", 4),
        ("1/2-13", INCH / 13),
        ("1/2-13 UNC", INCH / 13),
        ("1/2-13UN", INCH / 13),
        ("1/2-13 UNC-2A", INCH / 13),
        ("1 1/2-6 UNC", INCH / 6),
        ("1-1/2-6", INCH / 6),
        ("#10-32", INCH / 32),
        ("1-8", INCH / 8),
        ("1.750-4 Acme - 2G", INCH / 4),
        ("3/4-16 unf", INCH / 16),
        ("1/4-32UNEF", INCH / 32),
        ("1/8-27.5", INCH / Fraction("27.5")),
        ("1/2-14 NPT", INCH / 14),
        ("No. 10-32", INCH / 32),
        ("No.10-32 UNF-2A", INCH / 32),
        ("no 8-32", INCH / 32),
        ("NO10-24", INCH / 24),
        ("# 10-32", INCH / 32),
        ("G1/2-14", INCH / 14),
        ("G 1 1/4-11", INCH / 11),
        ("R1-11", INCH / 11),
        ("Rc 1/2-14", INCH / 14),
        ("Rp3/4-14", INCH / 14),
        ("1/2-12 BSW", INCH / 12),
        ("1/2-16BSF", INCH / 16),
        ("1/2-14 BSP", INCH / 14),
        ("1/2-14 BSPT", INCH / 14),
        ("1/2-12 Whitworth", INCH / 12),
        ("1/2-12 whit", INCH / 12),
        ("0-80", INCH / 80),
        ("#000-120", INCH / 120),
        ("10-32", INCH / 32),
        ("1/16-27 NPT", INCH / 27),
        ("1/16-27NPT", INCH / 27),
        ("1/16-28 bsp", INCH / 28),
        ("1/16-28 bspp", INCH / 28),
        ("1/16-28BSPT", INCH / 28),
        ("G1/16-28", INCH / 28),
        ("12-8", INCH / 8),
        ("8-4 UN", INCH / 4),
        ("6-2", INCH / 2),
        ("1/2-4.1", INCH / Fraction("4.1")),
        ("Tr 22x8", 8),
        ("M12x5.99", Fraction("5.99")),
        ("M0.3x0.08", Fraction("0.08")),
    ],
)
def test_a_thread_is_taken_by_its_name(name, pitch_mm):
    called = " ".join(name.split())
    assert read_thread(name) == read_thread(name, "in")
    assert read_thread(name)[:2] == (pitch_mm, f"{called}, ")
    assert read_thread(name)[2].starts is None
    wanted = part(thread=name, starts=3)
    assert (wanted.pitch_mm, wanted.starts) == (pitch_mm, 3)
    assert wanted.how.startswith(f"a thread of {called}, pitch ")
    assert part_of_text(f"{name} x 3 starts").lead_mm == wanted.lead_mm


@pytest.mark.parametrize(
    ("name", "pitch_mm", "starts"),
    [
        ("Tr 40x14(P7)", 7, 2),
        ("Tr40x14 (P 7)-7e", 7, 2),
        ("Tr 40 x 21 P7", 7, 3),
        ("M16xPh3P1.5", Fraction("1.5"), 2),
        ("M16 x Ph 3 P 1.5 - 6g", Fraction("1.5"), 2),
        ("Tr 40x7(P7)", 7, 1),
    ],
)
def test_a_name_may_bring_its_starts(name, pitch_mm, starts):
    assert (read_thread(name)[0], read_thread(name)[2].starts) == (pitch_mm, starts)
    for wanted in (part(thread=name), part(thread=name, starts=starts), part_of_text(f"{name} x {starts} starts")):
        assert (wanted.lead_mm, wanted.starts) == (pitch_mm * starts, starts)
    for read in (lambda: part(thread=name, starts=4), lambda: part_of_text(f"{name} x 4 starts")):
        with pytest.raises(UnitError, match=f"has {starts} starts?, and 4 are given"):
            read()


COARSE = "have a pitch of half its diameter or more"


@pytest.mark.parametrize(
    ("name", "trouble", "remedy"),
    [
        ("10-1.5", "have 1.5 to the inch", "write M10x1.5 for a metric thread, or the pitch alone, as in 1.5 tpi"),
        ("5-0.8", "have 0.8 to the inch", "write M5x0.8 for a metric thread, or the pitch alone, as in 0.8 tpi"),
        ("6-1", "have 1 to the inch", "write M6x1 for a metric thread, or the pitch alone, as in 1 tpi"),
        ("3-1.99 Acme", "have 1.99 to the inch", "write the pitch alone, as in 1.99 tpi"),
        (
            "20-2.5",
            "be 20 inches thick, with 2.5 to the inch",
            "write M20x2.5 for a metric thread, or the pitch alone, as in 2.5 tpi",
        ),
        (
            "6.1-2",
            "be 6.1 inches thick, with 2 to the inch",
            "write M6.1x2 for a metric thread, or the pitch alone, as in 2 tpi",
        ),
        ("8-4", "be 8 inches thick, with 4 to the inch", "write the pitch alone, as in 4 tpi"),
        ("1/2-4", COARSE, "write the pitch alone, as in 4 tpi"),
        ("1-1/2-1.3", "have 1.3 to the inch", "write the pitch alone, as in 1.3 tpi"),
        ("1/16-28", COARSE, "write the pitch alone, as in 28 tpi"),
        ("#0-33", COARSE, "write the pitch alone, as in 33 tpi"),
        ("No. 10-10", COARSE, "write the pitch alone, as in 10 tpi"),
    ],
)
def test_an_inch_name_that_no_thread_has_is_refused(name, trouble, remedy):
    for read in (read_thread, read_name, part_of_text):
        with pytest.raises(UnitError) as caught:
            read(name)
        assert (caught.value.message, caught.value.remedy) == (f"thread {name!r} would {trouble}", remedy)


@pytest.mark.parametrize("name", ["M12x40", "M12x6", "M6x20-6g", "Tr 40x28(P28)", "Tr40x20", "M16xPh16P8"])
def test_a_metric_name_with_a_length_for_its_pitch_is_refused(name):
    """The pitch counts, not the lead: a thread of several starts may have a lead of any size."""
    with pytest.raises(UnitError) as caught:
        read_thread(name)
    assert caught.value.message == f"thread {name!r} would {COARSE}"
    assert "M12x1.75" in caught.value.remedy
    assert "Tr 40x14(P7)" in caught.value.remedy
    assert read_thread("Tr 40x28(P7)")[2].starts == 4


@pytest.mark.parametrize("text", ["1-1/4", "1 1/4", "1/2", " 3/8 ", "¾", "1½", "1-½", "1⁄2"])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_bare_fraction_needs_its_unit(text, unit):
    with pytest.raises(UnitError) as caught:
        read_thread(text, unit)
    bare = text.strip()
    assert str(caught.value) == f"thread {text!r} has no unit\nhelp: write {bare} tpi, {bare} mm or {bare} in"


@pytest.mark.parametrize("text", ["/2", "1/", "-1/2", "-½"])
def test_what_is_no_fraction_lacks_no_unit(text):
    with pytest.raises(UnitError, match=r"cannot be read|is not above zero"):
        read_thread(text)


@pytest.mark.parametrize("name", ["0/5-13", "1/0-13"])
def test_an_inch_size_is_above_zero(name):
    with pytest.raises(UnitError, match=rf"^thread '{name[:3]}' .*zero"):
        read_thread(name)


@pytest.mark.parametrize("text", ["1.5mm", "1.5", "1/4 in", "1-1/4 in", '3/8"', "3-3/8in", ".5in", " 2 mm "])
def test_a_length_is_no_name_of_a_thread(text):
    assert read_name(text) is None
    assert read_thread(text) == read_thread(text, "mm")
    assert part(thread=text).how.startswith("a thread of pitch ")


@pytest.mark.parametrize("text", ["13 tpi", "11½ threads per inch"])
def test_threads_per_inch_are_told_as_typed(text):
    assert read_thread(text)[1:] == (f"{text}, ", None)
    assert read_thread(text, "in") == read_thread(text)


@pytest.mark.parametrize(
    "text",
    [
        *(
            "M12x1.75-",
            "M12x1.75-6",
            "M12x1.75-6gg",
            "M12x1.75-6g6g6g",
            "x1.5",
            "M12x",
            "M12x.5",
            "Mx1.5",
        ),
        *("M.5x1", "M12.x1", "M12x1.", "M", "M12.", "Tr 40x14(P)", "Tr 40xP7", "Tr 40x(P7)", "M16xPh3", "Tr 40x14 7"),
        *(
            "",
            "-1/2-13",
            "#-32",
            "-13",
            "/2-13",
            "1/-13",
            "1 /2-13",
            "1/2-",
            "1/2-.5",
            "1/2-13.",
            "1/2-13 U",
            "1/2-13 UNXYZ",
        ),
        *(
            "1/2-13-",
            "1/2-13-9A",
            "1/2-13-2",
            "1/2-13 acm",
            "1/2 x 13",
            "1/2-12 BSX",
            "N. 10-32",
            "G-14",
            "XXM12x1.75",
            "XX1/2-13",
        ),
    ],
)
def test_a_name_that_says_more_or_less_is_refused_with_the_ways_to_write_one(text):
    assert read_name(text) is None
    for unit in ("mm", "in"):
        with pytest.raises(UnitError, match=r"cannot be read|is not above zero|is not a unit of length") as caught:
            read_thread(text, unit)
        assert "M12x1.75 or 1/2-13" in caught.value.remedy


@pytest.mark.parametrize(
    ("text", "hand"),
    [
        ("M12x1.75 LH", "left"),
        ("M12x1.75LH", "left"),
        ("M12 LH", "left"),
        ("2BA-LH", "left"),
        ("Tr 40x7-LH", "left"),
        ("1/2-13 UNC-2A-LH", "left"),
        ("m8x1 rh", "right"),
    ],
)
def test_a_name_that_tells_the_hand_goes_with_the_part_and_into_a_list(text, hand):
    assert part(thread=text).thread.hand == part_of_text(text).thread.hand == hand


def test_a_special_thread_has_no_standard():
    record = part(thread="1/2-26 Whit").thread.record()
    assert (record["name"], record["standard"], record["source"], record["series"]) == ("1/2-26 Whit", None, None, None)
    assert part(thread="1/2 NPT").thread.record()["taper"] == "1/16"
    assert "source" not in part(thread="1/2-26 Whit").how


def test_a_part_holds_the_thread_it_was_named_by():
    named = part(thread="Tr 40x14(P7) LH")
    assert (named.thread.row.name, named.thread.hand, named.thread.form) == ("Tr 40x7", "left", "trapezoidal")
    assert named.source == named.thread.row.source
    assert part(thread="1.5 mm").thread is part(thread=Fraction(3, 2)).thread is None


def test_the_hand_of_a_name_is_that_of_the_search():
    named = part(thread="M12 LH")
    assert Terms().for_part(named, LATHE) == Terms(hand="left").for_part(named, LATHE) == Terms(hand="left")
    for plain in (part(thread="M12"), part(lead=5), Blank()):
        assert Terms(hand="right").for_part(plain, LATHE) == Terms(hand="right")
    with pytest.raises(GearsearchError, match="is of the left hand, and the right hand is asked for"):
        Terms(hand="right").for_part(named, LATHE)


def test_find_and_check_go_by_the_hand_of_the_name():
    named = part(thread="M12 LH")
    answer = find(LATHE, named, Terms(mounting="skip"))
    assert answer.terms.hand == "left"
    assert {fit.hand for fit in answer.fits} == {"left"}
    assert check(LATHE, Train.parse("40/60"), named, Terms()).terms.hand == "left"


@pytest.mark.parametrize(
    ("name", "instead"),
    [
        ("M10", "--thread 1.5mm"),
        ("Tr 40x14(P7) LH", "--thread 7mm --starts 2 --hand left"),
        ("1/2 BSW", '--thread "12 tpi"'),
        ("1 NPT", '--thread "11.5 tpi"'),
        ("2BA", "--thread 0.81mm"),
    ],
)
def test_a_thread_by_name_is_for_a_lathe_and_a_mill_is_told_what_to_ask_instead(name, instead):
    shop, named = demo_shop(), part(thread=name)
    asked = (lambda: find(shop, named), lambda: check(shop, Train.parse("40/72"), named))
    for refused in (*asked, lambda: Terms().for_part(part_of_text(name), shop)):
        with pytest.raises(GearsearchError) as caught:
            refused()
        assert caught.value.code == "wrong-machine"
        assert f"as in {instead}, or" in caught.value.remedy
    typed = dict(zip(*[iter(shlex.split(instead))] * 2, strict=True))
    same = part(thread=typed["--thread"], starts=int(typed.get("--starts", 1)))
    assert (same.lead_mm, same.starts) == (named.lead_mm, named.starts)
    assert find(shop, same).part is same


@pytest.mark.parametrize("text", ["fine LH", "1.5 mm LH", "LH"])
def test_what_is_no_name_tells_no_hand(text):
    with pytest.raises(UnitError, match=r"cannot be read|not a unit"):
        read_thread(text)


@pytest.mark.parametrize("text", ["13", "1.5", " 1/2 ", "1 1/2", "0"])
def test_in_inches_a_bare_number_could_be_anything(text):
    bare = text.strip()
    with pytest.raises(UnitError, match="has no unit") as caught:
        read_thread(text, "in")
    assert caught.value.remedy == f"write {bare} tpi, {bare} mm or {bare} in"
    wanted = part("in", thread=Fraction(1, 2))
    assert (wanted.lead_mm, wanted.starts) == (INCH / 2, 1)
    assert wanted.how == "a thread of pitch 0.5000 in (12.700 mm)"
    with pytest.raises(UnitError, match=r"^thread -1 is not above zero"):
        part(thread=-1)


@pytest.mark.parametrize("text", ["Tr 40x13(P7)", "M16xPh1P1.5"])
def test_a_lead_is_a_multiple_of_its_pitch(text):
    with pytest.raises(UnitError, match="which is no multiple of its pitch"):
        read_thread(text)


@pytest.mark.parametrize("text", ["M12x0", "1/2-0", "Tr 40x0(P7)", "Tr 40x14(P0)", "0 mm", "0 tpi"])
def test_no_pitch_is_zero(text):
    with pytest.raises(UnitError, match=r"^thread .*zero"):
        read_thread(text)


def test_a_comma_is_told_to_be_one():
    with pytest.raises(UnitError, match="has a comma") as caught:
        read_thread("1,5 mm")
    assert caught.value.remedy == "write decimals with a point and thousands without a mark"


def test_the_command_takes_the_hand_of_the_name():
    out = io.StringIO()
    lathe = ["--shop", str(LATHE_FILE)]
    asked = ["find", "--thread", "M12 LH", *lathe, "--mounting", "skip", "--pairs", "2", "--format", "json"]
    assert main(asked, out) in (0, 1)
    wanted = json.loads(out.getvalue())["wanted"]
    assert wanted["hand"] == "left"
    told = {"name": "M12", "pitch_exact": "7/4", "starts": None, "hand": "left", "taper": None, "standard": "ISO 261"}
    assert wanted["thread"].items() >= told.items()
    assert wanted["words"][0].endswith("ISO 261")
    assert wanted["thread"]["source"]
    assert main(["find", "--thread", "M12 LH", "--hand", "right", *lathe], io.StringIO()) == 2
