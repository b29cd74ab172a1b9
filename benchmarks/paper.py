"""Every kind of page, made into a folder and measured: ``python benchmarks/paper.py FOLDER [WORD]``; needs pypdfium2.

It reads the finished PDF and shares no code with what made it. Of each file: how many pages, the smallest type that is
set on them [points], pairs of words that stand on each other, words off the page, and of the emptiest page the share
that is white (squares of 5 mm without ink, inside the margins) and the longest white strip from side to side [mm].
Beside each PDF a PNG of each page is written, to be looked at. A word leaves out all kinds whose name does not hold it.
"""

from __future__ import annotations

import ctypes
import io
import os
import sys
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any

from gearsearch.cli import main
from gearsearch.shop.reader import DEMO_TEXT

TABLES = Path(__file__).parent.parent / "tables"
MM = 72 / 25.4  # points
MARGIN_MM, SQUARE_MM = 12, 5
JOB = ("80/44 48/100", "--lead", "412.6mm", "--hand", "right", "--length", "60mm", "--diameter", "50mm")
GEAR = ("--gear-module", "2", "--teeth", "23", "--helix-angle", "15")
GEAR_JOB = ("52/(56)/60 64/86", *GEAR, "--length", "20mm", "--accuracy", "8")
RAMP = ("--rise", "3.6mm", "--per", "85", "--diameter", "50mm", "--starts", "4", "--route", "spindle")
GRID = ("grid", "--diameters", "10:70:10", "--helix-angles", "10:45:5", "--hand", "right")
INCH_GRID = ("grid", "--diameters", "0.5:3.5:0.5", *GRID[3:])
LETTER, WIDE = ("--paper", "Letter"), ("--landscape",)
PAGES: dict[str, tuple[str, tuple[str, ...]]] = {  # name: shop, command
    "sheet-usual": ("mm", ("sheet", *JOB, "--tolerance", "0.02mm over 60mm")),
    "sheet-usual-inch-letter": ("in", ("sheet", *JOB, "--tolerance", "0.02mm over 60mm", *LETTER)),
    "sheet-shortest": ("bare", ("sheet", "80/44 48/100")),
    "sheet-length": ("mm", ("sheet", "80/44 48/100", "--lead", "412.6mm", "--length", "60mm")),
    "sheet-high-template": ("mm", ("sheet", *JOB[:3], "--length", "150mm", "--diameter", "30mm")),
    "sheet-three-pairs": ("mm", ("sheet", "86/28 20/64 30/80", "--lead", "1000.3mm", "--length", "60mm")),
    "sheet-longest": (
        "mm",
        ("sheet", *GEAR_JOB, "--disc-cutter", "60mm", "--cutter-width", "6mm", "--date", "25 November 2026"),
    ),
    "sheet-gear-letter": ("mm", ("sheet", *GEAR_JOB, *LETTER)),
    "sheet-four-pairs": ("four", ("sheet", "36/30 32/28 24/80 56/64", "--lead", "1000.1mm", "--length", "80mm")),
    "sheet-idlers": ("four", ("sheet", "36/(24)/(32)/100", "--lead", "1000.1mm", "--length", "80mm")),
    "sheet-refused": ("mm", ("sheet", "72/24 80/44", "--lead", "66mm")),
    "sheet-ramp": ("mm", ("sheet", *RAMP, "--wall", "36mm", "60mm", "--end-mill", "20mm", "--length", "12mm")),
    "sheet-cam": ("mm", ("sheet", "--lead", "5mm", "--tilt", "20", "--diameter", "60mm", "--route", "spindle")),
    "sheet-thread": ("lathe", ("sheet", "--thread", "M12", "--length", "30mm")),
    "sheet-thread-inch": ("lathe-in", ("sheet", "--thread", "1/2-13", "--length", "1in", *LETTER)),
    "divide": ("mm", ("divide", "28")),
    "divide-127-inch": ("in", ("divide", "127", *LETTER)),
    "divide-ramp": ("mm", ("divide", "--steps", "40", "--total-angle", "85", "--step-rise", "3.6mm")),
    "divide-table": ("mm", ("divide", "127", "--table")),
    "every": ("mm", ("chart", "every", "--thin", "1%")),
    "every-letter-wide": ("mm", ("chart", "every", "--hand", "right", "--thin", "2%", *LETTER, *WIDE)),
    "every-lathe-inch": ("lathe-in", ("chart", "every", "--thin", "2%", *LETTER)),
    "list": ("mm", ("chart", "list", "iso-261", "--starts", "1,2", "--route", "spindle", "--tolerance", "0.1%")),
    "list-inch": ("lathe-in", ("chart", "list", "unc", *LETTER)),
    "list-lathe": ("lathe", ("chart", "list", "iso-metric-coarse", "--route", "any", "--tolerance", "0.1%")),
    "list-changes": (
        "lathe",
        ("chart", "list", "iso-metric-coarse", "--route", "any", "--fewest-changes", "--tolerance", "0.1%"),
    ),
    "list-wide": ("mm", ("chart", "list", "iso-54", "--route", "spindle", *WIDE)),
    "grid": ("mm", ("chart", *GRID)),
    "grid-letter-wide": ("in", ("chart", *INCH_GRID, *LETTER, *WIDE)),
    "grid-both-hands": ("mm", ("chart", *GRID[:-2])),
    "picture-train": ("mm", ("sheet", *JOB, "--picture", "train")),
    "picture-train-three-pairs": ("mm", ("sheet", "86/28 20/64 30/80", "--lead", "1000.3mm", "--picture", "train")),
    "picture-error": ("mm", ("sheet", *JOB, "--picture", "error")),
    "picture-template-inch": ("in", ("sheet", *JOB, "--picture", "template", *LETTER)),
}


def shops(folder: Path) -> dict[str, Path | None]:
    """The shop files that the pages are made with; None: the built-in demo."""
    demo = DEMO_TEXT
    before, _, after = demo.partition("[quadrant]")
    quadrant, _, after = after.partition("[dividing]")
    lathe = (TABLES / "lathe.toml").read_text(encoding="utf-8") + "[quadrant]" + quadrant
    texts = {
        "in": demo.replace('units = "mm"', 'units = "in"', 1),
        "bare": before + "[dividing]" + after,
        "four": demo.replace("studs  = 2", "studs  = 3", 1)
        .replace("planes = 2 ", "planes = 3 ")
        .replace("190 mm", "260 mm"),
        "lathe": lathe,
        "lathe-in": lathe.replace('units = "mm"', 'units = "in"', 1).replace('"6 mm"', '"4 tpi"', 1),
    }
    files: dict[str, Path | None] = {"mm": None}
    for name, text in texts.items():
        files[name] = folder / f"{name}.toml"
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return files


@dataclass(frozen=True, slots=True)
class Found:
    """What was measured on the pages of a file; see above."""

    pages: int
    smallest: float
    over: int
    off: int
    white: float
    strip: float


def measured(path: Path) -> Found:
    """A finished PDF, measured, and drawn as PNG beside it."""
    import pypdfium2 as pdfium

    pages = list(pdfium.PdfDocument(path))
    sizes, over, off, whites, strips = [], 0, 0, [], []
    for number, page in enumerate(pages, 1):
        texts = list(_texts(page))
        sizes += [size for _, _, size in texts]
        over += sum(_share(a, b) for (_, a, _), (_, b, _) in combinations(texts, 2))
        wide, high = page.get_size()
        off += sum(x0 < 0 or y0 < 0 or x1 > wide or y1 > high for _, (x0, y0, x1, y1), _ in texts)
        page.render(scale=110 / 72).to_pil().save(path.with_name(f"{path.stem}-{number}.png"))
        white, strip = _white(page)
        whites.append(white)
        strips.append(strip)
    return Found(len(pages), min(sizes), over, off, max(whites), max(strips))


def _texts(page: Any) -> Any:
    """Every text of a page: words, box and size [points]."""
    import pypdfium2.raw as raw

    all_of_it, words, size = page.get_textpage(), (ctypes.c_ushort * 2000)(), ctypes.c_float()
    for text in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        raw.FPDFTextObj_GetText(text.raw, all_of_it.raw, words, 4000)
        raw.FPDFTextObj_GetFontSize(text.raw, ctypes.byref(size))
        matrix = text.get_matrix()
        said = bytes(words).decode("utf-16-le").partition("\0")[0].strip()
        if said:
            yield said, text.get_bounds(), round(size.value * (matrix.a**2 + matrix.b**2) ** 0.5, 2)


def _share(a: tuple[float, ...], b: tuple[float, ...], slack: float = 1.2) -> bool:
    """Whether two boxes stand on each other by more than what reaches below a line [points]."""
    wide = min(a[2], b[2]) - max(a[0], b[0])
    return wide > slack and min(a[3], b[3]) - max(a[1], b[1]) > slack


def _white(page: Any) -> tuple[float, float]:
    """The share of a page that is white, and its longest white strip [mm]."""
    import numpy as np

    dots = 2  # in a millimetre
    grey = np.asarray(page.render(scale=dots * 25.4 / 72).to_pil().convert("L")) < 200
    inside = grey[MARGIN_MM * dots : -MARGIN_MM * dots, MARGIN_MM * dots : -MARGIN_MM * dots]
    step = SQUARE_MM * dots
    rows, columns = (side // step for side in inside.shape)
    squares = inside[: rows * step, : columns * step].reshape(rows, step, columns, step).any(axis=(1, 3))
    run = best = 0
    for row in inside.any(axis=1):
        run = 0 if row else run + 1
        best = max(best, run)
    return float(1 - squares.mean()), best / dots


def run(folder: Path, word: str = "") -> None:
    """Make all and print the table."""
    folder.mkdir(parents=True, exist_ok=True)
    files = shops(folder)
    print("| page | pages | smallest type | on each other | off the page | white | white strip |")
    print("|---|--:|--:|--:|--:|--:|--:|")
    for name, (shop, command) in PAGES.items():
        if word not in name:
            continue
        path, file = folder / f"{name}.pdf", files[shop]
        said = io.StringIO()
        code = main([*command, "--overwrite", "--out", str(path), *(["--shop", str(file)] if file else [])], said)
        if not path.exists():
            print(f"| {name} | exit code {code} |")
            continue
        found = measured(path)
        print(
            f"| {name} | {found.pages} | {found.smallest:g} pt | {found.over} | {found.off} | {found.white:.0%} "
            f"| {found.strip:.0f} mm |"
        )


if __name__ == "__main__":
    os.environ.pop("GEARSEARCH_SHOP", None)
    run(Path(sys.argv[1]), *sys.argv[2:])
