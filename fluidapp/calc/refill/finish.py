"""Round the refill: flush or not, rinsing, poured against expected, used oil, the first and the next change."""

import math
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc import figure
from fluidapp.calc.decision import BALANCED
from fluidapp.calc.limits import above_zero, zero_or_more
from fluidapp.calc.refill.lines import U_POURED
from fluidapp.calc.refill.sizing import Portion
from fluidapp.errors import BadInput, Unknown

Failed = Literal["motor", "pump", "valve", "cylinder", "hose", "seal only"]
FAILED: tuple[Failed, ...] = ("motor", "pump", "valve", "cylinder", "hose", "seal only")
_BULLETIN = "service bulletin (second-hand)"
_OWN = "own proposal"


@dataclass(frozen=True, slots=True)
class Flush:
    """Whether to flush after a failure: "flush", "make up the loss" or "look first", the steps, the source."""

    word: Literal["flush", "make up the loss", "look first"]
    steps: tuple[str, ...]
    source: str


def flush(failed: str, metal: bool | None, drain_filter_clean: bool | None = None) -> Flush:
    """Flush or not, by what failed and whether metal was found.

    failed : one of :data:`FAILED`, Unknown otherwise. metal : found on magnet, drain plug or filter; None = not looked at.
    drain_filter_clean : of the motor or pump; None = not looked at, asked for a seal only.
    Source: service bulletin (second-hand) for motor or pump with debris, and for valve or cylinder; the rest own proposal.

    >>> flush("motor", True).word, flush("valve", False).word, flush("seal only", None).word
    ('flush', 'make up the loss', 'look first')
    """
    if failed not in FAILED:
        raise Unknown("What failed", failed, FAILED)
    steps: tuple[str, ...]
    if metal:
        steps = (
            "Drain and clean the tank and the cooler.",
            "Change all filters.",
            "Flush the circuit, then fill with new oil.",
            "Find where the metal came from before the start.",
        )
        return Flush("flush", steps, _BULLETIN if failed in ("motor", "pump") else _OWN)
    unseen = metal is None and failed in ("motor", "pump", "seal only")
    if unseen or (failed == "seal only" and drain_filter_clean is not True):
        steps = ("Look at the magnet, the drain plug and the drain filter: metal found, yes or no?",)
        if drain_filter_clean is False:
            steps = ("The drain filter is not clean: cut it open and look for metal before the oil is kept.",)
        return Flush("look first", steps, _OWN)
    steps = ("Make up the loss.", "Change the return filter.")
    return Flush("make up the loss", steps, _BULLETIN if failed in ("valve", "cylinder") else _OWN)


@dataclass(frozen=True, slots=True)
class Poured:
    """What was really poured against what was expected: "as expected", "more" or "less", z = difference over its u, in words."""

    word: Literal["as expected", "more", "less"]
    z: float
    text: str


def against(expected: Portion, poured_l: float, u_poured_l: float | None = None) -> Poured:
    """Compares ``poured_l`` [L, >= 0; u 2 % unless given] with what was expected; a difference counts beyond 2 u. OutOfRange below 0.

    Own rule. The meter or the marked pail is the truth, so nothing is corrected by it.
    """
    zero_or_more("poured", poured_l, "L", "Enter the litres that went in.")
    u_pour = U_POURED * poured_l if u_poured_l is None else u_poured_l
    u = math.hypot(expected.u_l, u_pour, 1e-9)
    z = (poured_l - expected.value_l) / u
    text = f"poured {figure.litres(round(poured_l, 2))}, expected {_short(expected.low_l)} to {_short(expected.high_l)} L"
    if abs(z) <= BALANCED:
        return Poured("as expected", z, text)
    if z > 0:
        return Poured("more", z, f"{text}. More than expected: look for a leak, an opened line that is not listed, or a wrong reading.")
    return Poured("less", z, f"{text}. Less than expected: air may still be in the lines, so read again after more work.")


def _short(litres: float) -> str:
    return f"{litres:.1f}" if litres < 10 else f"{litres:.0f}"


@dataclass(frozen=True, slots=True)
class UsedOil:
    """Used oil against what is at hand: litres at the upper ±, room, what has no place, empty pails for that."""

    most_l: float
    room_l: float
    over_l: float
    pails: int


def used_oil(drained: Portion, room_l: float, pail_l: float = 20.0) -> UsedOil:
    """Whether the drained oil fits in the containers at hand, at its upper ±; pails of ``pail_l`` [L] for the rest.

    room_l : free litres at hand, >= 0. OutOfRange otherwise. Coolant, solvent, brake cleaner, biodegradable oil and water need
    containers of their own (common practice, no source). Own rule.
    """
    zero_or_more("room for used oil", room_l, "L", "Enter the free litres of the containers at hand.")
    above_zero("pail", pail_l, "L", "Enter its size.")
    over = max(0.0, drained.high_l - room_l)
    return UsedOil(drained.high_l, room_l, over, math.ceil(over / pail_l - 1e-9))


@dataclass(frozen=True, slots=True)
class ChangeRule:
    """First change after a repair or on new gears, and the repeats, in hours from that event; a range where the source has one."""

    label: str
    first_h: tuple[float, float]
    repeat_h: tuple[float, float] | None
    source: str
    repeat_days: float | None = None
    sample_h: float | None = None


# editable rows; none of them is a default for every machine
CHANGE_RULES = (
    ChangeRule("slewing gearbox, new or rebuilt", (50.0, 50.0), None, "vendor's text (read)"),
    ChangeRule("slewing gearbox after a reseal", (150.0, 150.0), (800.0, 800.0), "common practice, no source"),
    ChangeRule("travel gear, 21-24 t class", (100.0, 250.0), (1000.0, 1500.0), "service manual (second-hand)"),
    ChangeRule("final drive, 20 t class", (250.0, 250.0), None, "operator's manual (second-hand)"),
    ChangeRule("travel gear, 7.5 t class", (500.0, 500.0), (1000.0, 1000.0), "operator's manual (second-hand)"),
    ChangeRule("gearboxes, 13 t class: check, then change", (250.0, 250.0), (1000.0, 1000.0), "operator's manual (second-hand)"),
    ChangeRule("gears, 500 t class", (250.0, 250.0), (3000.0, 3000.0), "operator's manual (second-hand)", 365.0, 1000.0),
)


def changes(event_h: float | None, first_h: float, repeat_h: float | None = None) -> tuple[float, ...]:
    """Meter hours of the first change and of the one after it, counted from the hour meter at the repair.

    event_h : hour meter at the repair [h]; None is refused, since counting from zero gives a wrong hour. first_h, repeat_h : > 0.
    BadInput or OutOfRange otherwise. Formula: event + first, + repeat. Common practice, no source.

    A reseal at 7 342 h, with 150 h and then 800 h:
    >>> changes(7342.0, 150.0, 800.0)
    (7492.0, 8292.0)
    """
    if event_h is None:
        raise BadInput("hour meter at the repair", "not read", "Enter it; without it no hour of a change follows.")
    zero_or_more("hour meter at the repair", event_h, "h", "Read it again.")
    for name, value in (("first change", first_h), ("repeat", repeat_h)):
        if value is not None:
            above_zero(name, value, "h", "Enter the hours after the repair.")
    return (event_h + first_h,) if repeat_h is None else (event_h + first_h, event_h + first_h + repeat_h)
