"""Every answer holds what was asked, so that it is written down from itself alone; lists say all that options say."""

import io
import json
from fractions import Fraction

import pytest

from gearsearch.base.document import cut
from gearsearch.cli import main
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop
from gearsearch.work.asking import part
from gearsearch.work.lists import read_list


def test_a_notebook_shows_what_was_asked_of_a_tilted_cam():
    shown = find(demo_shop(), part(lead="8.503 mm", tilt=30), Terms(route="spindle", count=1))._repr_html_()
    shown = cut(shown)
    assert "8.503 mm" in shown
    assert "head tilted 30" in shown
    assert "wanted: lead 17.006" not in shown


def test_find_tells_programs_what_an_error_does_to_the_part():
    words = ["find", "--lead", "412.6", "--length", "60", "--diameter", "50", "--count", "1"]
    out = io.StringIO()
    main([*words, "--format", "json"], out)
    fit = json.loads(out.getvalue())["fits"][0]
    assert fit["on_the_part"]["drift_mm"] == pytest.approx(fit["error_mm"] / 412.6 * 60)
    out = io.StringIO()
    main([*words, "--format", "csv"], out)
    heading, row = (line.split(",") for line in out.getvalue().splitlines())
    cells = dict(zip(heading, row, strict=True))
    assert {name: float(cells[name]) for name in fit["on_the_part"]} == pytest.approx(fit["on_the_part"])


def test_a_list_holds_helical_gears_and_tilted_cams():
    rows = (
        "pinion,gear module 2 z 23 helix 15deg,0.1%\nwheel,gear dp 12 z 40 helix 20deg,\ncam,8.503 mm tilt 30deg,1%\n"
    )
    pinion, wheel, cam = read_list("name,wanted,tolerance\n" + rows, "parts.csv").items
    assert pinion.lead_mm == part(gear_module=2, teeth=23, helix_angle=15).lead_mm
    assert wheel.gear == part(gear_dp=12, teeth=40, helix_angle=20).gear
    assert (cam.work_lead_mm, cam.tilt_deg) == (Fraction("8.503"), 30)
    assert cam.interval_mm == part(lead="8.503 mm", tilt=30, tolerance="1%").interval_mm
