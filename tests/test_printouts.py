"""What every printout has: a title in its file, the demo told as such, and black ink only."""

import re
import zlib
from functools import partial
from pathlib import Path

import commands
import pytest

from gearsearch.output.drawing import papers

JOB = ("80/44 48/100", "--lead", "412.6mm", "--hand", "right", "--length", "60mm", "--diameter", "50mm")
GRID = ("grid", "--diameters", "20,30", "--helix-angles", "20", "--hand", "right")
PRINTED = {
    "sheet": ("sheet", *JOB),
    "train": ("sheet", *JOB, "--picture", "train"),
    "error": ("sheet", *JOB, "--picture", "error"),
    "template": ("sheet", *JOB, "--picture", "template"),
    "divide": ("divide", "28"),
    "grid": ("chart", *GRID),
    "list": ("chart", "list", "iso-54", "--route", "spindle"),
}


@pytest.mark.parametrize("name", PRINTED)
def test_a_printout_has_a_title_and_is_black_on_white(name, monkeypatch):
    monkeypatch.delenv("GEARSEARCH_SHOP", raising=False)
    made = []
    first = papers.blank
    monkeypatch.setattr(papers, "blank", lambda *size: (made.append(first(*size)), made[-1])[1])
    command, *words = PRINTED[name]
    assert partial(commands.code_of, command)(*words, "--out", "a.pdf") == 0
    data = Path("a.pdf").read_bytes()
    assert re.search(rb"/Title \(.{5,}\)", data)
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.S):
        try:
            drawn = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        for red, green, blue in re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", drawn):
            assert red == green == blue
    for _, axes in made:
        said = " ".join(text.get_text() for text in axes.texts)
        assert "DEMO SHOP" in said or "(demo shop)" in said
