"""Make the charts and pictures in this folder anew: ``python tables/make.py``. A test makes them again and compares.

They are charts of the built-in demo shop, the Millrace workshop, and of its lathe in ``lathe.toml``; neither exists:
samples to look at, not to cut metal by. Make your own with ``gearsearch chart`` and your shop file.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from unittest.mock import patch

from gearsearch import demo
from gearsearch.cli import main

HERE = Path(__file__).parent
DATE = "2026-11-25"
CHARTS = {
    "every-lead-worm": ("every", "--thin", "1%"),
    "every-lead-worm-letter": ("every", "--hand", "right", "--thin", "2%", "--paper", "Letter", "--landscape"),
    "every-lead": ("every",),
    "metric-threads": ("list", "iso-261", "--starts", "1,2", "--route", "spindle", "--tolerance", "0.1%"),
    "unified-threads": ("list", "asme-b1.1", "--route", "spindle", "--tolerance", "0.1%"),
    "module-worms": ("list", "iso-54", "--starts", "1,2", "--route", "spindle", "--tolerance", "0.1%"),
    "diametral-pitch-worms": ("list", "worm-dp", "--route", "spindle", "--tolerance", "0.1%"),
    "gearbox": ("list", "iso-metric-coarse", "--route", "any", "--fewest-changes", "--tolerance", "0.1%"),
    "helix-angles": ("grid", "--diameters", "10:60:10", "--helix-angles", "10:45:5", "--hand", "right"),
}
SHOPS = {"gearbox": "lathe.toml"}  # all others are of the demo shop
ENDINGS = {"every-lead": (".parquet",), "metric-threads": (".md", ".csv")}
JOB = ("80/44 48/100", "--lead", "412.6mm", "--hand", "right", "--length", "60mm", "--diameter", "50mm")
PICTURES = {
    "train.svg": ("sheet", *JOB, "--picture", "train"),
    "error.svg": ("sheet", *JOB, "--tolerance", "0.02mm over 60mm", "--picture", "error"),
    "density.svg": ("chart", "plot", str(HERE / "every-lead.parquet")),
}


def make_charts(folder: Path) -> list[Path]:
    """Make every chart in a folder; returns the files."""
    os.environ.pop("GEARSEARCH_SHOP", None)
    files = []
    for name, words in CHARTS.items():
        paths = [folder / f"{name}{ending}" for ending in ENDINGS.get(name, (".md",))]
        outs = [word for path in paths for word in ("--out", str(path))]
        shop = {"GEARSEARCH_SHOP": str(HERE / SHOPS[name])} if name in SHOPS else {}
        with patch.dict(os.environ, shop):
            code = main(["chart", *words, "--date", DATE, "--overwrite", *outs])
        if code:
            sys.exit(f"{name}: exit code {code}")
        files += paths
    return files


def make_pictures(folder: Path) -> list[Path]:
    """Make every picture in a folder, from the charts kept here; returns the files. Needs the extra ``draw``."""
    os.environ.pop("GEARSEARCH_SHOP", None)
    draw_gears(folder / "gears.svg")
    for name, words in PICTURES.items():
        if main([*words, "--overwrite", "--out", str(folder / name)]):
            sys.exit(f"{name} was not made")
    return [folder / name for name in ("gears.svg", *PICTURES)]


def draw_gears(path: Path) -> None:
    """The gears alone, as the README shows them."""
    from matplotlib.figure import Figure

    from gearsearch.output.drawing import papers

    with papers.drawing():
        figure = Figure((6.6, 4.1))
        demo().check("80/44 48/100", "412.5 mm", hand="right").plot(figure.add_axes((0, 0, 1, 1)))
        figure.savefig(path, metadata=papers.NO_DATES[".svg"])


if __name__ == "__main__":
    os.chdir(HERE)  # where no shop.toml stands, so that the shop is the demo
    make_charts(HERE)
    make_pictures(HERE)
