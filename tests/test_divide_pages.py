"""What ``divide`` answers on paper: all of it, large, on the paper, the same bytes each time."""

import re
import sys
from fractions import Fraction
from functools import partial
from itertools import pairwise
from pathlib import Path

import commands
import paper_reading as reading
import pytest
from cells import cells
from slow import some

from gearsearch.base.document import plain
from gearsearch.base.facts import Heading, Table
from gearsearch.dividing import divided, ramps
from gearsearch.dividing.at_hand import AtHand
from gearsearch.dividing.cumulative import table_of_divisions, unequal_table
from gearsearch.output.divide_files import on_paper
from gearsearch.output.drawing import papers
from gearsearch.output.drawing.columns import CELL_MM, behind_point, columns_of
from gearsearch.output.drawing.document_pages import SIZES, document_pages
from gearsearch.output.drawing.papers import measure
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train

run = partial(commands.code_of, "divide")

SHOP = demo_shop()


def ramp(steps=12):
    return divided.of_ramp(SHOP, ramps.Ramp(Fraction(85), Fraction("3.6"), steps))


ANSWERS = {
    "28": lambda: divided.of_divisions(SHOP, 28),
    "127": lambda: divided.of_divisions(SHOP, 127),
    "1009": lambda: divided.of_divisions(SHOP, 1009, nearest=True),
    "at hand": lambda: AtHand((15,)).told(divided.of_divisions(AtHand((15,)).shop(SHOP), 30)),
    "geared": lambda: divided.while_geared(SHOP, 9, "spindle", Train.parse("24/72")),
    "ramp": ramp,
    "long ramp": lambda: ramp(100),
    "table": lambda: table_of_divisions(SHOP, 127),
    "unequal": lambda: unequal_table(SHOP, 8, Fraction(2)),
}


def printed(answer, name="A4"):
    with papers.drawing():
        return document_pages(on_paper(answer), name)


def squeezed(text):
    return re.sub(r"\s+|\*\*", "", text)


@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_no_page_is_begun_for_a_few_rows_of_a_long_table(name):
    """36 steps of a ramp and their notes stand on one page, no cell broken: heads are, and rows stand closer."""
    with papers.drawing():
        figures = document_pages(on_paper(ramp(36)), name)
    assert len(figures) == 1


@pytest.mark.parametrize("which", ANSWERS)
@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_everything_is_printed_and_nothing_runs_off_the_paper(which, name):
    answer = ANSWERS[which]()
    figures = printed(answer, name)
    text = squeezed("".join(text.get_text() for figure in figures for text in figure.axes[0].texts))
    said = on_paper(answer)
    for line in (said.title, *said.heading, *answer.heading, *(note.text for note in answer.notes)):
        assert squeezed(plain(line)) in text
    for row in cells(answer)[not answer.in_order :]:  # the first way is what the heading says to do
        for cell in row.values():
            assert squeezed(cell if not answer.in_order else re.sub(r" \(.*", "", cell)) in text
    for figure in figures:
        renderer, page = figure.canvas.get_renderer(), figure.bbox
        for words in figure.axes[0].texts:
            box = words.get_window_extent(renderer)
            margin = (papers.MARGIN_MM - 3) / 25.4 * figure.dpi
            assert box.x0 >= page.x0 + margin, words.get_text()
            assert box.x1 <= page.x1 - margin, words.get_text()
            assert box.y1 <= page.y1 - margin, words.get_text()
            assert box.y0 >= page.y0, words.get_text()


def size_of(figures, text):
    """The type in which something is set."""
    return next(t.get_fontsize() for f in figures for t in f.axes[0].texts if text in t.get_text())


def test_the_ways_are_set_large_and_the_title_larger():
    figures = printed(ANSWERS["28"]())
    assert len(figures) == 1
    assert size_of(figures, "turn the crank 2 turns and 3 holes") == SIZES[0]
    assert size_of(figures, "28 divisions: 2 1/7 turns") > SIZES[0]
    assert size_of(printed(ANSWERS["127"]()), "44/(20)/60") >= 11
    assert all("DEMO SHOP" in " ".join(t.get_text() for t in figure.axes[0].texts) for figure in figures)


def test_a_short_ramp_stands_on_one_page_in_type_to_be_read():
    figures = printed(ramp())
    assert len(figures) == 1
    assert size_of(figures, "steps of") > size_of(figures, "holes") >= 10


@pytest.mark.parametrize("which", ANSWERS)
def test_no_text_stands_over_the_next_on_its_line(which):
    for figure in printed(ANSWERS[which]()):
        renderer, lines = figure.canvas.get_renderer(), {}
        for words in figure.axes[0].texts:
            lines.setdefault(words.get_position()[1], []).append(words.get_window_extent(renderer))
        for boxes in lines.values():
            boxes.sort(key=lambda box: box.x0)
            assert all(before.x1 <= after.x0 for before, after in pairwise(boxes))


@pytest.mark.parametrize(
    ("which", "heading", "count"),
    [
        ("unequal", "hole", 9),
        ("unequal", "holes", 8),
        ("unequal", "dial", 9),
        ("ramp", "turns", 12),
        ("ramp", "hole", 12),
    ],
)
def test_figures_of_a_column_end_in_line(which, heading, count):
    (figure,) = printed(ANSWERS[which]())
    renderer, texts = figure.canvas.get_renderer(), figure.axes[0].texts
    boxes = {words: words.get_window_extent(renderer) for words in texts}
    head = next(boxes[words] for words in texts if words.get_text() == heading)
    below = [words.get_text() for words in texts if abs(boxes[words].x1 - head.x1) < 3 and boxes[words].y1 < head.y0]
    assert [cell[heading] for cell in cells(ANSWERS[which]()) if cell.get(heading)] == below[:count]


def test_decimal_points_stand_in_line():
    (figure,) = printed(ANSWERS["ramp"]())
    moves = [words for words in figure.axes[0].texts if re.fullmatch(r"[0-9.]+ mm", words.get_text())]
    points = [
        words.get_position()[0] + measure()(words.get_text().partition(".")[0], words.get_fontsize(), False)
        for words in moves
    ]
    assert len(points) == 12
    assert max(points) - min(points) < 0.05


def test_a_long_ramp_goes_on_over_pages_numbered_and_headed():
    figures = printed(ramp(100))
    assert len(figures) > 1
    for number, figure in enumerate(figures, 1):
        words = [text.get_text() for text in figure.axes[0].texts]
        assert any(word.endswith(f"page {number} of {len(figures)}") for word in words)
        assert {"step", "angle"} <= set(words) or number == len(figures)


def test_the_command_writes_the_same_pdf_each_time_on_the_paper_asked_for(capsys):
    for name in ("one.pdf", "two.pdf"):
        assert run("28", "--paper", "letter", "--out", name) == 0
    assert capsys.readouterr().err == "written: one.pdf\nwritten: two.pdf\n"
    data = Path("one.pdf").read_bytes()
    assert data == Path("two.pdf").read_bytes()
    assert reading.pdf_pages(data) == [pytest.approx(papers.PAPERS_MM["Letter"], abs=0.01)]
    assert run("28", "--out", "one.pdf") == 2
    assert Path("one.pdf").read_bytes() == data


def test_without_matplotlib_a_pdf_is_refused_and_nothing_is_left(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    assert run("28", "--out", "one.pdf") == 2
    assert "pictures and .pdf files need matplotlib" in capsys.readouterr().err
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["28", "--paper", "letter"], "--paper does nothing without a page to print"),
        (["28", "--paper", "letter", "--out", "a.md"], "--paper does nothing without a page to print"),
        (["28", "--format", "csv", "--out", "a.pdf"], "a.pdf is written as its ending says, not as --format csv"),
    ],
)
def test_what_would_change_nothing_is_refused(words, message, capsys):
    assert run(*words) == 2
    assert message in capsys.readouterr().err


def test_points_of_unlike_decimals_stand_in_line_and_heads_have_room():
    def letters(text, _, bold):
        return len(text) * (1.5 if bold else 1.0)

    table = Table((Heading("lead", right=True), Heading("holes")), (("1.5 mm", "2"), ("22.125 mm", "3"), ("7", "4")))
    found = columns_of(table, letters, 9.0, 100.0)
    cells = [cell for cell, _ in table.rows if "." in cell]
    assert len({found.indent(0, len(cell), len(behind_point(cell))) + cell.index(".") for cell in cells}) == 1
    assert found.widths[1] == CELL_MM + letters("holes", 9.0, True)
