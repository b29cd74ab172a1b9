"""Charts again, slow and obvious, on top of ``naive``: every lead and its best train, steps, and the nearest leads."""

import naive


def every(shop, route, pairs, hand, judged=None):
    """Every lead with the first arrangement of its trains in the documented order, by ascending lead.

    ``judged(a, b, idlers)`` says whether an arrangement passes; None lets all pass. Clearances are not known here.
    """
    best = {}
    for lead, sets in naive.every_lead(shop, route, *pairs).items():
        for train_set in sets:
            for a, b, idlers in naive.arrangements(shop, route, train_set, hand):
                if judged is None or judged(a, b, idlers):
                    teeth = [[t for _, t in side] for side in (a, b)], [gear[1] for _, gear in idlers]
                    key = (len(a), len(idlers), *teeth, [mesh for mesh, _ in idlers], [kind for kind, _ in a])
                    if lead not in best or key < best[lead][0]:
                        best[lead] = key, (a, b, idlers)
    return [(lead, best[lead][1]) for lead in sorted(best)]


def easiest_of_each_step(rows, share):
    """Of (lead, ease) rows, ascending: the easiest of each step, of equally easy ones the shorter."""
    kept, start, best = [], None, None
    for lead, ease in rows:
        if start is None or lead >= start * (1 + share):
            if best is not None:
                kept.append(best[0])
            start, best = lead, (lead, ease)
        elif ease < best[1]:
            best = lead, ease
    return kept if best is None else [*kept, best[0]]


def nearest(leads, wanted, count):
    """The nearest leads to a wanted one; of two equally far off the shorter first."""
    return sorted(leads, key=lambda lead: (abs(lead - wanted), lead))[:count]
