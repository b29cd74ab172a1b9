"""Every form of wanted lead is known wherever leads are asked for, by being in its folder."""

from pathlib import Path

import pytest

from gearsearch.base.errors import GearsearchError
from gearsearch.work import forms as folder
from gearsearch.work.asking import companions, options, part, part_of_text, spellings
from gearsearch.work.form import FORMS, forms

PAGE = Path(folder.__file__).parents[1] / "README.md"


def test_every_module_of_the_folder_is_a_form():
    modules = {path.stem for path in Path(folder.__file__).parent.glob("[!_]*.py")}
    assert set(FORMS) == modules


def test_the_page_of_the_room_has_a_row_for_every_form():
    rows = [f"| {form.gives} | {form.row} |" for form in forms() if form.name != "lead"]
    text = PAGE.read_text(encoding="utf-8")
    assert "\n".join(rows) in text
    for example in ", ".join(form.example for form in forms()).split(", "):
        assert f"`{example}`" in text


@pytest.mark.parametrize("form", forms(), ids=lambda form: form.name)
def test_a_list_spells_every_form_as_its_example(form):
    for example in form.example.split(", "):
        made = part_of_text(example)
        assert made.lead_mm > 0
        read = {"lead": example} if form.name == "lead" else form.reads(example)
        assert form.name in read
        assert part(**read) == made
        assert example in spellings()
    for other in forms():
        if other.name != "lead" and other is not form:
            assert other.reads(form.example.split(", ")[0]) is None


@pytest.mark.parametrize("form", forms(), ids=lambda form: form.name)
def test_what_a_form_does_not_take_is_refused_by_name(form):
    read = {"lead": "412.5mm"} if form.name == "lead" else form.reads(form.example.split(", ")[0])
    values = {option.name: option.example for option in options()}
    for name in set(companions()) - form.takes - {"tilt"}:
        with pytest.raises(GearsearchError, match=f"--{name}"):
            part(**read, **{name: values[name]})
    if form.may_be_cam:
        assert part(**read, tilt=30).work_lead_mm < part(**read, tilt=30).lead_mm
    else:
        with pytest.raises(GearsearchError, match="--tilt does not belong to"):
            part(**read, tilt=30)


def test_a_value_that_no_part_has_is_refused_with_the_nearest():
    with pytest.raises(GearsearchError, match="did you mean helix_angle"):
        part(helix_angel=20, diameter=50)


def test_lists_spell_starts_and_the_tilt_of_a_cam():
    assert part_of_text("rise 1.37mm per 5.8deg tilt 30deg") == part(rise="1.37mm", per="5.8", tilt="30")
    assert part_of_text("45 mm tilted 30") == part(lead=45, tilt=30)
    assert part_of_text("1.5 mm x 2 starts") == part(thread="1.5 mm", starts=2)
    assert part_of_text("rise 1.37mm per 5.8deg x 2 starts") == part(rise="1.37mm", per="5.8", starts=2)
