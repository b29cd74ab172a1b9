"""Shops made up for tests by hand."""

from fractions import Fraction

from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.shop import Shop
from gearsearch.work.tolerance import Tolerance

CLASSIC_TEETH = (24, 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100)
DEMO_TEETH = (20, 24, 24, 28, 30, 32, 36, 40, 44, 48, 52, 56, 60, 64, 72, 80, 86, 100, 127)


def allowed(wanted_mm, ends_mm):
    """The tolerance that lets a wanted lead be anything between two ends, which hold it."""
    low, high = ends_mm
    return Tolerance("share", 1 - Fraction(low, 1) / wanted_mm, Fraction(high, 1) / wanted_mm - 1)


def mill(teeth, screw_mm=Fraction(6), ratio=Fraction(60), hand="right", **more):
    """A mill with one kind of tooth and one route."""
    gears = (GearSet(Kind(Fraction(3, 2)), tuple(sorted(teeth))),)
    return Shop("Test shop", "mm", Mill(screw_mm, (Route("worm", ratio, hand),)), gears, **more)


def classic():
    """The gears furnished with the classic head, and its 10 in lead of the machine (Brown & Sharpe 1914, p. 55)."""
    return mill(CLASSIC_TEETH, Fraction(127, 20), Fraction(40))


# a lathe with an inch screw and a threading dial
DIAL_LATHE = """\
name = "Millrace lathe"
units = "in"
[machine]
kind = "lathe"
screw_lead = "8 tpi"
[machine.dial]
teeth = 32
marks = 8
[[machine.route]]
name = "spindle"
ratio = 1
hand_with_one_stud = "right"
[[gears]]
diametral_pitch = 20
teeth = [20, 24, 28, 32, 36, 40, 44, 48, 52, 56, 60, 65, 70, 80, 127]
"""
