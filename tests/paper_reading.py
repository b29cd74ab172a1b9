"""Lengths read back from written files, in millimetres of the paper."""

import re
import zlib

POINT_MM = 25.4 / 72
_NUMBER = r"-?[\d.]+"


def svg_size(text):
    """Width and height of the whole drawing."""
    return tuple(float(n) * POINT_MM for n in re.search(r'width="([\d.]+)pt" height="([\d.]+)pt"', text).groups())


def svg_lines(text, name):
    """Every path of the groups of a name, as points (x to the right, y down)."""
    groups = re.findall(rf'<g id="{name}">\s*<path d="([^"]*)"', text)
    return [[(float(x) * POINT_MM, float(y) * POINT_MM) for x, y in _pairs(d)] for d in groups]


def _pairs(path):
    return re.findall(rf"[ML] ({_NUMBER}) ({_NUMBER})", path)


def svg_round(text, name):
    """Centre (x to the right, y up from the top edge) and radius of a circle of a name, by its outermost points."""
    (d,) = re.findall(rf'<g id="{name}">\s*<path d="([^"]*)"', text)
    xs, ys = zip(
        *[(float(x) * POINT_MM, -float(y) * POINT_MM) for x, y in re.findall(rf"({_NUMBER}) ({_NUMBER})", d)],
        strict=True,
    )
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2, (max(xs) - min(xs)) / 2


def pdf_pages(data):
    """Width and height of every page."""
    boxes = re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", data)
    return [(float(w) * POINT_MM, float(h) * POINT_MM) for w, h in boxes]


def pdf_lines(data):
    """Every straight stroke of two points on every page: (x1, y1, x2, y2), y up."""
    found = []
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.S):
        try:
            text = zlib.decompress(stream).decode("latin-1")
        except (zlib.error, UnicodeDecodeError):
            continue
        one = rf"({_NUMBER}) ({_NUMBER}) m\n({_NUMBER}) ({_NUMBER}) l\s+S"
        found += [tuple(float(n) * POINT_MM for n in match) for match in re.findall(one, text)]
    return found
