"""Charts as PDF: every cell of the Markdown, on paper of the right size, inside the margins, the same bytes."""

import io
from fractions import Fraction
from itertools import combinations, pairwise, product
from pathlib import Path

import paper_reading as reading
import pytest
from matplotlib.text import Text
from matplotlib.textpath import text_to_path
from slow import some

from gearsearch.charts import making as charts
from gearsearch.cli import main
from gearsearch.output.chart_files import Imprint, write_chart
from gearsearch.output.drawing import chart_pages, papers
from gearsearch.output.markdown_pages import MarkdownPages
from gearsearch.output.pages import ChartPages
from gearsearch.output.paper import Paper
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop
from gearsearch.work.lists import load_list

KINDS = {
    "every": lambda shop: charts.every(shop, Terms(), (Fraction(400), Fraction(410))),
    "one hand": lambda shop: charts.every(shop, Terms(hand="right"), (Fraction(400), Fraction(412))),
    "list": lambda shop: charts.of_list(shop, Terms(route="spindle"), load_list("iso-54")),
    "grid": lambda shop: charts.grid(
        shop, Terms(), [Fraction(n) for n in range(20, 40)], [Fraction(n) for n in (10, 20, 30)]
    ),
    "nothing": lambda shop: charts.every(shop, Terms(pairs=(1, 1)), (Fraction(400), Fraction(401))),
}


def words(kind):
    """The cells of the Markdown chart, row by row, headings and rules left out."""
    stream = io.StringIO()
    chart = KINDS[kind](demo_shop())
    page = ChartPages(chart, MarkdownPages(stream, Paper(), 0), "made so", "25 November")
    for rows in chart.rows:
        page.add(rows)
    page.close()
    lines = [line for line in stream.getvalue().splitlines() if line.startswith("|") and "tried" not in line]
    return [line.replace("|", " ").split() for line in lines if not set(line) <= set("|:-")]


def printed_width(text):
    """How wide a text is in print [mm]."""
    font = text.get_fontproperties()
    return text_to_path.get_text_width_height_descent(text.get_text(), font, ismath=False)[0] * reading.POINT_MM


@pytest.fixture
def drawn(monkeypatch):
    """The pages that are drawn, as they are saved."""
    pages = []
    first = papers.blank
    monkeypatch.setattr(papers, "blank", lambda *size: (pages.append(first(*size)), pages[-1])[1])
    return pages


@pytest.mark.parametrize("kind", ["every", "one hand", "list"])
def test_every_row_of_the_markdown_is_printed_in_its_order(kind, drawn, tmp_path):
    write_chart(KINDS[kind](demo_shop()), [tmp_path / "a.pdf"], Imprint("made so", "25 November"))
    rows = [text.get_text().split() for _, axes in drawn for text in axes.texts if text.get_family() == ["monospace"]]
    assert [row for row in rows if "tried" not in row] == words(kind)
    assert len(drawn) > (kind != "list")


@pytest.mark.parametrize("size", some(papers.PAPERS_MM))
@pytest.mark.parametrize(
    ("kind", "landscape"),
    some([("every", False), ("list", True), ("nothing", False), *product(("one hand", "grid"), (False, True))], 3),
)
def test_everything_stands_inside_the_margins_and_nothing_on_anything_else(kind, size, landscape, drawn, tmp_path):
    path = tmp_path / "a.pdf"
    write_chart(KINDS[kind](demo_shop()), [path], Imprint("made so", "25 November", Paper(size, landscape)))
    wide, high = sorted(papers.PAPERS_MM[size], reverse=landscape)
    assert reading.pdf_pages(path.read_bytes()) == [pytest.approx((wide, high), abs=0.2)] * len(drawn)
    for figure, axes in drawn:
        renderer = figure.canvas.get_renderer()
        to_mm = axes.transData.inverted()
        boxes = [to_mm.transform_bbox(text.get_window_extent(renderer)) for text in axes.texts]
        for box, text in zip(boxes, axes.texts, strict=True):
            if text.get_ha() == "left":
                box.x1 = box.x0 + printed_width(text)  # on the screen letters are moved to whole dots
        lines = [point for line in axes.lines for point in zip(*line.get_data(), strict=True)]
        for x, y in [*((b.x0, b.y0) for b in boxes), *((b.x1, b.y1) for b in boxes), *lines]:
            assert papers.MARGIN_MM - 0.5 <= x <= wide - papers.MARGIN_MM + 0.5
            assert papers.MARGIN_MM - 2 <= y <= high - papers.MARGIN_MM + 0.5
        for one, other in combinations(boxes, 2):
            assert not one.padded(-0.45).overlaps(other.padded(-0.45)), (kind, one, other)


@pytest.mark.parametrize("kind", some(["grid", "one hand", "every", "list"], 2))
def test_a_table_is_ruled_between_all_its_cells(kind, drawn, tmp_path):
    """No letter of a row stands where a line from top to bottom does."""
    write_chart(KINDS[kind](demo_shop()), [tmp_path / "a.pdf"])
    for _, axes in drawn:
        rows: list[Text] = [text for text in axes.texts if text.get_family() == ["monospace"]]
        edges = sorted({line.get_xdata()[0] for line in axes.lines if line.get_xdata()[0] == line.get_xdata()[1]})
        if len(rows) > 1:
            letter = rows[0].get_fontsize() * chart_pages._LETTER * 25.4 / 72
            places = [round((x - papers.MARGIN_MM) / letter) - 1 for x in edges[1:-1]]
            assert places
            for row in rows:
                assert all(row.get_text().ljust(200)[at - 1 : at + 1] == "  " for at in places), row.get_text()


def test_a_narrow_chart_is_set_larger_than_a_broad_one_unless_the_rows_are_given(drawn, tmp_path):
    def type_of(kind, **paper):
        del drawn[:]
        write_chart(KINDS[kind](demo_shop()), [tmp_path / "a.pdf"], Imprint(paper=Paper(**paper)), overwrite=True)
        return max(text.get_fontsize() for text in drawn[0][1].texts if text.get_family() == ["monospace"])

    assert type_of("one hand") > type_of("every") > 8
    assert type_of("one hand", rows=100) < type_of("one hand")


@pytest.mark.parametrize("size", papers.PAPERS_MM)
def test_a_narrow_chart_on_its_side_is_read_down_and_then_across_and_leaves_no_half_white(size, drawn, tmp_path):
    write_chart(KINDS["one hand"](demo_shop()), [tmp_path / "a.pdf"], Imprint(paper=Paper(size, True)))
    wide = max(papers.PAPERS_MM[size]) - 2 * papers.MARGIN_MM
    rows = []
    for _, axes in drawn:
        lines = [text for text in axes.texts if text.get_family() == ["monospace"]]
        heads = [line.get_position()[0] for line in lines if "tried" in line.get_text()]
        assert len(heads) == 2
        assert heads == sorted(heads)
        assert min(line.get_fontsize() for line in lines) >= 10
        assert max(x for line in axes.lines for x in line.get_xdata()) > papers.MARGIN_MM + 0.75 * wide
        counts = [sum(line.get_position()[0] == left for line in lines) for left in heads]
        assert 0 <= counts[0] - counts[1] <= 1
        rows += [text.get_text().split() for text in lines if "tried" not in text.get_text()]
    assert rows == words("one hand")


def test_many_rows_that_were_asked_for_stand_in_as_many_strips_as_keep_the_type_large(drawn, tmp_path):
    """120 rows of 57 letters on A4 landscape: in three strips 6.9 points, in two 4.7."""
    chart = charts.every(demo_shop(), Terms(hand="right"), (Fraction(390), Fraction(420)))
    write_chart(chart, [tmp_path / "a.pdf"], Imprint(paper=Paper(landscape=True, rows=200)))
    ((_, axes),) = drawn
    lines = [text for text in axes.texts if text.get_family() == ["monospace"]]
    assert len({line.get_position()[0] for line in lines}) == 3
    assert min(line.get_fontsize() for line in lines) > 6.5


@pytest.mark.parametrize("rows", some([600, 200, 300]))
def test_no_strip_runs_off_the_paper_however_many_rows_are_asked_for(rows, drawn, tmp_path):
    chart = charts.every(demo_shop(), Terms(hand="right"), (Fraction(300), Fraction(600)))
    write_chart(chart, [tmp_path / "a.pdf"], Imprint(paper=Paper(rows=rows)))
    wide = papers.PAPERS_MM["A4"][0]
    for _, axes in drawn:
        assert max(x for line in axes.lines for x in line.get_xdata()) <= wide - papers.MARGIN_MM + 1e-6


def test_few_rows_stand_in_one_strip_in_large_type(drawn, tmp_path):
    write_chart(KINDS["one hand"](demo_shop()), [tmp_path / "a.pdf"], Imprint(paper=Paper(landscape=True, rows=10)))
    lines = [text for text in drawn[-1][1].texts if text.get_family() == ["monospace"]]
    assert sum("tried" in line.get_text() for line in lines) == 1
    assert {line.get_fontsize() for line in lines} == {16}


def test_no_strip_parts_the_rows_of_one_lead(drawn, tmp_path):
    chart = charts.every(demo_shop(), Terms(hand="right"), (Fraction(400), Fraction(412)), all_arrangements=True)
    write_chart(chart, [tmp_path / "a.pdf"], Imprint(paper=Paper(landscape=True)))
    strips: list[list[str]] = []
    for _, axes in drawn:
        for text in axes.texts:
            if text.get_family() == ["monospace"]:
                strips += [[]] if "tried" in text.get_text() else []
                strips[-1] += [text.get_text().split()[0]] if "tried" not in text.get_text() else []
    assert len(strips) > len(drawn)
    assert len({lead for strip in strips for lead in strip}) == sum(len({*strip}) for strip in strips)


def test_the_same_chart_is_the_same_bytes(tmp_path):
    for name in ("a.pdf", "b.pdf"):
        write_chart(KINDS["every"](demo_shop()), [tmp_path / name])
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_name_with_marks_of_markdown_is_printed_as_it_is(drawn):
    Path("list.csv").write_text('name,wanted\n"a|b_c*d",412.5 mm\n', encoding="utf-8")
    assert main(["chart", "list", "list.csv", "--hand", "right", "--out", "a.pdf"]) == 0
    assert any(text.get_text().startswith("a|b_c*d ") for text in drawn[0][1].texts)


def test_a_fault_half_way_leaves_no_file(tmp_path, monkeypatch):
    chart = KINDS["every"](demo_shop())
    monkeypatch.setattr(chart_pages, "_draw_table", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_chart(chart, [tmp_path / "a.pdf"])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("kind", ["every", "list", "grid"])
def test_every_page_says_which_it_is_whose_chart_it_is_and_what_its_columns_mean(kind, drawn, tmp_path):
    write_chart(KINDS[kind](demo_shop()), [tmp_path / "a.pdf"])
    for number, (_, axes) in enumerate(drawn, 1):
        said = [text.get_text() for text in axes.texts]
        assert f"page {number} of {len(drawn)}" in said
        assert any("(demo shop)" in text for text in said)
        legend = " ".join(said)
        assert "in power order" in legend or "mesh by mesh from" in legend
        assert ("clear: tightest gap" in legend) == (kind == "every")
    assert b"/Title (" in (tmp_path / "a.pdf").read_bytes()


@pytest.mark.parametrize(
    ("kind", "landscape", "most"),
    [
        ("every", False, 1 / 3),
        ("one hand", False, 1 / 3),
        ("list", False, 1 / 3),
        ("grid", False, 1 / 3),
        ("list", True, 1 / 6),
    ],
)
def test_no_page_is_half_empty(kind, landscape, most, drawn, tmp_path):
    """From the title to the foot no strip from side to side is white that is such a share of the page."""
    write_chart(KINDS[kind](demo_shop()), [tmp_path / "a.pdf"], Imprint(paper=Paper(landscape=landscape)))
    for figure, axes in drawn:
        high = figure.get_size_inches()[1] * 25.4
        heights = sorted([0.0, high, *(text.get_position()[1] for text in axes.texts)])
        assert max(b - a for a, b in pairwise(heights)) < high * most


def test_no_printed_chart_names_a_company(drawn, tmp_path):
    """Sources are told by number, explained in the documentation."""
    chart = charts.of_list(demo_shop(), Terms(route="spindle"), load_list("bsw"))
    write_chart(chart, [tmp_path / "a.pdf"])
    said = " ".join(text.get_text() for _, axes in drawn for text in axes.texts)
    assert chart.read_from
    assert not any(source in said for source in chart.read_from)
    assert "(note 5)" in said


@pytest.mark.parametrize("hand", ["right", "left", "either"])
def test_a_chart_of_one_hand_says_so_in_its_title_and_has_one_column_of_idlers(hand, drawn, tmp_path):
    chart = charts.every(demo_shop(), Terms(hand=hand), (Fraction(400), Fraction(412)))
    write_chart(chart, [tmp_path / "a.pdf", tmp_path / "a.md"])
    for said in [
        *([text.get_text() for text in axes.texts] for _, axes in drawn),
        (tmp_path / "a.md").read_text("utf-8").split("\n"),
    ]:
        assert any(f"{hand} hand, Millrace workshop" in text for text in said) == (hand != "either")
        heads = [text for text in said if "tried" in text and "mesh 1" in text]
        assert all(("idler R" in head and "idler L" in head) == (hand == "either") for head in heads)
        assert any(text.lstrip("- ").startswith("idler: none") for text in said) == (hand != "either")
        assert heads


def test_no_name_of_a_standard_list_is_cut_off_where_the_table_is_broad(tmp_path):
    """Both hands by every route leave little room for names: then fewer stand on a line."""
    main(["chart", "list", "iso-metric-coarse", "--route", "any", "--out", str(tmp_path / "list.md")], io.StringIO())
    page = (tmp_path / "list.md").read_text(encoding="utf-8")
    names = [line.split("|")[1].strip() for line in page.splitlines() if line.startswith("| M")]
    sizes = [part for name in names for part in name.split(",") if part.strip()]
    assert [size.strip() for size in sizes] == [item.title for item in load_list("iso-metric-coarse", "mm").items]
