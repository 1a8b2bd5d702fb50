"""The lines of the due list in words, for the screen, the file and the printed list. Text only, no widgets."""

import datetime
import math
from collections.abc import Mapping, Sequence

from fluidapp.calc import due
from fluidapp.model import Machine, Product
from fluidapp.screens._due import Listed
from fluidapp.screens.words import Show
from fluidapp.sheets.due_sheet import DueSheet, Line

KINDS = {"all kinds": None, "oil changes": "change", "samples": "sample", "filters": "filter", "greasing": "grease", "checks": "check"}
EVERYTHING, OVERDUE, WITHIN = "Everything", "Overdue", "Within days"
BY_DATE, BY_MACHINE = "by date", "by machine"
TYPICAL = "Typical intervals are common practice, no source: the maker's manual comes first."


def chosen(
    listed: Listed, today: datetime.date, machine: str | None, kind: str | None, state: str, days: float, order: str
) -> list[due.Due]:
    """The lines that are asked for. kind : of a task, None = all. state : EVERYTHING, OVERDUE, or WITHIN so many days by the expected day.

    What is overdue or due now is within any number of days.
    """
    found = [
        d
        for d in listed.lines
        if machine in (None, d.machine)
        and kind in (None, d.kind)
        and (state == EVERYTHING or d.state == "overdue" or (state == WITHIN and d.expected is not None and _days(d, today) <= days))
    ]
    if order == BY_MACHINE:
        found.sort(key=lambda d: listed.machines[d.machine].label)  # keeps the order of dates within a machine
    return found


def counted(lines: Sequence[due.Due], today: datetime.date) -> str:
    """The list in one sentence: "1 overdue, 2 within 7 days, 3 never recorded"."""
    soon = sum(1 for d in lines if d.state in ("due now", "coming") and d.expected is not None and _days(d, today) <= 7)
    never = sum(1 for d in lines if d.state == "never recorded")
    over = sum(1 for d in lines if d.state == "overdue")
    return ", ".join(f"{n} {word}" for n, word in ((over, "overdue"), (soon, "within 7 days"), (never, "never recorded")) if n) or (
        "nothing overdue, nothing within 7 days"
    )


def when(d: due.Due) -> str:
    """When it comes: "in 120 h, about 2026-10-14 (2026-10-08 to 2026-10-25)", "overdue by 12 h (by the meter on 2026-09-28)"."""
    if d.state == "overdue":
        return d.overdue
    if d.state == "never recorded":
        return "never recorded"
    left = f"{due.hours(d.left_h)}" if d.left_h is not None else ""
    if d.state == "due now":
        return f"due now, {left} left" if d.left_h else "due now"
    if d.expected is None:
        return f"in {left}, no date yet" if left else "no date yet"
    if d.target_day is not None and d.day is not None and math.floor(d.day) == math.floor(d.target_day):
        return f"in {_many(d.left_days or 0.0)}, on {d.expected}"
    span = f" ({d.earliest} to {d.latest})" if d.low is not None and d.high is not None else ""
    return f"in {left}, about {d.expected}{span}"


def why(d: due.Due) -> str:
    """The rule and its beginning, what the meter will show, and whether the interval is typical."""
    word = "It was due" if d.state == "overdue" else "Next"
    at = f" {word} at {due.hours(d.target_meter_h)} on the meter." if d.target_meter_h is not None else ""
    return f"{d.why}{at}" + (" Typical interval." if d.typical and d.state != "never recorded" else "")


def brings(d: due.Due, products: Mapping[str, Product], show: Show) -> str:
    """What a change takes: "144.0 ± 8.5 L Hydraulic oil"; "" for anything else."""
    product = products.get(d.product or "")
    name = product.label if product else d.product or ""
    amount = ""
    if d.charge is not None and d.charge.volume_l is not None and d.charge.u_l is not None:
        amount = show.litres(d.charge.volume_l, d.charge.u_l)
    elif d.charge is not None and d.charge.mass_kg is not None:
        amount = f"{d.charge.mass_kg:g} kg"
    return " ".join(text for text in (amount, name) if text) if d.kind in ("change", "grease") else ""


def remarks(d: due.Due, listed: Listed) -> list[str]:
    """What else to know of a line; what is odd about its meter stands below the list, once."""
    return [text for text in d.remarks if text not in listed.questions.get(d.machine, ())]


def rows(lines: Sequence[due.Due], listed: Listed, products: Mapping[str, Product], show: Show) -> list[dict[str, str]]:
    """The list as a table, each line with everything that is known of it."""
    return [
        {
            "machine": listed.machines[d.machine].label,
            "task": d.label,
            "kind": d.kind,
            "state": d.state,
            "when": when(d),
            "hours left": "" if d.left_h is None else f"{d.left_h:.0f}",
            "at (h on the meter)": "" if d.target_meter_h is None else f"{d.target_meter_h:.0f}",
            "expected": _iso(d.expected),
            "earliest": _iso(d.earliest),
            "latest": _iso(d.latest),
            "brings": brings(d, products, show),
            "why": why(d),
        }
        for d in lines
    ]


def sheet(
    lines: Sequence[due.Due], listed: Listed, products: Mapping[str, Product], show: Show, today: datetime.date, asked: str
) -> DueSheet:
    """The printed list of these lines. asked : what was chosen, in words."""
    printed = tuple(
        Line(listed.machines[d.machine].label, d.label, when(d), why(d) if d.state != "never recorded" else "", brings(d, products, show))
        for d in lines
    )
    machines = dict.fromkeys(d.machine for d in lines)
    odd = tuple(f"{listed.machines[key].label}: {text}" for key in machines for text in listed.questions.get(key, ()))
    notes = (TYPICAL,) if any(d.typical for d in lines) else ()
    return DueSheet(f"{today}", asked, printed, odd, notes)


def counts_shots(d: due.Due, machine: Machine) -> bool:
    """Whether the line is a grease point itself, which counts shots, not tasks."""
    return d.kind == "grease" and d.key == d.at and all(task.key != d.key for task in machine.tasks)


def _days(d: due.Due, today: datetime.date) -> int:
    return (d.expected - today).days if d.expected is not None else 0


def _many(days: float) -> str:
    return "1 day" if days == 1 else f"{days:.0f} days"


def _iso(day: datetime.date | None) -> str:
    return "" if day is None else day.isoformat()
