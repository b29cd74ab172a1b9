"""The numbers that stand on printouts for sources are explained in the pages of the documentation."""

import re
from pathlib import Path

from gearsearch.base.sources import NOTES, noted


def test_every_number_is_explained():
    page = " ".join((Path(__file__).parents[1] / "gearsearch/sheet/README.md").read_text(encoding="utf-8").split())
    for name, said in NOTES.items():
        assert f"{noted(name)} {said}" in page


def test_the_numbers_are_in_turn():
    assert [re.findall("[0-9]", noted(name)) for name in NOTES] == [[str(n)] for n in range(1, len(NOTES) + 1)]
