"""How advice on gears is written down: which to add, which to spare, and sets from scratch."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ..base.units import format_both, format_length, format_ppm, spaced
from ..extend.add import Advice, Gain
from ..extend.bound import Bound
from ..extend.scratch import Design
from ..extend.spare import Spare
from ..extend.wanted import Gear
from ..search.answers import Solution
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.limits import Limits
from ..work.part import Part
from .fits import fit_record, machine_line, mounts_in_short

_MOST_NAMED = 8


def advice_text(advice: Advice) -> str:
    """The gears worth adding, as printed for people."""
    gears = "gear" if advice.alone is None and all(len(gain.gears) == 1 for gain in advice.gains) else "two gears"
    lines = _head(advice)
    lines.append(
        f"{_leads(len(advice.needs))}; the gears owned bring {advice.covered} inside tolerance, {advice.exact} exactly"
    )
    lines += [f"{spaced(advice.tried)} ways to add {'a ' if gears == 'gear' else ''}{gears} tried, all there are", ""]
    lines += [*_gain_lines(advice), *_bound_lines(advice.bound, len(advice.needs)), *notes(advice)]
    return "\n".join(lines).rstrip() + "\n"


def _head(answer: Advice | Spare | Design) -> list[str]:
    terms = answer.terms
    least, most = terms.pairs
    pairs = f"{least}" if least == most else f"{least} to {most}"
    hand = "either hand" if terms.hand == "either" else f"{terms.hand} hand"
    return [
        answer.shop.heading,
        machine_line(answer.shop, answer.route),
        f"trains of {pairs} pairs, {hand}, {_judged_by(answer.shop, terms)}",
        f"inside tolerance: {_tolerance_words(answer.needs)}",
    ]


def _tolerance_words(needs: Sequence[Part]) -> str:
    """How far a lead may be off, where that is the same share of each."""
    ends = {tuple(end / need.lead_mm - 1 for end in need.allowed_mm) for need in needs}
    if len(ends) > 1:
        return "by each lead's own tolerance"
    ((low, high),) = ends
    if low == high:
        return "the wanted lead exactly"
    return f"{Limits(needs[0].allowed_mm, needs[0].lead_mm).share} the wanted lead"


def _judged_by(shop: Shop, terms: Terms) -> str:
    if terms.mounting == "skip":
        return "mounting not judged"
    return "each mounting on the quadrant" if shop.has_geometry else "mounting by the rule of thumb"


def _leads(count: int) -> str:
    return "1 lead" if count == 1 else f"{count} leads"


def gear_words(gear: Gear) -> str:
    """A gear for people: its tooth count, and its kind of tooth where the shop has several."""
    tag, teeth = gear
    return f"{teeth}@{tag}" if tag else f"{teeth}"


def gears_words(gears: Iterable[Gear]) -> str:
    """Several gears for people."""
    return " ".join(map(gear_words, gears))


def _gain_lines(advice: Advice) -> Iterator[str]:
    from tabulate import tabulate

    if advice.gains:
        rows = [_gain_row(advice, number, gain) for number, gain in enumerate(advice.gains, 1)]
        headers = ["no.", "add", "leads gained", "made exact", "largest error", "which leads"]
        yield tabulate(rows, headers=headers, tablefmt="simple", disable_numparse=True, colalign=["right"])
        yield ""
    elif advice.alone is None:
        yield "none of them brings a lead inside tolerance, or makes one exact"
    else:
        yield "no two of them bring more than the best single gear"
    if advice.alone is not None:
        yield (
            f"the best single gear, {gears_words(advice.alone.gears)}, brings {len(advice.alone.gained)} inside "
            f"tolerance and makes {len(advice.alone.exact)} exact"
        )
    if advice.alone is not None or not advice.gains:
        yield ""
    best = advice.gains[0] if advice.gains else advice.alone
    if best is not None:
        yield f"with {gears_words(best.gears)}:"
        yield _fit_table(advice.shop, ((advice.needs[place], fit) for place, fit in _told(best)))
        yield ""


def _told(gain: Gain) -> Iterator[tuple[int, Solution]]:
    return zip(gain.leads, gain.fits, strict=True)


def _gain_row(advice: Advice, number: int, gain: Gain) -> list[str]:
    worst = "" if not gain.gained else "exact" if gain.worst == 0 else format_ppm(gain.worst).lstrip("+")
    return [
        str(number),
        gears_words(gain.gears),
        str(len(gain.gained)),
        str(len(gain.exact)),
        worst,
        _names(advice.needs, gain.leads),
    ]


def _names(needs: Sequence[Part], places: Sequence[int]) -> str:
    shown = ", ".join(needs[place].title for place in places[:_MOST_NAMED])
    more = len(places) - _MOST_NAMED
    return f"{shown} and {more} more" if more > 0 else shown


def _fit_table(shop: Shop, rows: Iterable[tuple[Part, Solution]]) -> str:
    from tabulate import tabulate

    cells = [
        [
            need.title,
            format_length(need.lead_mm, shop.units),
            str(fit.train),
            format_both(fit.lead_mm, shop.units),
            format_ppm(fit.error) if fit.error else "exact",
            fit.hand or "not known",
            mounts_in_short(fit, shop.units),
        ]
        for need, fit in rows
    ]
    headers = ["lead", "wanted", "train", "cuts", "error", "hand", "mounts"]
    return tabulate(cells, headers=headers, tablefmt="simple", disable_numparse=True)


def _bound_lines(bound: Bound, leads: int) -> Iterator[str]:
    yield (
        f"with any number of these gears: {len(bound.covered)} of {_leads(leads)} inside tolerance, "
        f"{len(bound.exact)} exactly"
    )
    if bound.maybe_covered or bound.maybe_exact:
        yield (
            f"for {_leads(len(bound.maybe_covered))} more (exactly: {len(bound.maybe_exact)}) there are trains, "
            "but none of the nearest mounts; they are not ruled out"
        )


def notes(advice: Advice) -> Iterator[str]:
    """What else the machinist should know."""
    if advice.covered == len(advice.needs):
        yield "the gears owned bring every lead inside tolerance; a gear more can only make errors smaller"
    yield from _beyond(advice.needs, advice.bound)


def _beyond(needs: Sequence[Part], bound: Bound) -> Iterator[str]:
    possible = {*bound.covered, *bound.maybe_covered}
    beyond = [place for place in range(len(needs)) if place not in possible]
    if beyond:
        yield (
            f"no set of these gears brings {_names(needs, beyond)}: try more --pairs, another --route or a wider "
            "--tolerance"
        )


def spare_text(spare: Spare) -> str:
    """The gears never needed and the smallest set, as printed for people."""
    lines = _head(spare)
    lines.append(f"{_leads(len(spare.needs))}; the gears owned bring {len(spare.covered)} inside tolerance")
    lines += ["", *_spare_lines(spare), "", *_smallest_lines(spare)]
    return "\n".join(lines).rstrip() + "\n"


def _spare_lines(spare: Spare) -> Iterator[str]:
    if not spare.covered:
        yield "no gear is needed: no lead of the list is inside tolerance with a train that mounts"
        return
    if spare.never_needed:
        yield f"never needed, any one of them: {gears_words(spare.never_needed)}"
    else:
        yield "every gear is needed for some lead"
    for gear, places in spare.lost.items():
        if places:
            yield f"without a {gear_words(gear)}: {_leads(len(places))} lost ({_names(spare.needs, places)})"


def _smallest_lines(spare: Spare) -> Iterator[str]:
    if not spare.covered:
        return
    count = len(spare.smallest)
    gears = "1 gear covers" if count == 1 else f"{count} gears cover"
    yield f"{gears} the same leads: {gears_words(spare.smallest)}"
    if spare.proved:
        yield "no fewer will do: proved"
    else:
        yield f"the smallest found; it is proved only that no fewer than {spare.least} will do"
    yield ""
    yield _fit_table(spare.shop, ((spare.needs[n], fit) for n, fit in zip(spare.covered, spare.fits, strict=True)))


def design_text(design: Design) -> str:
    """A set from scratch, as printed for people."""
    lines = _head(design)
    lines += [
        f"{_leads(len(design.needs))}; these {len(design.gears)} gears bring {design.covered} inside tolerance, "
        f"{design.exact} exactly:",
        f"  {gears_words(design.gears)}",
        "no set of so many gears does better: proved" if design.proved else "a good set, not proved to be the best",
        "",
        _fit_table(design.shop, ((n, f) for n, f in zip(design.needs, design.fits, strict=True) if f is not None)),
        "",
    ]
    missing = [place for place, fit in enumerate(design.fits) if fit is None]
    if missing:
        lines.append(f"not inside tolerance: {_names(design.needs, missing)}")
    lines += [*_bound_lines(design.bound, len(design.needs)), *_beyond(design.needs, design.bound)]
    return "\n".join(lines).rstrip() + "\n"


def _need_record(need: Part) -> dict[str, Any]:
    return {
        "name": need.title,
        "wanted_mm": float(need.lead_mm),
        "wanted_exact": str(need.lead_mm),
        "low_mm": float(need.allowed_mm[0]),
        "high_mm": float(need.allowed_mm[1]),
    }


def _common(answer: Advice | Spare | Design) -> dict[str, Any]:
    return {
        "shop": answer.shop.name,
        "demo": answer.shop.is_demo,
        "route": answer.route.name,
        "hand": answer.terms.hand,
        "pairs": list(answer.terms.pairs),
        "mounting": answer.terms.mounting,
        "leads": [_need_record(need) for need in answer.needs],
    }


def _gear_record(gear: Gear) -> dict[str, Any]:
    return {"kind": gear[0], "teeth": gear[1]}


def _gain_record(advice: Advice, gain: Gain) -> dict[str, Any]:
    return {
        "gears": [_gear_record(gear) for gear in gain.gears],
        "gained": [advice.needs[place].title for place in gain.gained],
        "exact": [advice.needs[place].title for place in gain.exact],
        "worst_ppm": float(gain.worst * 1_000_000),
        "worst_exact": str(gain.worst),
        "fits": [{"lead": advice.needs[place].title} | fit_record(fit) for place, fit in _told(gain)],
    }


def _bound_record(bound: Bound) -> dict[str, Any]:
    return {
        "covered": len(bound.covered),
        "exact": len(bound.exact),
        "most_covered": bound.most_covered,
        "most_exact": bound.most_exact,
    }


def _fit_records(needs: Sequence[Part], fits: Sequence[Solution | None]) -> list[dict[str, Any]]:
    return [{"lead": n.title} | fit_record(f) for n, f in zip(needs, fits, strict=True) if f is not None]


def advice_record(advice: Advice) -> dict[str, Any]:
    """The advice for programs; the keys are stable."""
    return _common(advice) | {
        "tried": advice.tried,
        "covered": advice.covered,
        "exact": advice.exact,
        "owned": _fit_records(advice.needs, advice.owned),
        "gains": [_gain_record(advice, gain) for gain in advice.gains],
        "alone": None if advice.alone is None else _gain_record(advice, advice.alone),
        "bound": _bound_record(advice.bound),
    }


def spare_record(spare: Spare) -> dict[str, Any]:
    """The gears to spare for programs; the keys are stable."""
    return _common(spare) | {
        "covered": [spare.needs[place].title for place in spare.covered],
        "never_needed": [_gear_record(gear) for gear in spare.never_needed],
        "lost": [
            _gear_record(gear) | {"leads": [spare.needs[place].title for place in places]}
            for gear, places in spare.lost.items()
        ],
        "smallest": [_gear_record(gear) for gear in spare.smallest],
        "least": spare.least,
        "proved": spare.proved,
        "fits": _fit_records([spare.needs[place] for place in spare.covered], spare.fits),
    }


def design_record(design: Design) -> dict[str, Any]:
    """The set for programs; the keys are stable."""
    return _common(design) | {
        "gears": [_gear_record(gear) for gear in design.gears],
        "covered": design.covered,
        "exact": design.exact,
        "proved": design.proved,
        "fits": _fit_records(design.needs, design.fits),
        "bound": _bound_record(design.bound),
    }


def as_json(record: dict[str, Any]) -> str:
    """A record as JSON."""
    return json.dumps(record, indent=2, ensure_ascii=False) + "\n"


def _csv(keys: tuple[str, ...], rows: Iterable[Sequence[Any]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(keys)
    writer.writerows(rows)
    return text.getvalue()


def advice_csv(advice: Advice) -> str:
    """The gears worth adding as CSV, one row for each lead that one of them brings."""
    keys = ("rank", "add", "gained", "made_exact", "worst_ppm", "lead", "wanted_mm", "train", "lead_mm", "lead_exact")
    rows = (
        [*_gain_cells(rank, gain), need.title, float(need.lead_mm), *_fit_cells(fit)]
        for rank, gain in enumerate(advice.gains, 1)
        for need, fit in ((advice.needs[place], fit) for place, fit in _told(gain))
    )
    return _csv(keys, rows)


def _gain_cells(rank: int, gain: Gain) -> list[Any]:
    return [rank, gears_words(gain.gears), len(gain.gained), len(gain.exact), float(gain.worst * 1_000_000)]


def spare_csv(spare: Spare) -> str:
    """Each gear owned as CSV: the leads lost without it, and whether it is in the smallest set."""
    left = list(spare.smallest)
    rows = [
        [gear_words(gear), len(places), "; ".join(spare.needs[place].title for place in places), left.count(gear)]
        for gear, places in spare.lost.items()
    ]
    return _csv(("gear", "leads_lost", "which", "in_smallest_set"), rows)


def design_csv(design: Design) -> str:
    """The set from scratch as CSV: one row for each lead."""
    rows = [
        [need.title, float(need.lead_mm), *(_fit_cells(fit) if fit else ["", "", ""])]
        for need, fit in zip(design.needs, design.fits, strict=True)
    ]
    return _csv(("lead", "wanted_mm", "train", "lead_mm", "lead_exact"), rows)


def _fit_cells(fit: Solution) -> list[Any]:
    return [str(fit.train), float(fit.lead_mm), str(fit.lead_mm)]
