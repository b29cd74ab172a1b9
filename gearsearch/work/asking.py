"""The one place where a part is made: from options, from a row of a list, and from keywords in Python."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import Value
from .accuracy import accuracy_class
from .form import FORMS, Form, Given, Option, forms, typed
from .part import Blank, Part, no_gear
from .tolerance import Tolerance

TILT = Option(
    "tilt", "A", "angle of the head from the table, for short leads and cams (lead = geared lead × sin)", "30"
)
_ACCURACY = Option("accuracy", "A", "tolerance class of ISO 1328-1 for a helical gear, 1 to 11", "7")
_STARTS = re.compile(r"(.*?)[\s,;x×*]+([0-9]+)\s*starts?\s*", re.IGNORECASE)
_TILTED = re.compile(r"(.*?)[\s,;]+tilt(?:ed)?\s+(.+)", re.IGNORECASE)


def part(
    unit: str = "mm",
    *,
    name: str = "",
    source: str = "",
    tolerance: str | Tolerance | None = None,
    **values: Value | None,
) -> Part:
    """The part that some values make, by the names of their options.

    Parameters
    ----------
    unit : ``mm`` or ``in``, for a length without one
    name, source : what it is called in a list, and where it was read
    tolerance : how far the lead on the work may be off, as it is typed or as it was read
    values : those of one form of wanted lead, as in ``part(helix_angle="20", diameter="50mm")``; with them
        ``diameter``, ``tilt``, ``length`` and ``accuracy``

    Raises GearsearchError unless the lead is given in just one way, and for a value that does not belong to it.
    """
    _refuse_unknown(values)
    if not isinstance(tolerance, str | Tolerance | None):
        tolerance = Tolerance.parse(tolerance, unit)  # refused
    given = Given(values, unit)
    form = _form_of(given)
    _refuse_what_does_not_belong(given, form)
    made = replace(form.part(given), may_be_cam=form.may_be_cam).at(given.length("diameter"))
    if "tilt" in given:
        if not form.may_be_cam:
            raise GearsearchError(
                f"--tilt does not belong to {typed(form.name)}: a tilted head cuts the rise of a cam, and no helix "
                "along the work",
                "leave it out, or give the rise of the cam with --lead or --rise and --per",
                code="idle-option",
            )
        made = made.tilted(given.value(TILT, "no tilt is given"))
    return replace(
        made,
        name=name,
        source=source or made.source,
        length_mm=given.length("length"),
        tolerance=Tolerance.parse(tolerance, unit) if isinstance(tolerance, str) else tolerance,
        accuracy=_accuracy(given),
    )


def blank(unit: str = "mm", *, tolerance: str | None = None, **values: Value | None) -> Blank:
    """The blank that some values make where no lead is asked for: ``diameter`` and ``length``.

    Raises GearsearchError for a tolerance and an accuracy class, which belong to a lead.
    """
    given = Given(values, unit)
    accuracy = _accuracy(given)
    if accuracy is not None:
        raise no_gear(accuracy)
    if tolerance is not None:
        Tolerance.parse(tolerance, unit)
        raise GearsearchError(
            "a tolerance is given without the lead it belongs to",
            "add the lead, as in --lead 412.5mm",
            code="no-lead",
        )
    return Blank(diameter_mm=given.length("diameter"), length_mm=given.length("length"))


def part_of_text(text: str, unit: str = "mm", name: str = "", tolerance: str | None = None) -> Part:
    """A part with its wanted lead in one text, as lists write it: see ``values_of_text``.

    Raises GearsearchError for a text that is none.
    """
    return part(unit, name=name, tolerance=tolerance, **values_of_text(text))


def values_of_text(text: str) -> dict[str, str]:
    """The values in a wanted lead written in one text, by the names of their options: each form's own spelling.

    Behind it stand ``x 2 starts`` where there are several, and ``tilt 30deg`` for a cam; see ``spellings``.
    """
    if not require.text(text, "wanted lead").strip():
        raise GearsearchError("the wanted lead is empty", spellings(), code="no-lead")
    tilted = _TILTED.fullmatch(text)
    bare, tilt = (tilted[1], tilted[2]) if tilted else (text, None)
    several = _STARTS.fullmatch(bare)
    bare, starts = (several[1].strip(), several[2]) if several else (bare.strip(), None)
    more = {"starts": starts, "tilt": tilt}
    return _read(bare, starts) | {name: value for name, value in more.items() if value is not None}


def spellings() -> str:
    """How a list writes a wanted lead, for messages."""
    examples = ", ".join(form.example for form in forms())
    return f"write it as in {examples}, with 'x 2 starts' behind it where there are several, 'tilt 30deg' for a cam"


def _read(text: str, starts: str | None) -> dict[str, str]:
    """The values in a text, by name; a length with several starts is the pitch of a thread."""
    lead = FORMS["lead"]
    read = next((values for form in forms() if form is not lead and (values := form.reads(text))), None)
    if read is None:
        return {"lead": text} if starts in (None, "1") else {"thread": text}
    return {name: value for name, value in read.items() if value is not None}


def _form_of(given: Given) -> Form:
    """The one form that the values are of."""
    own = [form for form in forms() if form.name in given]
    own = [form for form in own if not any(other is not form and form.name in other.takes for other in own)]
    if len(own) > 1:
        ways = ", ".join(typed(form.name) for form in own)
        raise GearsearchError(f"the lead is given in {len(own)} ways: {ways}", "keep one of them", code="given-twice")
    if own:
        return own[0]
    alone = [typed(name) for name in companions() if name in given]
    without = f": {' and '.join(alone)} alone isn't enough" if alone else ""
    raise GearsearchError(
        f"no lead was asked for{without}",
        "give one as in --lead 412.5mm, or --helix-angle 20 --diameter 50mm",
        code="no-lead",
    )


def gear_forms() -> list[Form]:
    """The forms that make a helical gear, in the order of the help."""
    return [form for form in forms() if form.is_gear]


def options() -> list[Option]:
    """Every option of the forms, each once, in the order of the help; last the tilt."""
    every = {option.name: option for form in forms() for option in form.options}
    return [*every.values(), TILT]


def companions() -> list[str]:
    """The names of the values that make no lead on their own."""
    return [option.name for option in options() if option.name not in FORMS]


def _refuse_what_does_not_belong(given: Given, form: Form) -> None:
    own = typed(form.name)
    for name in companions():
        if name not in given or name in form.takes or name == TILT.name:
            continue
        takers = [typed(other.name) for other in forms() if name in other.takes]
        if name == "diameter" and form.is_gear:
            raise GearsearchError(
                "--diameter does not belong to a helical gear, which has its own pitch diameter",
                "leave --diameter out",
                code="idle-option",
            )
        if len(takers) > 4:
            raise GearsearchError(f"{typed(name)} does not belong to {own}", "leave it out", code="idle-option")
        where = " or ".join(takers)
        raise GearsearchError(
            f"{typed(name)} belongs to {where}, not to {own}", f"leave it out, or give {where}", code="idle-option"
        )


def _refuse_unknown(values: Mapping[str, object]) -> None:
    known = [option.name for option in options()] + ["length", "accuracy"]
    for name in values:
        if name not in known:
            near = get_close_matches(name, known, 1)
            hint = f"did you mean {near[0]}? " if near else ""
            raise GearsearchError(f"there is no value {name!r} of a part", f"{hint}give one of {', '.join(known)}")


def _accuracy(given: Given) -> int | None:
    value = given.as_typed(_ACCURACY)
    return None if value is None else accuracy_class(value)
