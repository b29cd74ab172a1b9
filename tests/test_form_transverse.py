"""A helical gear by its transverse module, against the other ways to the same gear."""

import io
import json
from fractions import Fraction
from math import cos, pi, radians, tan

import pytest

from gearsearch.cli import main
from gearsearch.work.asking import part, part_of_text


@pytest.mark.parametrize(("module", "teeth", "beta"), [(2, 23, 15), (3, 7, 45), (Fraction(5, 4), 120, 8), (1, 1, 89)])
def test_lead_and_pitch_diameter_follow_from_the_transverse_module(module, teeth, beta):
    made = part(gear_transverse_module=module, teeth=teeth, helix_angle=beta)
    assert float(made.lead_mm) == pytest.approx(pi * module * teeth / tan(radians(beta)), rel=1e-14)
    assert abs(made.diameter_mm / (module * teeth) - 1) < Fraction(1, 10**14)
    normal = part(gear_module=Fraction(module * cos(radians(beta))), teeth=teeth, helix_angle=beta)
    assert abs(normal.lead_mm / made.lead_mm - 1) < Fraction(1, 10**14)
    assert abs(made.helix_angle_deg - beta) < Fraction(1, 10**10)
    assert made.divisions == teeth


def test_options_and_lists_take_it():
    gear = ["--gear-transverse-module", "2", "--teeth", "23", "--helix-angle", "15"]
    out = io.StringIO()
    assert main(["find", *gear, "--hand", "right", "--format", "json"], out) == 0
    wanted = json.loads(out.getvalue())["wanted"]
    made = part_of_text("gear transverse module 2 z 23 helix 15deg")
    assert Fraction(wanted["lead_exact"]) == made.lead_mm
    assert "transverse module 2 mm" in wanted["words"][0]
