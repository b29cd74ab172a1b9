"""The files that the examples of the help texts read, made in the folder they run in."""

import io
import shlex
from pathlib import Path

import pytest

from gearsearch.cli import main

LIST = "name,wanted,tolerance\nworm,412.5 mm,0.1%\nroll,333 mm,0.1%\nfeed,777 mm,0.1%\n"
LATHE = """\
name = "Millrace lathe"
units = "in"

[machine]
kind = "lathe"
screw_lead = "8 tpi"

[[machine.route]]
name = "spindle"
ratio = 1

[[gears]]
diametral_pitch = 20
teeth = [20, 24, 28, 32, 36, 40, 44, 48, 52, 56, 60, 65, 70, 80, 127]
"""
SLOW = ("--add 2 --pairs 3", "--design 12", "1009 --nearest")


def prepare(words):
    """The files an example reads; the shop is that of ``shop new``."""
    if any(word.endswith((".pdf", ".svg", ".png")) for word in words):
        pytest.importorskip("matplotlib")
    if words[:2] == ["shop", "new"]:
        return
    main(["shop", "new"], io.StringIO())
    texts = {"mill.toml": Path("shop.toml").read_text("utf-8"), "lathe.toml": LATHE}
    texts |= dict.fromkeys(("leads.csv", "our-leads.csv"), LIST)
    for name in set(words) & set(texts):
        Path(name).write_text(texts[name], encoding="utf-8")
    if words[:2] in (["chart", "look"], ["chart", "plot"]):
        main(shlex.split("chart every --from 400mm --to 425mm --hand right --thin 0.1% --out leads.parquet"))
