"""The JSON Schema of every answer: ``python tests/schemas.py`` writes ``gearsearch/schemas/`` anew, a test compares.

The keys of a train, a way of dividing and a chart come from the columns that write them; a key is explained once.
"""

from __future__ import annotations

import json
from pathlib import Path

import gearsearch as gs
from gearsearch.charts.looking import KEYS as LOOK
from gearsearch.dividing.answer import CUT_KEYS, STEP_KEYS, WAY_KEYS
from gearsearch.output.written import SCHEMA
from gearsearch.search.solutions import ON_THE_PART, PART_KEYS, SOLUTION
from gearsearch.shop.reader import read_shop

FOLDER = Path(gs.__file__).with_name("schemas")
LATHE = """\
name = "Millrace lathe"
units = "mm"
[machine]
kind = "lathe"
screw_lead = "6 mm"
dial = { teeth = 32, marks = 8 }
[[machine.route]]
name = "gearbox"
ratio = { A = "1", B = "1/2" }
hand_with_one_stud = "either"
[[gears]]
module = "1.5 mm"
pressure_angle = 20
teeth = [20, 24, 28, 30, 32, 36, 40, 127]
[[gears]]
module = "2 mm"
pressure_angle = 20
teeth = [20, 24, 28, 30, 32, 36, 40]
"""
JUDGED = ["yes", "rule", "unknown", "no", "not asked"]
PLAIN = {"text": "string", "number": "number", "whole": "integer", "truth": "boolean"}
UNITS = {"mm": "mm", "deg": "degrees", "ppm": "parts in a million", "minutes": "minutes of arc", "um": "µm"}
# what each key holds: its kind, ? where it may be null, [] a list of such, and what it means; by the name everywhere
KEYS = {
    "accuracy_class_passed": "whole?: best class of ISO 1328-1 that the helix slope passes",
    "advance_teeth": "whole?: teeth of the last gear from one division to the next",
    "against": "text: what speaks against the train, parted by semicolons; empty where nothing does",
    "alternative": "text?: an arrangement of the same gears that mounts, where the one typed does not",
    "angle_deg": "number: from the start",
    "around_mm": "number?: error at the circumference over the length of the cut",
    "asked": "text[]: what was asked, in lines",
    "axis_mm": "number: move along the axis",
    "backlash_mm": "number?: backlash of the screw",
    "below_screw_accuracy": "truth: whether the error is below the accuracy of the screw",
    "bracket_swing_deg": "number?: swing of the bracket",
    "built_up_minutes": "number: error built up over all divisions",
    "carriage_back_mm": "number?: how far the carriage goes back to a stop, the spindle at rest",
    "centre_distance_fixed": "truth: whether it is given and the helix angle follows",
    "centre_distance_mm": "number: distance of the two shafts",
    "chart": "text: the chart that was looked in, or every, list or grid",
    "chosen": "text: how the train was come by; empty where it was given",
    "circle": "whole?: holes of the index circle",
    "clearance_mm": "number?: tightest gap; null: not judged, or nothing near",
    "code": "text: stable name for programs",
    "command": "text: the command or the call that made it",
    "count": "whole: how many gears",
    "covered": "whole: leads inside tolerance",
    "cut": "text: which cut: its number, or the check at the end",
    "demo": "truth: whether the shop is the built-in demo shop",
    "dial": "text?: where on the chasing dial the half nuts may close",
    "dial_turns": "whole: full turns of a dial in degrees",
    "dial_deg": "number: what it reads then",
    "drift_mm": "number?: error along the axis over the length of the cut",
    "driven": "whole[]: tooth counts of the driven gears, in power order",
    "drivers": "whole[]: tooth counts of the drivers, in power order",
    "error_minutes": "number: error of one division",
    "error_mm": "number: lead minus wanted lead",
    "error_ppm": "number: error as a share of the wanted lead",
    "exact": "truth: whether it is exact",
    "exact_tilt_deg": "number?: tilt of the head at which the train is exact",
    "face_mm": "number?: common face width",
    "from_pivot_mm": "number: from the pivot",
    "gained": "text[]: names of the leads that come inside tolerance",
    "gears": "whole: gears that set the ratio, idlers not counted",
    "hand": "text?: right, left or either; null: not known",
    "hand_with_one_stud": "text?: the hand that is cut with one stud; null: not yet found",
    "head_between_mm": "number[]?: shortest and longest shaft distance at which the train mounts",
    "helix_angle_change_deg": "number?: change of the helix angle at the diameter",
    "helix_angle_deg": "number?: helix angle at the diameter, from the axis",
    "helix_angles_deg": "number[]: of both gears",
    "helix_slope_allowed_um": "number?: helix slope that the class allows",
    "helix_slope_um": "number?: helix slope over the face width",
    "high_mm": "number: longest lead that will do",
    "holes": "whole?: holes past the full turns",
    "idle": "whole?: unused partner of a joined piece on the stud",
    "idlers": "whole[]: tooth counts of the idlers, in power order",
    "in_smallest_set": "truth: whether the smallest set has it",
    "in_the_box": "truth: whether the gear is in the shop",
    "kind": "text: kind of tooth, or of machine",
    "last_gear": "whole?: tooth count of the gear by whose teeth the work is indexed",
    "lead": "text: name of the lead",
    "lead_mm": "number: lead, rounded to a float",
    "lead_of_machine_mm": "number: lead with gears 1:1",
    "least": "whole: no fewer gears can cover the same leads",
    "least_face_mm": "number: narrowest gear that can be measured so",
    "lever": "text?: position of the gearbox lever; null: there is none",
    "longest_allowed_mm": "number?: longest geared lead that will do; null: no tolerance, or no end",
    "longest_cut_mm": "number?: longest cut that stays inside the tolerance; null: no end to it",
    "longest_mm": "number?: longest lead in reach",
    "low_mm": "number: shortest lead that will do",
    "major_mm": "number: major diameter",
    "marks": "whole: marks of the dial",
    "meant": "whole: the gear that belongs there",
    "mismatch_minutes": "number: how far the helix angles differ",
    "mismatch_um": "number?: the same across the face",
    "module_mm": "number: normal module",
    "most_covered": "whole: no set of these gears brings more inside tolerance",
    "most_exact": "whole: no set of these gears gives more exactly",
    "mounting": "text: must or skip",
    "mounts": "judged: by the quadrant, by the rule of thumb alone, not judged, or not",
    "name": "text: its name",
    "normal_module_mm": "number: of both gears",
    "number": "whole: from 1",
    "off_minutes": "number: how far the place is off",
    "other_levers": "text[]: further positions of the gearbox lever that gear alike, for which this answer stands too",
    "outside_diameters_mm": "number[]: of both gears",
    "pairs": "whole[]: fewest and most pairs of a train",
    "pitch_diameter_mm": "number: pitch diameter",
    "pitch_diameters_mm": "number[]: of both gears",
    "pitch_mm": "number: pitch",
    "place": "text: where it goes",
    "plate_turns": "text?: turns of the plate for one turn of the work, exact",
    "plate_way": "text?: with the crank or against it",
    "pressure_angle_deg": "number: pressure angle",
    "proved": "truth: whether it is proved that nothing is better",
    "put_on": "whole: the wrong gear",
    "quadrant": "truth: whether the shop file has one",
    "rank": "whole: place among the answers, from 1",
    "ratio": "number: of the route",
    "route": "text: route of the shop file; any where each answer has its own",
    "route_cost": "text: what the route takes away; empty for nothing",
    "same_lead": "whole?: other gears with the same lead; null: not looked for",
    "screw_accuracy_ppm": "number?: accuracy of the screw",
    "screw_lead_mm": "number: travel for one turn of the screw",
    "screw_starts": "whole: threads side by side on the lead screw",
    "searched": "whole: trains that were considered, all there are",
    "second_back": "truth?: whether the second movement goes back",
    "second_circle": "whole?: circle of the second movement",
    "second_holes": "whole?: holes of the second movement",
    "second_total_holes": "whole?: the hole of the second circle that the back pin is in, counted from the start",
    "sector": "whole?: holes between the arms, both ends counted",
    "series": "text?: thread series",
    "shaft_angle_deg": "number: angle of the two shafts",
    "shaft_distance_mm": "number?: first to last shaft",
    "shafts": "text: parallel or crossed",
    "shared_error_ppm": "number: error that both leads share",
    "shared_minutes": "number: the same as an angle",
    "shop": "text: name of the shop",
    "shortest_allowed_mm": "number?: shortest geared lead that will do; null: no tolerance",
    "shortest_mm": "number?: shortest lead in reach",
    "slot": "whole?: slot the stud stands in, from 1; null: a plate",
    "source": "text?: where it was read",
    "space_deg": "number?: space before the cut; null where all are alike",
    "span_mm": "number: over so many teeth",
    "standard": "text?: the standard of the thread",
    "starts": "whole?: starts of the thread, where its name tells them",
    "step": "whole: from 1",
    "step_up": "number: turns of the last shaft for one of the first",
    "step_up_warning": "number?: from this step-up on the answer warns",
    "swing_deg": "number: from the line to the other shaft",
    "tag": "text: short name of the kind of tooth",
    "taper": "text?: of a tapered thread, exact",
    "teeth": "whole: tooth count",
    "text": "text: for people; may change",
    "title": "text: what the chart holds",
    "to_next_mm": "number: to the next shaft in power order",
    "to_previous_mm": "number: to the shaft before",
    "total_holes": "whole: holes past the full turns, from the start",
    "total_turns": "whole: full turns from the start",
    "train": "text?: driver/driven in power order, idlers in brackets",
    "trains": "whole: how many trains there are",
    "tried": "whole: gears, or pairs of gears, that were tried",
    "turn_deg": "number?: error as a turn of the work over the length of the cut",
    "turned_about_mm": "number: lead with drivers and driven swapped",
    "turns": "whole?: full turns of the crank",
    "units": "text: mm or in",
    "wanted_mm": "number: wanted lead",
    "way": "text: plain, combined, differential or teeth",
    "why": "text?: why it does not mount, or what is tightest",
    "within": "truth?: inside the tolerance; null: there is none",
    "words": "text: for people; may change",
    "worst_ppm": "number: largest error of the leads that it brings",
    "x_mm": "number: from the pivot, toward the other shaft",
    "y_mm": "number: from the pivot, square to that",
}


def told(name, said=None):
    """The schema of one key by its name: what it holds, and its unit."""
    if name not in KEYS and "_exact" in name:
        null = name in ("space_exact", "shortest_exact", "longest_exact", "mismatch_exact")
        return _nullable({"type": "string", "pattern": "^-?[0-9]+(/[0-9]+)?$", "description": "exact fraction"}, null)
    kind, about = (said or KEYS[name]).split(": ", 1)
    unit = UNITS.get(name.rsplit("_", 1)[-1])
    described = {"description": f"{about} [{unit}]" if unit else about}
    bare = kind.rstrip("?")
    null = bare != kind
    if bare.endswith("[]"):
        return _nullable({"type": "array", "items": {"type": PLAIN[bare[:-2]]}} | described, null)
    if bare == "judged":
        return {"enum": [*JUDGED, None]} | described
    return _nullable({"type": PLAIN[bare]} | described, null)


def _nullable(schema, null):
    return schema | {"type": [schema["type"], "null"]} if null else schema


def record(names, optional=(), **more):
    """An object with these keys, all always there but for the optional; more of them have schemas of their own."""
    properties = {name: more.pop(name, None) or told(name) for name in names} | more
    needed = [name for name in properties if name not in optional]
    return {"type": "object", "properties": properties, "required": needed}


def listed(items, about=""):
    """A list of such."""
    return {"type": "array", "items": items} | ({"description": about} if about else {})


def either(*schemas):
    """One of these, or null."""
    return {"anyOf": [*schemas, {"type": "null"}]}


NOTE = record(["code", "text"])
NOTES = listed(NOTE, "what else to know")
STUD = record(
    ["number", "from_pivot_mm", "swing_deg", "to_previous_mm", "to_next_mm", "x_mm", "y_mm", "slot", "idle"],
    gears=told("gears", "whole[]: tooth counts on the stud, driven before driver"),
)
ERRORS = record(PART_KEYS)
SOLVED = [column.name for column in SOLUTION if column.name and column.name != "studs"]
SOLVED_TRAIN = {"train": told("train", "text: driver/driven in power order, idlers in brackets"), "studs": listed(STUD)}
FIT = record(SOLVED, **SOLVED_TRAIN)
BESIDE = [column.name for column in ON_THE_PART if column.name and column.name != "on_the_part"]
THREAD = record(
    ["name", "pitch_mm", "pitch_exact", "starts", "hand", "major_mm", "taper", "series", "standard", "source"]
)
WANTED = record(
    ["lead_mm", "lead_exact"],
    words=told("words", "text[]: for people; may change"),
    thread=either(THREAD),
)
SHOP = ["shop", "demo", "route", "lever"]
CHECK = record(
    [
        *("shop", "demo", *SOLVED, "against", "drift_mm", "turn_deg", "around_mm", "helix_angle_deg"),
        *("exact_tilt_deg", "helix_angle_change_deg", "shortest_allowed_mm", "longest_allowed_mm", "longest_cut_mm"),
        *("helix_slope_um", "helix_slope_allowed_um", "accuracy_class_passed", "below_screw_accuracy"),
        *("turned_about_mm", "alternative"),
    ],
    **SOLVED_TRAIN,
    wanted=either(WANTED),
    travel_mm={"type": "object", "additionalProperties": {"type": "number"}, "description": "travel by turns [mm]"},
    slips=listed(record(["meant", "put_on", "place", "in_the_box", "lead_mm"]), "what a wrong gear would give"),
    other_routes=listed(
        record(["route", "lever", "route_cost", "lead_mm", "lead_exact", "error_ppm", "hand", "mounts"])
    ),
    notes=NOTES,
)
NAMES = {"items": {"type": "string"}, "type": "array"}
GEAR = record(["kind", "teeth"])
LEAD_FIT = record(["lead", *SOLVED], **SOLVED_TRAIN)
BOUND = record(["covered", "exact", "most_covered", "most_exact"], exact=told("exact", "whole: leads given exactly"))
COMMON = ["shop", "demo", "route", "lever", "hand", "pairs", "mounting"]
NEEDS = {"leads": listed(record(["name", "wanted_mm", "wanted_exact", "low_mm", "high_mm"]))}
GAIN = record(["gained", "worst_ppm", "worst_exact"], gears=listed(GEAR), exact=NAMES, fits=listed(LEAD_FIT))
COUNTED = {"exact": told("exact", "whole: leads given exactly")}
GAIN_OVER_ALL = record(
    ["worst_ppm", "worst_exact"],
    gears=listed(GEAR),
    gained=told("gained", "whole: leads newly inside tolerance, on all machines"),
    exact=told("exact", "whole: leads newly met exactly, on all machines"),
)
ADVICE = record(
    [*COMMON, "tried", "covered"],
    **NEEDS,
    **COUNTED,
    owned=listed(LEAD_FIT),
    gains=listed(GAIN),
    alone=either(GAIN),
    bound=BOUND,
    notes=NOTES,
)
DESIGN = record(
    [*COMMON, "covered", "proved"],
    **NEEDS,
    **COUNTED,
    gears=listed(GEAR),
    fits=listed(LEAD_FIT),
    bound=BOUND,
    notes=NOTES,
)
REACH = ["pairs", "trains", "shortest_mm", "shortest_exact", "longest_mm", "longest_exact"]
ONE_COUNT = {"pairs": told("pairs", "whole: pairs of a train")}
PAIR_FIT = record(
    [
        *("exact", "mismatch_exact", "mismatch_minutes", "mismatch_um", "shared_error_exact", "shared_error_ppm"),
        *("shared_minutes", "helix_angles_deg", "shaft_angle_deg", "pitch_diameters_mm", "outside_diameters_mm"),
        "centre_distance_mm",
    ],
    first=FIT,
    second=FIT,
)
TOOTHED = record(
    ["teeth", "hand", "helix_angle_deg", "pitch_diameter_mm", "lead_mm", "lead_exact"],
    spans=listed(record(["pressure_angle_deg", "teeth", "span_mm", "least_face_mm"])),
)
PLACED = {"shaft_distance_mm": told("shaft_distance_mm"), "bracket_swing_deg": told("bracket_swing_deg")}
WAY = record(WAY_KEYS, ("shaft_distance_mm", "bracket_swing_deg", "studs"), **PLACED, studs=listed(STUD))
WAYS = {"ways": listed(WAY), "steps": listed(record(STEP_KEYS)), "cuts": listed(record(CUT_KEYS))}
NEIGHBOUR = record(
    LOOK,
    hand=told("hand", "text: right or left; empty where the chart does not say"),
    route=told("route", "text?: where the chart has several"),
    clearance_mm=told("clearance_mm", "number?: as in the chart"),
)


WHEELS = {
    "description": "tooth count of the dial's wheel, or of each that may be put on",
    "anyOf": [{"type": "integer"}, {"type": "array", "items": {"type": "integer"}}],
}


def answers():
    """The schema of every answer, by the name of its kind."""
    looked = record(["chart", "wanted_mm"], leads=listed(NEIGHBOUR), notes=NOTES)
    return {
        "find": record(
            [*SHOP, "shortest_allowed_mm", "longest_allowed_mm", "searched"],
            wanted=WANTED | {"properties": WANTED["properties"] | {"hand": told("hand")}},
            fits=listed(record([*SOLVED, *BESIDE], **SOLVED_TRAIN, on_the_part=either(ERRORS)), "best first"),
            notes=NOTES,
        ),
        "check": CHECK,
        "sheet": CHECK
        | {
            "properties": CHECK["properties"] | {"chosen": told("chosen"), "stops": listed(NOTE)},
            "required": [*CHECK["required"], "chosen", "stops"],
        },
        "divide": record(["asked", "exact"], WAYS, **WAYS, notes=NOTES)
        | {"oneOf": [{"required": [name]} for name in WAYS]},
        "pair": record(
            [*SHOP, "searched"],
            pair=record(
                *[["normal_module_mm", "shafts", "shaft_angle_deg", "centre_distance_mm", "centre_distance_fixed"]],
                face_mm=told("face_mm"),
                gears=listed(TOOTHED),
            ),
            windows_mm=listed(listed({"type": "number"}), "shortest and longest lead that will do, of each gear [mm]"),
            fits=listed(PAIR_FIT),
            moved=listed(PAIR_FIT, "exact pairs with the helix angle moved"),
            notes=NOTES,
        ),
        "extend": ADVICE,
        "extend_shops": record(
            ["tried", "covered"],
            **COUNTED,
            shops=listed(ADVICE, "what is said to each: the same gears in the same order"),
            gains=listed(GAIN_OVER_ALL),
            alone=either(GAIN_OVER_ALL),
            notes=NOTES,
        ),
        "spare": record(
            [*COMMON, "least", "proved"],
            **NEEDS,
            covered=NAMES,
            never_needed=listed(GEAR),
            lost=listed(record(["kind", "teeth"], leads=NAMES)),
            smallest=listed(GEAR),
            fits=listed(LEAD_FIT),
            notes=NOTES,
        ),
        "design": DESIGN,
        "design_shops": record(
            ["covered", "proved"],
            **COUNTED,
            shops=listed(DESIGN, "what the set does on each"),
            gears=listed(GEAR),
            notes=NOTES,
        ),
        "shop": record(
            ["name", "demo", "source", "units", "quadrant"],
            machine=record(
                ["kind", "screw_lead_mm", "screw_lead_exact", "screw_accuracy_ppm", "backlash_mm"],
                dial=either(record(["marks", "screw_starts"], teeth=WHEELS)),
            ),
            gears=listed(
                record(
                    ["kind", "tag", "module_mm", "pressure_angle_deg", "count"],
                    teeth=told("teeth", "whole[]: tooth counts of the loose gears"),
                    joined=listed(listed({"type": "integer"}), "pieces of two gears"),
                    fixed={"type": "object", "additionalProperties": {"type": "integer"}},
                    only_on={"type": "object", "additionalProperties": NAMES},
                )
            ),
            routes=listed(
                record(
                    [
                        *("name", "lever", "ratio", "lead_of_machine_mm", "lead_of_machine_exact"),
                        *("hand_with_one_stud", "step_up_warning"),
                    ],
                    trains=listed(record(REACH, **ONE_COUNT)),
                )
            ),
            notes=NOTES,
            warnings=NOTES,
        ),
        "look": looked,
        "chart": record(["chart", "title", "command"], rows=listed(chart_row()), notes=NOTES),
    }


def charts():
    """Charts that have between them every column there is."""
    mill, lathe = gs.demo().chart, gs.Workshop(read_shop(LATHE, "lathe.toml")).chart
    yield mill.every(480, 490)
    yield mill.list("iso-54", route="spindle", fewest_changes=True, tolerance="0.5%")
    yield from (mill.grid([20], helix_angles=[45]), mill.grid([20], lead_angles=[45]))
    yield from (lathe.every(1, 2), lathe.list("iso-261", route="any", count=1))


def chart_row():
    """The rows of any chart, from the Arrow schemas that write them."""
    from gearsearch.charts.columns import SavedColumns

    found, everywhere = {}, None
    for chart in charts():
        fields = {field.name: field for field in SavedColumns(chart.chart, {}).schema()}
        everywhere = fields.keys() if everywhere is None else everywhere & fields.keys()
        found |= {name: _of_field(field) for name, field in fields.items()}
    return record([], found.keys() - everywhere, **found)


def _of_field(field):
    """The JSON Schema of an Arrow field."""
    import pyarrow.types as types

    kind, said = field.type, field.metadata
    tests = {"integer": types.is_integer, "number": types.is_floating, "boolean": types.is_boolean}
    unit = f" [{said[b'unit'].decode()}]" if b"unit" in said else ""
    about = {"description": said[b"about"].decode() + unit}

    def word(each):
        return next((name for name, is_one in tests.items() if is_one(each)), "string")

    if types.is_list(kind):
        return _nullable({"type": "array", "items": {"type": word(kind.value_type)}} | about, field.nullable)
    return _nullable({"type": word(kind)} | about, field.nullable)


def written(name, schema):
    """The file of one answer."""
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"what gearsearch {name} answers; keys may be added, and none changes while schema stays {SCHEMA}",
    }
    told = {"const": SCHEMA, "description": "number of this schema"}
    whole = schema | {
        "properties": {"schema": told} | schema["properties"],
        "required": ["schema", *schema["required"]],
    }
    return json.dumps(head | whole, indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    for kind, answer in answers().items():
        (FOLDER / f"{kind}.json").write_text(written(kind, answer), encoding="utf-8")
