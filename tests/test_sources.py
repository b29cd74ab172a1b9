"""The numbers that stand on printouts for sources are explained in the pages of the documentation."""

import re
from pathlib import Path

import pytest
from shops import DIAL_LATHE

from gearsearch.base.document import Document, plain
from gearsearch.base.facts import Note
from gearsearch.base.sources import NOTES, noted
from gearsearch.search.check import check
from gearsearch.sheet import page
from gearsearch.sheet.job import Job
from gearsearch.shop.reader import read_shop
from gearsearch.shop.trains import Train
from gearsearch.work import asking


def test_every_number_is_explained():
    page = " ".join((Path(__file__).parents[1] / "gearsearch/sheet/README.md").read_text(encoding="utf-8").split())
    for name, said in NOTES.items():
        assert f"{noted(name)} {said}" in page


def numbers_and_keys(texts):
    """The numbers that stand for a source in a part, and those whose meaning stands in it."""
    said = " ".join(map(plain, texts))
    return set(re.findall(r"note (\d+)(?!:)\b", said)), set(re.findall(r"Note (\d+):", said))


@pytest.mark.parametrize("name", ["Tr 20x8(P4) LH", "1/2 NPT"])
def test_every_number_on_a_sheet_has_its_key_in_its_part(name):
    part = asking.part(thread=name)
    job = Job(check(read_shop(DIAL_LATHE, "lathe.toml"), Train.parse("65/24 28/36"), part))
    parts = [
        [*block.lines, *(item.text for item in block.items), *(cell for row in block.table.rows for cell in row)]
        if block.table
        else [item.text for item in block.items]
        for block in page.document(job).keyed().blocks
    ]
    found = [numbers_and_keys(part) for part in parts]
    assert all(numbers == keys for numbers, keys in found)
    assert sum(bool(numbers) for numbers, _ in found) == 1 + ("P4" in name)


def test_a_number_among_the_notes_and_in_a_heading_has_its_key_last():
    said = Document("a", ("b (note 3)",), notes=(Note("c", "d (note 2)"),)).keyed()
    assert [note.text for note in said.notes[1:]] == [f"note 2: {NOTES['memory']}", f"note 3: {NOTES['treatise']}"]
    assert Document("a", ("b",)).keyed() == Document("a", ("b",))


def test_the_numbers_are_in_turn():
    assert [re.findall("[0-9]", noted(name)) for name in NOTES] == [[str(n)] for n in range(1, len(NOTES) + 1)]
