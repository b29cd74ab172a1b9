"""The two pages that tell a machinist how to measure a quadrant: the eight measures, and a bracket with other slots."""

from __future__ import annotations

SNIPPET = """\
[quadrant]
shaft_distance = "150 mm"           # 1  ["140 mm", "170 mm"] if the head moves
pivot      = "first"                # 2  "first" or "last"
layout     = "slot"                 # 3  "slot" or "plate"
studs      = 2                      # 3
reach      = ["40 mm", "190 mm"]    # 4  nearest, farthest
swing      = [-75, 75]              # 5  degrees, one way and the other
nut_radius = { first = "12 mm", last = "12 mm", stud = "10 mm" }    # 6
planes     = 2                      # 7  2 or 3
largest    = { first = "195 mm", last = "195 mm" }  # 8  or leave it out
clearance  = "0.5 mm"               # the least gap you want; not measured
"""

_SKETCH = r"""
                       stud                stud
        ________________________________________
     .-'               |                   |    '.
   .-+-.       ========O===================O==    )  the slot points
  (  1  )-.____________|___________________|___.-'   at the pivot
   '-+-'               |                   |                   swing +
     |                 |                   |            .-+-.
     |- - - - - - - - -|- - - - - - - - - -|- - - - - -(  2  ) swing 0
     |                 |                   |            '-+-'
     |<----nearest---->|                   |              |    swing -
     |<-------------farthest-------------->|              |
     |<------------------shaft distance------------------>|

  1  first shaft: the end of the table screw (lathe: the spindle side)
  2  last shaft: the head's worm shaft or spindle (lathe: the lead screw)
  Here the quadrant swings round the first shaft (pivot = "first"); swing 0 is
  along the line through both shafts.
"""

SLOT_SNIPPET = """\
[[quadrant.slot]]
from  = ["40 mm", "0 mm"]       # x, y of a stud's centre at one end
to    = ["190 mm", "0 mm"]      # and at the other
studs = 2

[[quadrant.slot]]               # a curved one
from   = ["60 mm", "25 mm"]
to     = ["10 mm", "75 mm"]
centre = ["0 mm", "15 mm"]      # of its circle
studs  = 1
"""

_SLOTS = r"""
              to (10, 75)
        y         O.
        ^            '.
        |              '.     curved: counter-clockwise from "from" to "to"
        |                \
        |                 O  from (60, 25)
        + centre (0, 15)
        |
      .-+-.          from                            to
     ( pivot )- - - - O==============================O - - -> x
      '-+-'         (40, 0)                       (190, 0)
"""

_PAGE = """\
Measuring the quadrant

Eight measurements, half an hour, once for each machine. Isolate the machine
first. You need a steel rule, calipers and a protractor. Measure the shaft
distance as exactly as you can; half a millimetre will do for the rest.
{sketch}
1  shaft_distance: Calipers over the outsides of the two shafts, at their ends;
   take off half of each shaft's diameter. Set the head where you always set it.
   If you move it to suit the gears, measure at the nearest and at the farthest
   place.
2  pivot: No tool. Loosen the quadrant's clamp: round which shaft does it turn?
3  layout, studs: No tool. All studs in one straight slot that points at the
   pivot: "slot". A stud can stand anywhere in reach: "plate". Several slots, a
   curved one, or one that doesn't point at the pivot: next page; then leave
   layout, studs and reach out. Then count the studs that go on at once: 1 to 3
   in a slot, 1 or 2 on a plate.
4  reach: Rule. Push a stud as near to the pivot as it goes; measure from the
   centre of the pivot shaft to the centre of the stud. Then as far away as it
   goes.
5  swing: Protractor. Lay a straight edge through both shafts: that is 0
   degrees. Swing the slot as far as it goes one way and read its angle to the
   straight edge; write it with a minus sign. Then the other way, without a
   sign. Whatever stops it counts: a casting, the table, the end of the clamping
   slot.
6  nut_radius: Calipers. Across the corners of the nut, or across the collar or
   washer if that is wider: on the first shaft, the last shaft and a stud. Write
   half of each.
7  planes: Rule. Length of the stud's bush divided by the width of a gear: how
   many stand side by side? Usually 2. Write 3 only where every shaft and stud
   takes three.
8  largest: Rule. From the centre of each shaft to the nearest cover, casting or
   table edge that a gear on it would hit: write twice that, the greatest
   outside diameter. Leave the line out if nothing is in the way. If a shaft is
   so thick that small gears don't go on, add: smallest = {{ first = 24 }} (24
   teeth)

A casting among the gears is entered as a circle, its centre measured from the
pivot: first toward the other shaft, then square to that line, with a minus on
the side of swing -:
    obstacles = [{{ at = ["80 mm", "-20 mm"], radius = "15 mm" }}]

To prove your measurements, run gearsearch check on a train that you know fits.
If it says that the train doesn't mount, the reason names the measurement to
take again.

Put this into your shop file, with your own figures, in place of the [quadrant]
table there:

{snippet}"""

_OTHER_SLOTS = """\
Measuring a bracket with other slots

Take it off and lay it flat on the bench, the side up that you look at when it
is on the machine. Measure from the centre of the pivot's bore: x along the main
slot, y square to it, with a minus on the other side. For each slot put a stud
at one end, measure to its centre, then at the other end. Swing 0 is where the x
line lies along the line through both shafts.
{slots}
For a curved slot give the centre of its circle too, and the ends so that it
goes counter-clockwise from "from" to "to". To find the centre, put three studs
in the slot, at both ends and between, and find with dividers the point that is
equally far from all three. Write a table for each slot, after the other lines
of [quadrant]; studs is how many go into that slot at once, 3 in all slots
together at most:

{slot_snippet}
gearsearch shop show --picture bracket.svg draws it back to scale: lay the
bracket on the drawing.
"""


PAGE = _PAGE.format(sketch=_SKETCH, snippet=SNIPPET)
SLOTS_PAGE = _OTHER_SLOTS.format(slots=_SLOTS, slot_snippet=SLOT_SNIPPET)
