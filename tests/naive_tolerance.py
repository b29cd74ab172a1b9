"""What an error does to the part and whether it matters, the slow obvious way: by counting turns, with mpmath."""

from fractions import Fraction

import mpmath

DIGITS = 40


def _many_digits(value):
    """A fraction as mpmath's number."""
    return mpmath.mpf(value.numerator) / value.denominator


def _fraction(value):
    """The fraction that mpmath's number is."""
    sign, mantissa, exponent, _ = value._mpf_
    return (-1) ** sign * Fraction(int(mantissa)) * Fraction(2) ** int(exponent)


def off_along(wanted, lead, length):
    """How far the cut ends beyond where it should, along the axis, after the turns that the length wants."""
    turns = length / wanted
    return turns * lead - length


def off_in_degrees(wanted, lead, length):
    """How much farther the work has turned when the cutter has gone the length."""
    return length / lead * 360 - length / wanted * 360


def off_around(wanted, lead, length, diameter):
    """The same along the circumference, to forty digits."""
    with mpmath.workdps(DIGITS):
        turns = length / lead - length / wanted
        return _fraction(mpmath.pi * _many_digits(diameter) * _many_digits(turns))


def helix(lead, diameter):
    """Helix angle from the axis in degrees, to forty digits."""
    with mpmath.workdps(DIGITS):
        slope = mpmath.pi * _many_digits(diameter) / _many_digits(lead)
        return _fraction(mpmath.degrees(mpmath.atan(slope)))


def off_in_helix(wanted, lead, diameter):
    """How much larger the helix angle is, to forty digits."""
    return helix(lead, diameter) - helix(wanted, diameter)


def measured(form, over, wanted, lead, diameter):
    """What a tolerance of that form measures of a lead; zero for the wanted one."""
    if form == "lead":
        return lead - wanted
    if form in ("share", "per_foot"):
        return (lead - wanted) / wanted
    if form == "drift":
        return off_along(wanted, lead, over)
    if form == "turn":
        return off_in_degrees(wanted, lead, over)
    if form == "around":
        return off_around(wanted, lead, over, diameter)
    if form == "helix":
        return off_in_helix(wanted, lead, diameter)
    raise KeyError(form)


def room(tolerance, wanted, lead, diameter):
    """How much of a tolerance is left, as a share of its width; below zero the lead is outside."""
    off = measured(tolerance.form, tolerance.over_mm, wanted, lead, diameter)
    return min(tolerance.more - off, off + tolerance.less) / (tolerance.less + tolerance.more)


def slope_um(wanted, lead, face, diameter):
    """How far the tooth ends aside along the pitch circle after the face [µm]."""
    return -1000 * off_around(wanted, lead, face, diameter)


def lead_of(kind, machine_mm, drivers, driven):
    """Lead of a train: a pair at a time, from the lead of the machine."""
    lead = machine_mm
    for first, second in zip(drivers, driven, strict=True):
        lead = lead * second / first if kind == "mill" else lead * first / second
    return lead


def slips(kind, machine_mm, drivers, driven, owned):
    """Every single wrong gear: a tooth fewer or more, or what lies next in the box, with the lead it gives.

    Returns rows (side, meant, put on, whether it is left in the box, lead) in power order, ascending.
    """
    left = list(owned)
    for teeth in (*drivers, *driven):
        left.remove(teeth)
    rows = []
    for number in range(len(drivers)):
        for side, gears in (("driver", drivers), ("driven", driven)):
            meant = gears[number]
            wrong = {meant - 1, meant + 1} - {0}
            wrong |= set(sorted({t for t in left if t < meant})[-1:])
            wrong |= set(sorted({t for t in left if t > meant})[:1])
            for teeth in sorted(wrong):
                other = [*gears[:number], teeth, *gears[number + 1 :]]
                both = (other, driven) if side == "driver" else (drivers, other)
                rows.append((side, meant, teeth, teeth in left, lead_of(kind, machine_mm, *both)))
    return rows
