"""The sheet on paper: everything the Markdown says, on pages of the right size, nothing cut off, the same bytes."""

import io
import re
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import combinations
from pathlib import Path

import paper_reading as reading
import pytest
from slow import some

from gearsearch.base.document import Item, plain, strong
from gearsearch.base.facts import Heading, Table
from gearsearch.cli import main
from gearsearch.output.drawing import flow, papers, sheet_pages
from gearsearch.search.check import check
from gearsearch.sheet.page import Job, blocks
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part
from gearsearch.work.tolerance import Tolerance

SHOP = demo_shop()
PLAIN = ("80/44 48/100", "--lead", "412.6mm", "--hand", "right", "--length", "60mm", "--diameter", "50mm")


def job(train="80/44 48/100", lead="412.6", tolerance="0.02 mm over 60 mm", gear=None, **more):
    """A job for the demo shop."""
    wanted = gear or part(lead=lead).at(50)
    cut = {"length_mm": 60, "tolerance": None if tolerance is None else Tolerance.parse(tolerance)}
    return Job(check(SHOP, Train.parse(train), replace(wanted, **cut)), **more)


def gear_job(**more):
    """A gear of 23 teeth: words, indexing and the dividing table."""
    return job("52/(56)/60 64/86", gear=part(teeth=23, helix_angle=15, gear_module=2), tolerance=None, **more)


JOBS = {
    "plain": cache(job),
    "gear": cache(gear_job),
    "no": cache(lambda: job("72/24 80/44", "66", None)),
}


def printed(made, name="A4"):
    """The pages of a job."""
    with papers.drawing():
        return sheet_pages.pages(made, name)


@cache
def paper(which, name="A4"):
    """The pages of one of the jobs, drawn once for all tests."""
    return printed(JOBS[which](), name)


def words_of(figures):
    """Every word on pages, one blank between."""
    said = " ".join(" ".join(text.get_text() for text in figure.axes[0].texts) for figure in figures)
    return said.replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("which", ["plain", "gear", "no"])
@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_everything_the_sheet_says_is_printed(which, name):
    text = re.sub(r"\s+", "", words_of(paper(which, name)))
    for block in blocks(JOBS[which]()):
        for item in block.items:
            if item.drawn and JOBS[which]().checked.fit.placement is not None:
                continue
            assert re.sub(r"[\s_]+", "", plain(item.text)) in text
        for row in block.table.rows if block.table else ():
            assert all(re.sub(r"\s+", "", cell) in text for cell in row)
    for caution in MACHINES["mill"].cautions():
        assert caution.replace(" ", "") in text


@pytest.mark.parametrize("which", ["plain", "gear", "no"])
@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_no_words_reach_past_the_paper(which, name):
    for figure in paper(which, name):
        renderer = figure.canvas.get_renderer()
        page = figure.bbox
        for text in [text for axes in figure.axes for text in axes.texts if text.get_text()]:
            box = text.get_window_extent(renderer)
            margin = 2.5 / 25.4 * figure.dpi
            assert box.x0 >= page.x0 + margin, text.get_text()
            assert box.x1 <= page.x1 - margin, text.get_text()
            assert box.y0 >= page.y0 + margin / 2, text.get_text()
            assert box.y1 <= page.y1 - margin, text.get_text()


@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_an_ordinary_set_up_has_all_for_the_machine_on_one_page_and_its_template_on_the_next(name):
    figures = paper("plain", name)
    assert len(figures) == 2
    for words in ("Measured lead", "Cautions", "manual", "4. Cut", "plane 2", "tightest 43.5 mm"):
        assert words in words_of(figures[:1])
    assert "Wrap round" in words_of(figures[1:])
    assert "The lead worked out" in words_of(figures[1:])


@pytest.mark.parametrize("which", ["plain", "gear", "no"])
@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_words_are_of_eleven_points_and_the_train_and_its_lead_are_seen_from_two_metres(which, name):
    """A capital letter of 4.5 mm or more for the lead, 10 mm for the train, where a train is not very long."""
    first, *_ = paper(which, name)
    sizes = {text.get_text(): text.get_fontsize() for text in first.axes[0].texts}
    assert sizes["1. Put the train on"] >= 1.1 * 11
    assert min(size for text, size in sizes.items() if text.endswith((".", ";")) and " " in text) >= 11
    capital_mm = 0.73 * 25.4 / 72
    assert sizes[str(JOBS[which]().checked.fit.train)] * capital_mm >= 10
    assert max(size for text, size in sizes.items() if text.startswith("lead ")) * capital_mm >= 4.5
    assert min(sizes.values()) >= 9


def test_the_table_of_divisions_stands_beside_the_words():
    figures = paper("gear")
    (page,) = (figure for figure in figures if "pin in hole" in words_of([figure]))
    assert "What the error does" in words_of([page])
    assert len(figures) == 3


@pytest.mark.parametrize("which", ["plain", "gear", "no"])
def test_no_words_stand_on_others(which):
    for figure in paper(which):
        renderer = figure.canvas.get_renderer()
        boxes = [(text, text.get_window_extent(renderer)) for axes in figure.axes for text in axes.texts]
        boxes = [(text.get_text(), box.padded(-2.5)) for text, box in boxes if text.get_text().strip()]
        for (one, a), (other, b) in combinations(boxes, 2):
            assert not a.overlaps(b), (one, other)


def test_every_page_says_that_the_shop_is_the_demo_and_no_page_of_another_does():
    assert all("DEMO SHOP" in words_of([figure]) for figure in paper("gear"))
    own = replace(SHOP, source="shop.toml")
    made = Job(check(own, Train.parse("80/44 48/100"), part(lead="412.6")))
    assert "DEMO SHOP" not in words_of(printed(made))


def test_a_train_that_does_not_mount_says_so_in_a_frame_and_on_every_page():
    figures = paper("no")
    assert "THIS TRAIN DOES NOT MOUNT: the 80 on stud 1" in words_of(figures)
    assert max(patch.get_linewidth() for patch in figures[0].axes[0].patches) > 2
    for figure in figures:
        assert "72/24 80/44: THIS TRAIN DOES NOT MOUNT." in words_of([figure])


def test_outside_the_tolerance_is_said_on_every_page():
    for figure in printed(job(tolerance="100 ppm")):
        assert "80/44 48/100: OUTSIDE THE TOLERANCE." in words_of([figure])


def test_starts_that_cannot_be_indexed_are_said_on_every_page():
    for figure in printed(Job(check(SHOP, Train.parse("80/44 48/100"), part(lead="412.5", starts=127)))):
        assert "80/44 48/100: THE STARTS CANNOT BE INDEXED THIS WAY." in words_of([figure])


def test_without_length_and_diameter_only_the_train_is_drawn():
    made = Job(check(SHOP, Train.parse("80/44 48/100"), part(lead="412.6")))
    assert len(printed(made)) == 1


def test_a_date_is_only_printed_as_given():
    assert "Date: 25 November" in words_of(printed(job("72/24 80/44", "66", None, date="25 November")))
    assert "Date:" not in words_of(paper("gear"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("one two", [[("one", False)], [("two", False)]]),
        (f"{strong('93.0 mm')}, then", [[("93.0 mm", True), (",", False)], [("then", False)]]),
        (f"a {strong('b')} c", [[("a", False)], [("b", True)], [("c", False)]]),
        ("", []),
    ],
)
def test_heavy_words_keep_what_follows_without_a_blank(text, words):
    assert list(map(list, flow.words_of(text))) == words


def test_a_line_to_write_on_stays_with_its_word():
    with papers.drawing():
        pages = flow.Flow("A4", 10, flow.measure())
        for count in range(1, 60):
            for line in pages.broken("x " * count + "Measured ______", 10, 100):
                assert line[0] != (("______", False),)


def test_a_long_table_goes_on_over_pages_with_its_head_on_each():
    rows = tuple((str(number), f"{number}°", "") for number in range(1, 501))
    with papers.drawing():
        pages = flow.Flow("A4", 10, flow.measure())
        pages.item(Item("first"))
        pages.table(Table(tuple(map(Heading, ("no.", "angle", "cut"))), rows))
    assert len(pages.figures) > 1
    for figure in pages.figures:
        assert "no. angle" in words_of([figure])
    text = words_of(pages.figures)
    assert all(f"{number}°" in text.split() for number in range(1, 501))


@pytest.mark.parametrize(("name", "size"), some(papers.PAPERS_MM.items()))
def test_the_pdf_has_the_size_of_the_paper_and_the_same_bytes_in_every_process(name, size):
    assert main(["sheet", *PLAIN, "--paper", name.lower(), "--out", "one.pdf"], io.StringIO()) == 0
    command = [sys.executable, "-m", "gearsearch", "sheet", *PLAIN, "--paper", name, "--out", "two.pdf"]
    subprocess.run(command, check=True, capture_output=True)
    data = Path("one.pdf").read_bytes()
    assert data == Path("two.pdf").read_bytes()
    assert b"CreationDate" not in data
    for page in reading.pdf_pages(data):
        assert page == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("names", some([["a.md", "b.pdf"], ["b.pdf", "a.md"], ["a.md", "b.svg"]]))
def test_of_several_files_none_is_written_where_one_fails(names, monkeypatch, capsys):
    def failing(figures, target, ending, title):
        (Path() / "a.md").write_text("theirs", encoding="utf-8")
        save(figures, target, ending, title)

    save = papers.save
    monkeypatch.setattr(papers, "save", failing)
    words = [word for name in names for word in ("--out", name)]
    assert main(["sheet", *PLAIN, *words], io.StringIO()) == 2
    assert "a.md has appeared meanwhile" in capsys.readouterr().err
    assert [path.name for path in Path().iterdir()] == ["a.md"]
    assert Path("a.md").read_text(encoding="utf-8") == "theirs"


def test_a_file_that_is_called_a_dash_is_the_screen(capsys):
    plain, both = io.StringIO(), io.StringIO()
    assert main(["sheet", *PLAIN], plain) == main(["sheet", *PLAIN, "--out", "-", "--out", "a.md"], both) == 0
    assert both.getvalue() == plain.getvalue() != ""
    assert capsys.readouterr().err == "written: a.md\n"


def test_several_files_are_written_as_their_endings_say(capsys):
    out = io.StringIO()
    assert main(["sheet", *PLAIN, "--out", "a.md", "--out", "b.svg", "--out", "c.pdf"], out) == 0
    assert (out.getvalue(), capsys.readouterr().err) == ("", "written: a.md\nwritten: b.svg\nwritten: c.pdf\n")
    begun = {"a.md": b"# ", "b.svg": b"<?xml", "c.pdf": b"%PDF-"}
    assert {path.name for path in Path().iterdir()} == set(begun)
    assert all(Path(name).read_bytes().startswith(head) for name, head in begun.items())


def test_without_matplotlib_a_pdf_is_refused_and_nothing_is_left(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    assert main(["sheet", *PLAIN, "--out", "sheet.pdf"], io.StringIO()) == 2
    assert capsys.readouterr().err.startswith(
        "gearsearch: pictures and .pdf files need matplotlib, which is not installed\n"
    )
    assert list(Path().iterdir()) == []


def test_a_table_stands_under_its_own_title_in_one_column():
    gear = part(teeth=23, helix_angle=15, gear_module=2)
    asked = replace(gear, length_mm=Fraction(20), accuracy=8)
    sheet = Job(check(SHOP, Train.parse("52/(56)/60 64/86"), asked))
    with papers.drawing():
        figures = sheet_pages.pages(sheet, "Letter")
        texts = [(page, text) for page, figure in enumerate(figures) for text in figure.axes[0].texts]
    title, head = (next(at for at in texts if at[1].get_text().startswith(words)) for words in ("23", "no."))
    assert title[0] == head[0]
    assert 0 <= head[1].get_position()[0] - title[1].get_position()[0] < 20
