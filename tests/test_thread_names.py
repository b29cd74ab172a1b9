"""Threads by name: every way of typing one, what a name leaves open, sizes that there are not."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from slow import in_lots

from gearsearch.base.errors import GearsearchError, UnitError
from gearsearch.base.units import INCH_MM
from gearsearch.work.naming import read_name
from gearsearch.work.series import all_series, series_names, series_of

ROWS = [row for series in all_series() for row in series.threads]
SIGNS = {"1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}


@pytest.mark.parametrize(
    ("name", "series", "size", "pitch"),
    [
        ("M10", "iso-metric-coarse", "10", "1.5"),
        ("m 10", "iso-metric-coarse", "10", "1.5"),
        ("M10 coarse", "iso-metric-coarse", "10", "1.5"),
        ("MC10", "iso-metric-coarse", "10", "1.5"),
        ("M12-6g", "iso-metric-coarse", "12", "1.75"),
        ("M12x1.75", "iso-metric-coarse", "12", "1.75"),
        ("M10x1", "iso-metric-fine", "10", "1"),
        ("M10 × 1.0", "iso-metric-fine", "10", "1"),
        ("M10-1.25", "iso-metric-fine", "10", "1.25"),
        ("M10*1.25 mm", "iso-metric-fine", "10", "1.25"),
        ("M10x1.25-5H/6g", "iso-metric-fine", "10", "1.25"),
        ("M6 fine", "iso-metric-fine", "6", "0.75"),
        ("MF6", "iso-metric-fine", "6", "0.75"),
        ("Tr 20x4", "tr", "20", "4"),
        ("TR20X4-7e", "tr", "20", "4"),
        ("Tr 40x14(P7)", "tr", "40", "7"),
        ("G1/2", "bsp", "1/2", "14"),
        ("G ½", "bsp", "1/2", "14"),
        ('G 1/2"', "bsp", "1/2", "14"),
        ("G1/2A", "bsp", "1/2", "14"),
        ("G 1 1/4 B", "bsp", "1-1/4", "11"),
        ("G1/2-14", "bsp", "1/2", "14"),
        ("1/2 BSP", "bsp", "1/2", "14"),
        ('1/2" bspp', "bsp", "1/2", "14"),
        ("BSP 3/4", "bsp", "3/4", "14"),
        ("R3/4", "bspt", "3/4", "14"),
        ("Rc 1/2", "bspt", "1/2", "14"),
        ("Rp 1 1/2", "bspt", "1-1/2", "11"),
        ("1/2 BSPT", "bspt", "1/2", "14"),
        ("0BA", "ba", "0", "1"),
        ("2 BA", "ba", "2", "0.81"),
        ("BA2", "ba", "2", "0.81"),
        ("No. 2 BA", "ba", "2", "0.81"),
        ("2 B.A.", "ba", "2", "0.81"),
        ("1/2 BSW", "bsw", "1/2", "12"),
        ("1/2-12 BSW", "bsw", "1/2", "12"),
        ("1/2 in. B.S.W.", "bsw", "1/2", "12"),
        ("½ Whitworth", "bsw", "1/2", "12"),
        ("1/2 whit", "bsw", "1/2", "12"),
        ('W1/2"', "bsw", "1/2", "12"),
        ("1/4 BSF", "bsf", "1/4", "26"),
        ("1/4x26 tpi bsf", "bsf", "1/4", "26"),
        ("1/2-13 UNC", "unc", "1/2", "13"),
        ("1/2 UNC", "unc", "1/2", "13"),
        ("½-13", "unc", "1/2", "13"),
        ("0.500-13", "unc", "1/2", "13"),
        ("1½-6", "unc", "1-1/2", "6"),
        ("1-1/2-6 UNC-2A", "unc", "1-1/2", "6"),
        ("1/2-13-UNC-2A/2B", "unc", "1/2", "13"),
        ("UNC 1/2-13", "unc", "1/2", "13"),
        ("2-4½ UNC", "unc", "2", "4.5"),
        ("2-4 1/2 UNC", "unc", "2", "4.5"),
        ("#10-24", "unc", "#10", "24"),
        ("10-24", "unc", "#10", "24"),
        ("1-64 UNC", "unc", "#1", "64"),
        ("1-8", "unc", "1", "8"),
        ("1/2-13 NC", "unc", "1/2", "13"),
        ("10-32 UNF", "unf", "#10", "32"),
        ("10 UNF", "unf", "#10", "32"),
        ("No.10-32 UNF 2A", "unf", "#10", "32"),
        ("0-80", "unf", "#0", "80"),
        ("1-12 UN", "unf", "1", "12"),
        ("1/4-32", "unef", "1/4", "32"),
        ("#12 UNEF", "unef", "#12", "32"),
        ("1/2 NPT", "npt", "1/2", "14"),
        ("1/2-14 NPT", "npt", "1/2", "14"),
        ("NPT 1", "npt", "1", "11.5"),
        ("1 Acme", "acme", "1", "5"),
        ("1.750-4 Acme - 2G", "acme", "1-3/4", "4"),
    ],
)
def test_a_standard_thread_by_any_of_its_names(name, series, size, pitch):
    thread = read_name(name)
    assert (thread.row.series, thread.row.size, thread.row.pitch) == (series, size, pitch)
    unit = series_of(series).unit
    assert thread.pitch_mm == (INCH_MM / Fraction(pitch) if unit == "tpi" else Fraction(pitch))
    assert (thread.name, thread.hand) == (name, None)
    assert thread.standard == series_of(series).standard
    assert thread.row.source


@pytest.mark.parametrize(
    ("name", "taper"), [("1/2 NPT", 16), ("R1/2", 16), ("Rc1/2", 16), ("1/2 BSPT", 16), ("Rp1/2", 0), ("G1/2", 0)]
)
def test_a_taper_thread_says_so(name, taper):
    assert read_name(name).taper == (Fraction(1, taper) if taper else 0)


@in_lots(ROWS)
def test_a_thread_reads_back_from_what_it_is_called(row):
    again = read_name(row.name)
    assert again.row == row
    assert (again.pitch_mm, again.major_mm, again.form) == (row.pitch_mm, row.major_mm, series_of(row.series).form)


@given(st.data())
def test_a_thread_reads_back_however_it_is_typed(data):
    row = data.draw(st.sampled_from(ROWS))
    series = series_of(row.series)
    words = [(word, "") for word in series.before] + [("", word) for word in series.after]
    before, after = data.draw(st.sampled_from(words))
    size, join = row.size, " x " if series.unit == "mm" else "-"
    if data.draw(st.booleans()):
        for written, sign in SIGNS.items():
            size = size.replace(f"-{written}", sign) if size.endswith(f"-{written}") else size
            size = sign if size == written else size
    told = "" if series.name == "ba" else f"{join}{row.pitch}"
    hand = data.draw(st.sampled_from(["", " LH", "-LH", " left hand", " L.H.", " RH"]))
    name = f"{before}{data.draw(st.sampled_from(['', ' ']))}{size}{told} {after}{hand}"
    name = data.draw(st.sampled_from([str, str.lower, str.upper]))(name)
    thread = read_name(name)
    assert thread.row.name == row.name or thread.row.pitch_mm == row.pitch_mm, name
    assert thread.hand == {"": None, " RH": "right"}.get(hand, "left")
    assert thread.name == " ".join(name.split())


@given(st.text(alphabet="MTrGRx×-0123456789/.# BSWUNCFAPHL()\"½¼'", max_size=20))
def test_any_text_is_a_thread_or_none_or_refused_in_words(text):
    thread, refused = None, None
    try:
        thread = read_name(text)
    except UnitError as error:
        refused = error
    if refused:
        assert refused.message
        assert refused.remedy
    if thread:
        assert thread.pitch_mm > 0
        assert thread.major_mm > 0


@pytest.mark.parametrize(
    "text",
    ["", "1/2", "1 1/4", '3/8"', "13 tpi", "1.5 mm", "1-1/2 in", "½", "LH", "fine LH", "x" * 10**5, "M" + "1" * 10**5],
)
def test_what_is_no_name_is_none(text):
    assert read_name(text) is None


@pytest.mark.parametrize(
    ("name", "pitch_mm", "starts", "hand"),
    [
        ("Tr 40x14(P7) LH", 7, 2, "left"),
        ("Tr40x14 (P 7)-7e-LH", 7, 2, "left"),
        ("Tr 40 x 21 P7", 7, 3, None),
        ("Tr 40x7LH", 7, None, "left"),
        ("M16xPh3P1.5-6g", Fraction(3, 2), 2, None),
        ("M12x1.75 LH", Fraction(7, 4), None, "left"),
        ("1/2-13 UNC-2A-LH", INCH_MM / 13, None, "left"),
        ("m8x1 rh", 1, None, "right"),
        ("M10 left-handed", Fraction(3, 2), None, "left"),
    ],
)
def test_a_name_tells_starts_and_hand(name, pitch_mm, starts, hand):
    thread = read_name(name)
    assert (thread.pitch_mm, thread.starts, thread.hand) == (pitch_mm, starts, hand)
    assert thread.lead_mm == pitch_mm * (starts or 1)


@pytest.mark.parametrize(
    ("name", "form", "major_mm"),
    [
        ("M13x1.5", "iso", 13),
        ("M10x1.1", "iso", 10),
        ("Tr 20x3", "trapezoidal", 20),
        ("1/2-26 Whit", "whitworth", INCH_MM / 2),
        ("1/2-14 UNS", "unified", INCH_MM / 2),
        ("8-4 UN", "unified", INCH_MM * 8),
        ("1/2-13 UNJC", "", INCH_MM / 2),
        ("12-8", "", INCH_MM * 12),
        ("#000-120", "", INCH_MM * Fraction("0.034")),
        ("1-6 Acme", "acme", INCH_MM),
    ],
)
def test_a_special_thread_is_in_no_table(name, form, major_mm):
    thread = read_name(name)
    assert (thread.row, thread.standard, thread.form, thread.major_mm) == (None, "", form, major_mm)


@pytest.mark.parametrize(
    ("name", "remedy"),
    [
        ("M10 fine", "write M10x1.25, M10x1 or M10x0.75"),
        ("MF 10", "write M10x1.25, M10x1 or M10x0.75"),
        ("M15", "write M15x1.5 or M15x1"),
        ("Tr 20", "write Tr 20x4 or Tr 20x2"),
        ("Tr 40 LH", "write Tr 40x7, Tr 40x3 or Tr 40x10"),
        ("#10", "write #10-24 UNC or #10-32 UNF"),
        ("no. 12", "write #12-24 UNC, #12-28 UNF or #12-32 UNEF"),
        ("1/2 UN", "write 1/2-13 UNC, 1/2-20 UNF or 1/2-28 UNEF"),
    ],
)
def test_a_name_that_leaves_the_pitch_open_is_told_those_there_are(name, remedy):
    with pytest.raises(UnitError, match="leaves its pitch open") as caught:
        read_name(name)
    assert caught.value.remedy == remedy


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("M13", "M12 and M14"),
        ("M500", "M64 and M68"),
        ("M0.5", "M1 and M1.1"),
        ("M23 fine", "M22 and M24"),
        ("Tr 21", "Tr 20 and Tr 22"),
        ("G7/16", "G3/8 and G1/2"),
        ("R 7/8", "R3/4 and R1"),
        ("7/16 NPT", "3/8 NPT and 1/2 NPT"),
        ("5/16 BSP", "G1/4 and G3/8"),
        ("26BA", "24BA and 25BA"),
        ("1/2 BA", "0BA and 1BA"),
        ("15/16 BSW", "7/8 BSW and 1 BSW"),
        ("5/32 BSF", "3/16 BSF and 7/32 BSF"),
        ("#7 UNC", "#6 UNC and #8 UNC"),
        ("15/16 UNC", "7/8 UNC and 1 UNC"),
        ("2 UNEF", "1-5/8 UNEF and 1-11/16 UNEF"),
        ("13/16 Acme", "3/4 Acme and 7/8 Acme"),
    ],
)
def test_an_unknown_size_is_told_the_two_nearest(name, near):
    with pytest.raises(UnitError) as caught:
        read_name(name)
    assert caught.value.remedy.startswith(f"the nearest sizes are {near};")


@pytest.mark.parametrize(
    ("name", "has", "remedy"),
    [
        ("1/2-14 UNC", "1/2 UNC has 13 threads per inch", "write 1/2-13 UNC, or for a special thread 1/2-14 UNS"),
        ("1/2-13 BSW", "1/2 BSW has 12 threads per inch", "write 1/2 BSW, or for a special thread 1/2-13 Whit"),
        ("G2-14", "G2 has 11 threads per inch", "write G2, or for a special thread the pitch alone, as in 14 tpi"),
        ("2-0.5 BA", "2BA has 0.81 mm pitch", "write 2BA, or for a special thread the pitch alone, as in 0.5 mm"),
        ("10-33 UNF", "#10 UNF has 32 threads per inch", "write #10-32 UNF, or for a special thread 10-33 UNS"),
    ],
)
def test_a_pitch_that_contradicts_the_series_is_refused(name, has, remedy):
    with pytest.raises(UnitError) as caught:
        read_name(name)
    assert (caught.value.message, caught.value.remedy) == (f"thread {name!r}: {has}", remedy)


@pytest.mark.parametrize(
    "name",
    [
        "M0",
        "M0x0",
        "M10x0",
        "1/2-0",
        "1/0-13",
        "0/5 BSW",
        "1/0 BA",
        "Tr 40x13(P7)",
        "M12x40",
        "1/2-4",
        "6-1",
        "G1/0",
        "#10-1",
    ],
)
def test_a_thread_that_cannot_be_is_refused(name):
    with pytest.raises(UnitError):
        read_name(name)


def test_series_agree_with_themselves():
    assert len(set(series_names())) == len(all_series()) == 13
    for series in all_series():
        assert len({(row.size, row.pitch) for row in series.threads}) == len(series.threads)
        for row in series.threads:
            assert row.pitch_mm < row.major_mm / 2
            assert row.series == series.name
        assert {row.name for row in series.in_order} == {row.name for row in series.threads}
    fine = series_of("iso-metric-fine")
    for row in series_of("iso-metric-coarse").threads:
        assert all(row.pitch_mm > finer.pitch_mm for finer in fine.of_size(row.size))
    for name in ("unc", "unf"):
        finer = series_of({"unc": "unf", "unf": "unef"}[name])
        for row in series_of(name).threads:
            assert all(row.pitch_mm > other.pitch_mm for other in finer.of_size(row.size)), row.name
    for row in series_of("bspt").threads:
        assert [(each.pitch, each.major_mm) for each in series_of("bsp").of_size(row.size)] == [
            (row.pitch, row.major_mm)
        ]


def test_the_rule_of_the_british_association():
    """Pitch 0.9 to the power of the number, diameter 6 times pitch to the power 1.2, to two figures; from memory."""
    for row in series_of("ba").threads:
        pitch = 0.9 ** int(row.size)
        assert abs(pitch - float(row.pitch_mm)) < 0.0051, row
        assert abs(6 * pitch**1.2 - float(row.major_mm)) < 0.06, row


def test_there_is_no_other_series():
    with pytest.raises(GearsearchError, match="there is no series"):
        series_of("uncoarse")
