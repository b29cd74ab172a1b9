"""What programs get is what the schemas in the package say, key for key: of every answer, and of every example."""

import json
import re
import shlex

import jsonschema
import pytest
import readme
import reference
import schemas
from commands import run
from examples import SLOW, prepare

import gearsearch as gs
from gearsearch.shop.reader import read_shop

SHOP, LATHE = gs.demo(), gs.Workshop(read_shop(schemas.LATHE, "lathe.toml"))
KINDS = sorted(path.stem for path in schemas.FOLDER.glob("*.json"))
PRINTS_JSON = re.compile(r"gearsearch (find|check|divide|pair|extend|shop show|chart look)\b")
EXAMPLES = {line for parser in reference.parsers() for line in reference.examples(parser)} - {reference.ANY}
SHOWN = {
    line.removeprefix("$ ").strip()
    for path in readme.PAGES.values()
    for match in readme.BLOCK.finditer(path.read_text(encoding="utf-8"))
    for line in [match["inline"] or match["body"].partition("\n")[0]]
}
LINES = sorted(
    line for line in EXAMPLES | SHOWN if PRINTS_JSON.match(line) and not re.search("--out|--help|csv|tables/", line)
)


def strict(schema):
    """The same with no other keys than it names."""
    if isinstance(schema, list):
        return [strict(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    closed = {name: strict(value) for name, value in schema.items()}
    return {"additionalProperties": False} | closed if schema.get("type") == "object" else closed


STRICT = {kind: jsonschema.Draft202012Validator(strict(gs.schema(kind))) for kind in KINDS}


def plain(value):
    """Every value in a record."""
    if type(value) in (dict, list, tuple):
        return [each for part in (value.values() if isinstance(value, dict) else value) for each in plain(part)]
    return [value]


def check(kind, record):
    STRICT[kind].validate(json.loads(json.dumps(record)))


def test_the_schemas_are_what_the_columns_make():
    """``python tests/schemas.py`` writes them anew when they are meant to change."""
    made = schemas.answers()
    assert sorted(made) == KINDS
    for kind in KINDS:
        assert (schemas.FOLDER / f"{kind}.json").read_text(encoding="utf-8") == schemas.written(kind, made[kind])
        jsonschema.Draft202012Validator.check_schema(gs.schema(kind))


ANSWERS = {
    "find": lambda: SHOP.find("412.5 mm", length=60, tolerance="0.02 mm over 60 mm"),
    "find thread": lambda: LATHE.find("M12 LH", route="any", mounting="show"),
    "find cam": lambda: SHOP.find(gs.lead("40 mm", tilt=30), count=2),
    "find nothing": lambda: SHOP.find(10**7),
    "check": lambda: SHOP.check("80/44 48/100"),
    "check route": lambda: LATHE.check("40/(32)/30@m1.5", "8 mm", route="gearbox", length=30),
    "check no": lambda: SHOP.check("100/24 32/48", gs.gear_module(2, teeth=23, helix_angle=15), length=20, accuracy=7),
    "sheet": lambda: SHOP.sheet("450 mm", length=60, hand="left"),
    "divide": lambda: SHOP.divide(127),
    "divide plain": lambda: SHOP.divide(42),
    "divide steps": lambda: SHOP.divide.steps(5, step_angle=7, step_rise=1),
    "divide cuts": lambda: SHOP.divide(8, unequal=2),
    "divide starts": lambda: SHOP.divide.starts(3, route="spindle", train="72/24"),
    "pair": lambda: SHOP.pair((20, 44), gear_module=2, helix_angle=20, face=25, count=2, helix_within="0.2"),
    "pair crossed": lambda: SHOP.pair(
        (24, 24), gear_module=1.5, helix_angle=(45, 45), shafts="crossed", hand="right", mate_hand="right", count=1
    ),
    "extend": lambda: SHOP.extend(["333 mm", "777 mm"], tolerance="20 ppm", sizes=range(20, 41), count=2),
    "spare": lambda: SHOP.extend.spare(["412.5 mm", "333 mm"]),
    "design": lambda: SHOP.extend.design(["412.5 mm"], 6, sizes=[20, 24, 40, 44, 48, 80, 100], tolerance="0.1%"),
    "extend_shops": lambda: SHOP.extend.also(LATHE)(["333 mm", "12 mm"], add=2, kind="m1.5", sizes=[21, 37], pairs=1),
    "design_shops": lambda: SHOP.extend.also(LATHE).design(
        ["412.5 mm"], 2, sizes=[20, 24], kind="m1.5", tolerance="9%"
    ),
    "shop": lambda: SHOP.show(),
    "shop lathe": lambda: LATHE.show(),
    "chart": lambda: SHOP.chart.every(480, 482),
    "chart list": lambda: LATHE.chart.list("iso-261", route="any", fewest_changes=True, tolerance="1%"),
    "chart grid": lambda: SHOP.chart.grid([20], lead_angles=[45]),
}


@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer_has_just_the_keys_of_its_schema(name):
    record = ANSWERS[name]().to_dict()
    assert record["schema"] == 1
    assert {type(value) for value in plain(record)} <= {int, float, str, bool, type(None)}
    check(name.split()[0], record)


@pytest.mark.parametrize(
    "line", [pytest.param(line, marks=[pytest.mark.slow] * any(s in line for s in SLOW)) for line in LINES]
)
def test_the_json_of_an_example_is_what_its_schema_says(line, capsys):
    words = [word for word in shlex.split(line.split(" > ")[0])[1:] if word != "--full"]
    prepare(words)
    kind = "look" if words[0] == "chart" else words[0]
    kind = "spare" if "--spare" in words else "design" if "--design" in words else kind
    kind += "_shops" * (words.count("--shop") > 1)
    capsys.readouterr()
    record = json.loads(run(*words, *([] if "--format" in words else ["--format", "json"]))[1])
    if kind == "look":  # the command gives its rows alone
        assert all(row.pop("schema") == 1 for row in record)
        record = {"schema": 1, "chart": "", "wanted_mm": 1, "leads": record, "notes": []}
    check(kind, record)


def test_a_schema_is_had_by_its_name_and_a_slip_is_told():
    assert gs.schema("find")["properties"]["schema"]["const"] == 1
    with pytest.raises(gs.GearsearchError, match="find"):
        gs.schema("fnd")
