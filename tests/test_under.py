"""What stands under the words of a sheet on paper: it fills pages that are needed anyway, and takes none of its own."""

import re
from dataclasses import replace

import pytest
from slow import some

from gearsearch.output.drawing import papers, sheet_pages
from gearsearch.output.drawing.picture import train_figure
from gearsearch.search.check import check
from gearsearch.sheet.page import Job
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part

SHOP = demo_shop()
TWO, THREE = ("80/44 48/100", "412.6"), ("86/28 20/64 30/80", "1000.3")
ERROR, TRAIN, NOTES, TEMPLATE = "How far off along the cut", "The train at 1 : ", "Notes", "Wrap round"


def job(train, lead, length=None, diameter=None):
    """A job of the demo shop, measures in millimetres."""
    wanted = part(lead=lead) if diameter is None else part(lead=lead).at(diameter)
    return Job(check(SHOP, Train.parse(train), replace(wanted, length_mm=length)))


def under(made, paper="A4"):
    """For each page which of the pictures stand on it."""
    with papers.drawing():
        figures = sheet_pages.pages(made, paper)
        said = ["\n".join(text.get_text() for text in figure.axes[0].texts) for figure in figures]
    titles = {"error": ERROR, "train": TRAIN, "notes": f"^{NOTES}$", "template": TEMPLATE}
    found = [{name for name, title in titles.items() if re.search(title, page, re.M)} for page in said]
    found[0].discard("notes")  # the line to write on
    return found


@pytest.mark.parametrize("paper", some(papers.PAPERS_MM))
def test_what_goes_on_one_page_stays_on_one(paper):
    assert under(job(*TWO, length=60), paper) == [set()]


@pytest.mark.parametrize("paper", some(papers.PAPERS_MM))
def test_a_second_page_of_words_has_the_error_and_the_train_large(paper):
    assert under(job(*THREE, length=60), paper) == [set(), {"error", "train"}]


def test_between_words_and_template_stand_the_error_and_lines_for_notes():
    assert under(job(*TWO, length=60, diameter=50)) == [set(), {"error", "notes", "template"}]


@pytest.mark.parametrize("paper", some(papers.PAPERS_MM))
def test_the_error_takes_no_page_of_its_own_beside_a_high_template(paper):
    pages = under(job(*TWO, length=150, diameter=30), paper)
    assert len(pages) == 2
    assert "template" in pages[1]
    assert "error" not in pages[1]


def test_a_template_with_a_page_of_its_own_leaves_room_for_notes_above_it():
    """Once round 60 mm is 188.5 mm, more than an upright page has beside its ruler."""
    assert under(job(*TWO, length=12, diameter=60))[-1] == {"notes", "template"}


def test_a_picture_of_many_gears_is_as_large_as_the_gears_allow():
    """Two shafts 150 mm apart and gears of 2 mm module have room on A4 at a third of their size."""
    checked = check(SHOP, Train.parse(THREE[0]), part(lead=THREE[1]))
    with papers.drawing():
        scale = next(text.get_text() for text in train_figure(checked).axes[0].texts if "scale 1" in text.get_text())
    assert float(re.search(r"1 : ([\d.]+)", scale)[1]) <= 3
