"""Indexing again, slow and obvious: every circle and every hole is tried. Shares no code with the package."""

from fractions import Fraction


def exact(circles, turns):
    """Every (turns, holes, circle) on one circle that is exactly so many crank turns."""
    if turns == int(turns):
        return [(int(turns), 0, 0)]
    return [
        (whole, holes, circle)
        for circle in circles
        for whole in [int(turns)]
        for holes in range(1, circle)
        if whole + Fraction(holes, circle) == turns
    ]


def least_error(circles, turns):
    """The least error in crank turns that any whole number of holes of any circle gives, at least one hole."""
    return min(
        abs(Fraction(holes, circle) - turns) for circle in circles for holes in range(1, int((turns + 2) * circle) + 1)
    )


def least_combined_error(sides, turns):
    """The least error in crank turns of two movements on two circles of one side, the second on or back."""
    return min(
        abs(Fraction(m, a) + sign * Fraction(n, b) - turns)
        for side in sides
        for a in side
        for b in side
        if a != b
        for n in range(1, b)
        for m in range(1, int((turns + 2) * a) + 1)
        if m % a
        for sign in (1, -1)
    )
