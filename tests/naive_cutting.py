"""The cut again in plain three dimensions: points of cutters and helices, nothing folded. Shares no code.

The work's axis is x, to the right; y points to the column, away from the operator; z is up. The cutter is above.
"""

import numpy as np


def helix(hand, lead, radius, along, phase=0.0):
    """Points of a helix of a hand: looking along +x, a right-hand one turns clockwise as x grows."""
    x = np.asarray(along, float)
    turned = 2 * np.pi * x / lead
    # looking along +x with z up, the right is -y: clockwise moves the top toward -y
    side = -1 if hand == "right" else 1
    angle = turned + phase
    return np.stack([x, side * radius * np.sin(angle), radius * np.cos(angle)], axis=1)


def swing_that_lines_the_groove_up(hand, lead, radius):
    """Degrees by which the work turns about z, anticlockwise from above, to lay the groove at its top along x."""
    near = helix(hand, lead, radius, [-1e-6, 1e-6])
    direction = near[1] - near[0]
    return -np.degrees(np.arctan2(direction[1], direction[0]))


def dish(lead, inner, outer, cutter_radius, toward_low):
    """Spread of the height of a ramp across its wall, from every position of the turning cutter.

    The ramp rises as the turn grows; the cutter's centre stands off by so much the other way, toward the low side.
    """
    turn = np.linspace(-0.6, 0.6, 48001)
    heights = []
    for radius in np.linspace(inner, outer, 61):
        across = radius * np.sin(-turn) + toward_low
        inside = cutter_radius**2 - across**2
        with np.errstate(invalid="ignore"):
            low = np.where(inside >= 0, lead * turn / (2 * np.pi) - np.sqrt(inside), np.inf)
        heights.append(low.min())
    return max(heights) - min(heights)


def low_side_seen_at_the_end(hand):
    """Right or left, looking at the right-hand end face of the work from outside: where the ramp at the top is low."""
    points = helix(hand, 100.0, 20.0, [-1.0, 1.0])
    low = points[0] if points[0][0] < points[1][0] else points[1]  # the ramp faces +x: low is small x
    return "right" if low[1] > 0 else "left"  # looking along -x with z up, the right is +y


def dish_in_space(hand, flank, lead, inner, outer, cutter_radius, toward_column):
    """Spread of the cut surface over the wall, with the cutter's axis so far from the work's, toward the column.

    The work moves along x and turns as its hand asks: a right-hand one clockwise, looking along +x, as it moves
    along +x. The cutter is an upright round that stays where it is. The end of the work is at the right; the flank
    ``end`` faces it, ``inner`` faces away.
    """
    travel = np.linspace(-0.1, 0.1, 40001) * lead
    side = -1 if hand == "right" else 1  # clockwise along +x takes the top toward -y
    heights = []
    for radius in np.linspace(inner, outer, 41):
        y = side * radius * np.sin(2 * np.pi * travel / lead) - toward_column
        inside = y**2 <= cutter_radius**2
        reach = np.sqrt(cutter_radius**2 - y[inside] ** 2)
        # a point at x on the work stands at x + travel; it is cut where that is within reach of the cutter's axis
        cut = -travel[inside] - reach if flank == "end" else -travel[inside] + reach
        heights.append(cut.min() if flank == "end" else cut.max())
    return max(heights) - min(heights)


def closed_form_dish(lead, inner, outer, cutter_radius, toward_low):
    """The estimate r / cos λ − y tan λ: at each radius the tangent to the ramp there, taken for the ramp itself."""
    slope = np.arctan(lead / (2 * np.pi * np.linspace(inner, outer, 2001)))
    height = cutter_radius / np.cos(slope) - toward_low * np.tan(slope)
    return height.max() - height.min()


def room_past_the_end(diameter, cutter, depth, swing, width):
    """How far along the work's axis a flat disc cutter, standing over its middle, still reaches into a round bar.

    Every point of the cutter's rim, over its whole width, that lies inside the bar; the cutter's axis is level, and
    its plane is turned by the swing (degrees) out of the work's axis.
    """
    radius, angle = diameter / 2, np.radians(swing)
    along, across = np.meshgrid(np.linspace(-cutter / 2, cutter / 2, 4001), np.linspace(-width / 2, width / 2, 81))
    height = radius - depth + cutter / 2 - np.sqrt(np.maximum((cutter / 2) ** 2 - along**2, 0))
    x = along * np.cos(angle) - across * np.sin(angle)
    y = along * np.sin(angle) + across * np.cos(angle)
    return x[np.maximum(height, 0) ** 2 + y**2 <= radius**2].max()


def cutter_length_for_a_cam(thickness, geared, tilt, turns):
    """The stretch of the cutter that meets the work while a cam of some thickness is cut over so many turns.

    Work and cutter lie parallel in the plane of x (the table) and z, tilted from x by so many degrees; the cutter
    stays where it is, the table carries the work along x by the geared lead a turn.
    """
    axis = np.array([np.cos(np.radians(tilt)), 0, np.sin(np.radians(tilt))])
    through = np.linspace(0, thickness, 51)[:, None] * axis
    reached = [(through + np.array([geared * turn, 0, 0])) @ axis for turn in np.linspace(0, turns, 201)]
    return np.max(reached) - np.min(reached)
