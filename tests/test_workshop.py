"""The front door: one method for each command, every answer in every form, refusals in Python's spelling."""

import doctest
import importlib
import inspect
import json
import re
import subprocess
import sys
from fractions import Fraction

import pandas as pd
import pytest
from commands import run

import gearsearch as gs
from gearsearch.base.errors import GearsearchError
from gearsearch.base.spelling import in_python
from gearsearch.work.form import FORMS
from gearsearch.work.forms.lead import Lead

SHOP = gs.demo()
ASKED = {
    "find": (lambda: SHOP.find("412.5 mm", hand="right", count=5), "find --lead 412.5mm --hand right --count 5"),
    "thread": (
        lambda: SHOP.find("13 tpi", pairs=(2, 2), route="spindle", count=2),
        'find --thread "13 tpi" --pairs 2-2 --route spindle --count 2',
    ),
    "check": (
        lambda: SHOP.check("80/44 48/100", "412.5 mm", length="60 mm"),
        'check "80/44 48/100" --lead 412.5mm --length 60mm',
    ),
    "blank": (lambda: SHOP.check("80/44 48/100", diameter=50), 'check "80/44 48/100" --diameter 50'),
    "divide": (lambda: SHOP.divide(127), "divide 127"),
    "angle": (lambda: SHOP.divide.angle(17.5, repeats=5), "divide --angle 17.5 --repeats 5"),
    "cuts": (lambda: SHOP.divide(7, table=True), "divide 7 --table"),
    "reamer": (lambda: SHOP.divide(8, unequal=2, unpaired=True), "divide 8 --unequal 2 --unpaired"),
    "places": (lambda: SHOP.divide.angle("7°", repeats=3, table=True), "divide --angle 7d --repeats 3 --table"),
    "starts": (lambda: SHOP.divide.starts(3, route="worm"), "divide --starts 3 --route worm"),
    "steps": (
        lambda: SHOP.divide.steps(12, step_angle=5.8, step_rise="1.37 mm"),
        "divide --steps 12 --step-angle 5.8 --step-rise 1.37mm",
    ),
    "pair": (
        lambda: SHOP.pair((20, 44), gear_module=2, helix_angle=20, face="25 mm", count=2),
        "pair --gear-module 2 --teeth 20,44 --helix-angle 20 --face 25mm --count 2",
    ),
    "extend": (
        lambda: SHOP.extend(["333 mm", "777 mm"], tolerance="20 ppm", sizes=range(20, 41), count=2),
        "extend --lead '333 mm' --lead '777 mm' --tolerance '20 ppm' --sizes 20:40 --count 2",
    ),
    "spare": (lambda: SHOP.extend.spare(["412.5 mm"]), "extend --lead '412.5 mm' --spare"),
    "design": (
        lambda: SHOP.extend.design(["480 mm", "540 mm"], 4, sizes=range(24, 61, 4), pairs=1),
        "extend --lead '480 mm' --lead '540 mm' --design 4 --sizes 24,28,32,36,40,44,48,52,56,60 --pairs 1",
    ),
    "show": (lambda: SHOP.show(), "shop show"),
}
SHEETS = {
    "lead": (
        lambda: SHOP.sheet("412.5 mm", hand="right", length="60 mm", greatest_pair_ratio=2, depth=3, disc_cutter=60),
        "sheet --lead 412.5mm --hand right --length 60mm --greatest-pair-ratio 2 --depth 3 --disc-cutter 60",
    ),
    "train": (
        lambda: SHOP.sheet(train="80/44 48/100", diameter=50, date="1 May"),
        "sheet '80/44 48/100' --diameter 50 --date '1 May'",
    ),
}


def typed(line, *more):
    import shlex

    return run(*shlex.split(line), *more)[1]


@pytest.mark.parametrize("name", ASKED)
def test_an_answer_is_what_the_command_gives_in_every_form(name):
    ask, line = ASKED[name]
    answer = ask()
    assert str(answer) + "\n" == typed(line)
    assert json.loads(json.dumps(answer.to_dict())) == json.loads(typed(line, "--format", "json"))
    frame = answer.to_frame()
    cells = typed(line, "--format", "csv").splitlines()
    assert len(frame) == len(list(answer.rows())) <= len(cells) - 1
    assert set(frame.columns) <= set(cells[0].split(","))
    assert answer.to_markdown()
    assert "<h3>" in answer._repr_html_()


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_is_what_the_command_prints(name):
    ask, line = SHEETS[name]
    assert str(ask()) + "\n" == typed(line)


def test_a_lead_looked_up_is_what_the_command_gives():
    SHOP.chart.every("480 mm", "490 mm", hand="right").save("leads.parquet")
    found = SHOP.chart.look("leads.parquet", "485 mm", count=2)
    line = "chart look leads.parquet --lead 485mm --count 2"
    assert str(found) + "\n" == typed(line)
    rows = [
        {name: value for name, value in row.items() if name != "schema"}
        for row in json.loads(typed(line, "--format", "json"))
    ]
    assert found.to_dict()["leads"] == rows
    assert list(found.to_frame().columns) == [name for name in found.keys if name != "lead_exact"]
    assert "<table" in found._repr_html_()


def test_all_details_are_there_for_the_asking():
    answer = SHOP.check("80/44 48/100")
    assert answer.to_text(full=True) + "\n" == typed('check "80/44 48/100" --full')
    assert len(answer.to_text(full=True)) > len(str(answer))


def test_exact_values_are_columns_that_are_asked_for():
    answer = SHOP.find("412.5 mm", hand="right", count=2)
    assert "lead_exact" not in answer.to_frame()
    frame = answer.to_frame(exact=True)
    assert frame["lead_exact"][0] == Fraction(825, 2)
    assert [*frame["lead_exact"]] == [fit.lead_mm for fit in answer.fits]
    assert "made_exact" in SHOP.extend(["333 mm"], sizes=[37], tolerance="20 ppm").to_frame()


WAYS = ["412.5 mm", "412.5", 412.5, Fraction(825, 2), gs.lead("412.5 mm"), gs.lead(412.5).part()]


@pytest.mark.parametrize("wanted", WAYS, ids=repr)
def test_a_lead_may_be_given_in_any_way(wanted):
    assert SHOP.find(wanted, count=1).fits == SHOP.find("412.5 mm", count=1).fits


def test_a_number_is_in_the_unit_of_the_shop(tmp_path):
    from gearsearch.shop.reader import DEMO_TEXT

    file = tmp_path / "shop.toml"
    file.write_text(DEMO_TEXT.replace('units = "mm"', 'units = "in"', 1).replace('units   = "mm"', 'units = "in"', 1))
    shop = gs.open_shop(file)
    assert shop.units == "in"
    assert shop.find(16, count=1).part.lead_mm == Fraction(2032, 5)
    angled = gs.helix_angle(20, diameter=2)
    assert shop.find(angled, count=1).part.diameter_mm == Fraction(254, 5)


def test_every_form_of_wanted_lead_has_its_function():
    assert Lead.name in FORMS
    for name, form in FORMS.items():
        function = getattr(gs, name)
        first, *others = inspect.signature(function).parameters
        extra = {"tilt"} if form.may_be_cam else set()
        assert set(others) == (form.takes - {name}) | extra, name
        assert first
        made = function(*["20"], **dict.fromkeys(others, "20"))
        assert made.values[name] == "20"


def _again(save):
    """Write a file twice."""
    save("twice.md")
    save("twice.md")


REFUSED = {
    "hand": (lambda: SHOP.find(400, hand="rigth"), "right, left or either"),
    "lead": (lambda: SHOP.find(gs.lead(10, tilt=95)), ""),
    "angle": (lambda: SHOP.find(gs.Wanted({"helix_angle": "20"})), 'diameter="50mm"'),
    "pair": (lambda: SHOP.pair((20, 44), helix_angle=20), "gear_module=2"),
    "distance": (lambda: SHOP.pair((20, 44), gear_module=2), 'centre_distance="2.75in"'),
    "ramp": (lambda: SHOP.divide.steps(12, step_rise="1 mm"), "step_angle"),
    "one gear": (lambda: SHOP.pair(20, gear_module=2, helix_angle=20), "(1, 2)"),
    "one of two": (lambda: SHOP.pair((20,), gear_module=2, helix_angle=20), "(1, 2)"),
    "three angles": (lambda: SHOP.pair((20, 44), gear_module=2, helix_angle=(20, 20, 20)), "(1, 2)"),
    "one wall": (lambda: SHOP.sheet(400, wall=("20 mm",), end_mill=5), "(1, 2)"),
    "date": (lambda: SHOP.sheet(400, date=5), "5 (int)"),
    "date of a chart": (lambda: SHOP.chart.every("480 mm", "481 mm").save("a.md", date=5), "5 (int)"),
    "teeth": (lambda: SHOP.find(400, without=40), "[40]"),
    "gear": (lambda: SHOP.find(400, without=[41]), "41"),
    "sheet": (lambda: SHOP.sheet(), "sheet('412.5 mm')"),
    "grid": (lambda: SHOP.chart.grid([20]), "helix_angles"),
    "part": (lambda: SHOP.find(gs.lead(400).part(), length=20), "length"),
    "none": (lambda: SHOP.extend([]), "412.5 mm"),
    "file": (lambda: gs.open_shop("not-there.toml"), "not-there.toml"),
    "count": (lambda: SHOP.chart.list("iso-54", fewest_changes=True, count=2), "leave count out"),
    "changes": (lambda: SHOP.chart.list("iso-54", fewest_changes=True), 'tolerance="0.05%"'),
    "range": (lambda: SHOP.chart.grid("10:60", helix_angles=[20]), 'diameters="10:60:5"'),
    "low": (lambda: SHOP.chart.every("x"), "low"),
    "circle": (lambda: SHOP.divide(7, table=True, nearest=True), "leave nearest out"),
    "several": (lambda: SHOP.divide(range(2, 5), table=True), "leave table out"),
    "idle": (lambda: SHOP.sheet(400, cutter_width=5), 'disc_cutter="60mm"'),
    "chosen": (lambda: SHOP.sheet(400, train="80/44 48/100", order="easiest"), "order does nothing"),
    "all": (lambda: SHOP.find(400, all_arrangements=True, count=3), "leave count out"),
    "each": (lambda: SHOP.divide([]), "range(2, 151)"),
    "thread": (lambda: SHOP.find(gs.thread("M12")), 'gearsearch.thread("1.75mm")'),
    "starts": (lambda: SHOP.check("80/44", gs.thread("Tr 40x14(P7)")), 'gearsearch.thread("7mm", starts=2)'),
    "added": (lambda: SHOP.extend(["M3"]), "'0.5mm'"),
    "sizes": (lambda: SHOP.extend(["3 mm"], sizes=[]), "sizes=range(15, 128)"),
    "tolerance": (lambda: SHOP.find("3 mm", tolerance=0.1), "0.1%"),
    "tolerances": (lambda: SHOP.chart.list("iso-54", tolerance=0.1), "0.1%"),
    "nothing": (lambda: SHOP.find(None), "'412.5 mm'"),
    "whose": (lambda: SHOP.check("80/44", tolerance="0.1%"), 'wanted="412.5mm"'),
    "there": (lambda: _again(SHOP.divide(7).save), "overwrite=True"),
    "saved": (lambda: _again(SHOP.sheet(412.5, hand="right").save), "overwrite=True"),
    "chart": (lambda: _again(SHOP.chart.every(480, 481).save), "overwrite=True"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_refusal_names_what_python_takes_and_no_option(name):
    call, named = REFUSED[name]
    with pytest.raises(GearsearchError) as caught:
        call()
    assert named in str(caught.value)
    assert "--" not in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "spelled"),
    [
        ("add --hand right or --hand left", 'add hand="right" or hand="left"'),
        ("as in --helix-angle 20 --diameter 50mm", 'as in helix_angle=20 diameter="50mm"'),
        ("as in --pairs 3 (at most) or --pairs 2-3", "as in pairs=3 (at most) or pairs=(2, 3)"),
        ("leave --hand out", "leave hand out"),
        ("--mounting show says why", 'mounting="show" says why'),
        ("ask gearsearch find, with --mounting show", 'ask find(), with mounting="show"'),
        ("gearsearch sheet … --out sheet.pdf", "sheet(…).save('sheet.pdf')"),
        ("write --per '1/4 turns'", 'write per="1/4 turns"'),
        ("or leave --cluster out", "or leave executor out"),
        ("add --overwrite to replace it", "add overwrite=True to replace it"),
        ("as in --sizes 15:127", "as in sizes=range(15, 128)"),
    ],
)
def test_options_are_spelled_as_python_has_them(typed, spelled):
    assert in_python(typed) == spelled


def test_a_word_that_is_not_known_is_a_type_error():
    with pytest.raises(TypeError, match="hnd"):
        SHOP.find(400, hnd="right")
    with pytest.raises(AttributeError, match="open_shopp"):
        gs.open_shopp  # noqa: B018


def test_the_front_door_is_light_and_lists_what_there_is():
    program = (
        "import sys, gearsearch as gs; gs.demo(); gs.helix_angle(20, diameter=50); assert 'find' in dir(gs.Workshop); "
        "print(sorted({'numpy', 'pandas', 'numba', 'pyarrow', 'matplotlib'} & set(sys.modules)), 'demo' in dir(gs))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["[]", "True"]


EXAMPLES = ("", ".workshop", ".work.wanted", ".charts.asking", ".dividing.asking", ".extend.asking")


@pytest.mark.parametrize("module", [*EXAMPLES, ".base.showing", ".output.written"])
def test_the_examples_of_the_front_door_run(module):
    found = doctest.testmod(importlib.import_module(f"gearsearch{module}"))
    assert found.attempted
    assert not found.failed


def test_a_sheet_is_written_with_its_pictures(tmp_path):
    pytest.importorskip("matplotlib")
    sheet = SHOP.sheet("412.5 mm", hand="right", length="60 mm", diameter="50 mm")
    assert sheet.to_dict()["train"] == "80/44 48/100"
    assert "1." in str(sheet)
    files = [tmp_path / "sheet.md", tmp_path / "sheet.pdf", tmp_path / "train.svg"]
    sheet.save(*files)
    assert all(file.stat().st_size > 1000 for file in files)
    with pytest.raises(GearsearchError):
        sheet.save(files[0])


def test_a_picture_is_drawn_in_somebodys_axes_and_beside_the_table():
    Figure = pytest.importorskip("matplotlib.figure").Figure

    answer = SHOP.find("412.5 mm", hand="right", count=1)
    for each in (answer, SHOP.check("80/44 48/100"), SHOP.show(), SHOP.sheet("412.5 mm")):
        ax = Figure().add_subplot()
        assert each.plot(ax) is ax
        assert ax.patches or ax.lines
        assert each.plot().figure is not ax.figure
    assert "<svg" in answer._repr_html_()
    assert "<svg" in SHOP.sheet("412.5 mm")._repr_html_()
    assert "<svg" not in SHOP.find(10**6)._repr_html_()
    assert "<svg" not in SHOP.find("412.5 mm", mounting="skip", count=1)._repr_html_()
    with pytest.raises(GearsearchError, match="none to draw"):
        SHOP.find(10**6).plot()


def test_a_chart_is_a_frame_a_page_and_files(tmp_path):
    chart = SHOP.chart.every("480 mm", "490 mm", hand="right")
    frame = chart.to_frame(exact=True)
    assert list(chart.keys) == list(frame.columns[:-1])
    assert [float(lead) for lead in frame["lead_exact"]] == frame["lead_mm"].tolist()
    assert chart.save(tmp_path / "leads.parquet", tmp_path / "leads.md") == len(frame)
    saved = SHOP.chart.read(tmp_path / "leads.parquet")
    pd.testing.assert_frame_equal(saved, chart.to_frame(), check_like=True)
    assert saved.attrs["command"].startswith("shop.chart.every(low='480 mm'")
    near = SHOP.chart.look(tmp_path / "leads.parquet", "485 mm", count=2)
    assert len(near.to_frame()["lead_mm"].unique()) == 2
    assert "<table" in chart._repr_html_()
    assert len(chart.to_dict()["rows"]) == len(frame)


CHARTS = {
    "every": (
        lambda: SHOP.chart.every("480 mm", "490 mm", hand="right", thin="0.1%"),
        "every --from 480mm --to 490mm --hand right --thin 0.1%",
    ),
    "list": (
        lambda: SHOP.chart.list("iso-54", route="spindle", count=1, starts=(1, 2), tolerance="0.1%"),
        "list iso-54 --route spindle --count 1 --starts 1,2 --tolerance 0.1%",
    ),
    "changes": (
        lambda: SHOP.chart.list("iso-54", fewest_changes=True, tolerance="0.5%", route="spindle"),
        "list iso-54 --fewest-changes --tolerance 0.5% --route spindle",
    ),
    "grid": (
        lambda: SHOP.chart.grid([20, 30, 12.5], helix_angles="15:20:5", without=[40]),
        "grid --diameters 12.5,20:30:10 --helix-angles 15,20 --without 40",
    ),
}


@pytest.mark.parametrize("name", CHARTS)
def test_a_chart_is_what_the_command_writes(tmp_path, name):
    ask, line = CHARTS[name]
    made, written = tmp_path / "made.csv", tmp_path / "written.csv"
    ask().save(made)
    typed(f"chart {line} --out {written}")
    assert made.read_bytes() == written.read_bytes()
    assert len(made.read_text().splitlines()) > 1


def test_how_densely_a_chart_covers_the_leads_is_drawn_in_somebodys_axes(tmp_path):
    Figure = pytest.importorskip("matplotlib.figure").Figure

    chart = SHOP.chart.every("300 mm", "700 mm", hand="right")
    chart.save(tmp_path / "leads.parquet")
    drawn = []
    for draw in (chart.plot, lambda ax=None: SHOP.chart.plot(tmp_path / "leads.parquet", ax)):
        ax = Figure().add_subplot()
        assert draw(ax) is ax
        drawn.append(ax.patches[0].get_data().values.tolist())
        assert draw().figure is not ax.figure
    assert drawn[0] == drawn[1]
    assert len(drawn[0]) > 10
    with pytest.raises(GearsearchError, match="only one of every lead"):
        SHOP.chart.grid([20], lead_angles=[45]).plot()


def test_an_index_table_has_a_row_for_each_number():
    numbers = [*range(2, 43), 127]
    table = SHOP.divide(numbers)
    assert table["divisions"].tolist() == numbers
    for number in (7, 42, 127):
        first = SHOP.divide(number, count=1).to_frame().iloc[0]
        row = table[table["divisions"] == number].iloc[0]
        assert row["words"] == first["words"]
        assert bool(row["exact"]) == bool(first["exact"])


@pytest.mark.parametrize("ending", ["md", "csv", "json", "pdf"])
def test_a_way_to_divide_is_written_with_all_there_is_to_say(tmp_path, ending):
    if ending == "pdf":
        pytest.importorskip("matplotlib")
    file = tmp_path / f"plate.{ending}"
    SHOP.divide(28).save(file)
    typed(f"divide 28 --out {tmp_path / 'typed'}.{ending}")
    assert file.read_bytes() == (tmp_path / f"typed.{ending}").read_bytes()
    with pytest.raises(GearsearchError):
        SHOP.divide(28).save(file)


def test_many_leads_get_the_trains_that_find_gives_one_by_one():
    leads = pd.Series([412.5, 648, 200.1, 333.333, 97.03, 10**6], index=[*"abcdef"])
    for hand in ("right", "left"):
        many = SHOP.best_trains(leads, hand=hand, exact=True)
        assert [*many.index] == [*"abcdef"]
        assert [*many["wanted_exact"]] == [Fraction(str(lead)) for lead in leads]
        for (_, row), lead in zip(many.iterrows(), leads[:-1], strict=False):
            fit = SHOP.find(lead, hand=hand, count=1).fits[0]
            assert (row["train"], row["hand"], row["mounts"]) == (str(fit.train), fit.hand, fit.mounts)
            assert row["lead_exact"] == fit.lead_mm
            assert row["error_ppm"] == float(fit.error * 10**6)


def test_many_leads_for_which_no_train_will_do_have_a_row_each():
    many = SHOP.with_gears([20, 21, 22, 23]).best_trains([360, "1 in"], hand="right")
    assert many["wanted_mm"].tolist() == [360, 25.4]
    assert many["train"].isna().all()
    with pytest.raises(GearsearchError):
        SHOP.best_trains([])
    with pytest.raises(GearsearchError):
        SHOP.best_trains([float("nan")])


def test_gears_come_from_a_table_and_the_shop_stays(tmp_path):
    (tmp_path / "gears.csv").write_text("teeth,note\n40,\n24,worn\n24,\n")
    teeth = pd.read_csv(tmp_path / "gears.csv")["teeth"]
    before = SHOP.shop.gears[0].teeth
    assert SHOP.with_gears(teeth).shop.gears[0].teeth == (24, 24, 40)
    assert SHOP.with_gears(teeth).with_gear(37, 20).shop.gears[0].teeth == (20, 24, 24, 37, 40)
    assert SHOP.with_gears(teeth).without(24).shop.gears[0].teeth == (24, 40)
    assert SHOP.shop.gears[0].teeth == before
    for wrong in (lambda: SHOP.without(41), lambda: SHOP.with_gears([24.5]), lambda: SHOP.with_gears([24], kind="dp")):
        with pytest.raises(GearsearchError):
            wrong()


LISTS = ("teeth,note\n40,\n24,worn\n24,\n", "Teeth;count\n40;1\n24;2\n36;0\n;\n", "teeth\n40\n24\n24\n")


@pytest.mark.parametrize("text", LISTS)
def test_gears_come_from_a_file_by_its_name(tmp_path, text):
    (tmp_path / "gears.csv").write_text(text)
    for name in (tmp_path / "gears.csv", str(tmp_path / "gears.csv")):
        assert SHOP.with_gears(name).shop.gears[0].teeth == (24, 24, 40)
    frame = pd.DataFrame({"teeth": [40, 24.0], "count": [1, 2]})
    assert SHOP.with_gears(frame).shop.gears[0].teeth == (24, 24, 40)


WRONG_GEARS = {
    "no file": (lambda: SHOP.with_gears("gears.csv"), "gears.csv"),
    "no column": (lambda: SHOP.with_gears(pd.DataFrame({"size": [40]})), "size"),
    "no count": (lambda: SHOP.with_gears(pd.DataFrame({"teeth": [40], "count": [-1]})), "-1"),
    "no teeth": (lambda: SHOP.with_gears(pd.DataFrame({"teeth": [40.5]})), "40.5"),
    "no list": (lambda: SHOP.with_gears(40), "[40]"),
    "a gap": (lambda: SHOP.with_gears(pd.DataFrame({"teeth": [40, None, 24.0]})), "row 2"),
    "a gap in a column": (lambda: SHOP.with_gears(pd.DataFrame({"teeth": [None, 40], "count": [2, 1]})), "row 1"),
}


@pytest.mark.parametrize("name", WRONG_GEARS)
def test_a_list_of_gears_that_is_none_is_refused(name):
    call, named = WRONG_GEARS[name]
    with pytest.raises(GearsearchError) as caught:
        call()
    assert named in str(caught.value)


def front_door():
    """Every function and method that a user calls, by its name; what an answer only is made with left out."""
    from gearsearch.charts.asking import Charted, Charts
    from gearsearch.dividing.asking import Divide
    from gearsearch.extend.asking import Extend
    from gearsearch.sheet.answer import Sheet

    yield from ((name, getattr(gs, name)) for name in gs.__all__ if inspect.isfunction(getattr(gs, name)))
    for room in (gs.Workshop, Charts, Divide, Extend, Charted, Sheet):
        for name, made in vars(room).items():
            if inspect.isfunction(made) and (name == "__call__" or not name.startswith("_")):
                yield f"{room.__name__}.{name}", made


OF_ANSWERS = ("rows", "record", "document")  # one for each form, explained where all answers have it
FRONT_DOOR = {name: made for name, made in front_door() if name.split(".")[-1] not in OF_ANSWERS}


@pytest.mark.parametrize("name", FRONT_DOOR)
def test_the_front_door_explains_every_parameter_with_an_example(name):
    made = FRONT_DOOR[name]
    words = inspect.getdoc(made)
    explained = set(re.findall(r"\w+", " ".join(re.findall(r"^ *([\w, ]+) : ", words, re.MULTILINE))))
    taken = set(inspect.signature(made).parameters) - {"self"}
    if made.__module__ != "gearsearch.work.wanted":  # whose first line is a formula of all that they take
        assert taken - explained == set()
    if name.split(".")[0] not in ("Charted", "Sheet") and not name.endswith(".plot"):
        assert ">>> " in words
