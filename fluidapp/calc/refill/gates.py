"""The gates of a refill, in the order of the work: what must be done, and confirmed, before the next step."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from fluidapp.calc.refill.lines import Into, Line
from fluidapp.errors import Unknown

Confirm = Literal["tick", "litres", "reading"]
Part = Literal["motor or pump case", "gear case", "cylinder", "circuit", "seal"]
PARTS: tuple[Part, ...] = ("motor or pump case", "gear case", "cylinder", "circuit", "seal")


@dataclass(frozen=True, slots=True)
class Gate:
    """One step: its text, how it is confirmed, its source; ``parts`` = only where one of these was opened (none: always).

    before_start : it must be confirmed before the engine is started.
    """

    key: str
    text: str
    confirm: Confirm
    source: str
    before_start: bool
    parts: frozenset[Part] = frozenset()


_P = "common practice, no source"
GATES = (
    Gate(
        "safe",
        "Attachment down, engine off, isolated. With the key on, move every lever fully both ways, then open the tank's breather slowly.",
        "tick",
        "operator's manuals of the 40, 110 and 200 t classes (second-hand); OSHA interpretation 1999-11-10 (read)",
        True,
    ),
    Gate("shut", "Drain cocks shut, plugs in and tight, lines plugged or connected.", "tick", _P, True),
    Gate(
        "seal",
        "Drain filter changed? Case flow or pressure measured? A worn motor or a blocked drain line lifts the new seal too.",
        "tick",
        "trade article (read)",
        True,
        frozenset({"seal"}),
    ),
    Gate(
        "case",
        "Fill the motor or pump case through its vent or drain port until it overflows, and write down the litres. Vent plug finger-tight.",
        "litres",
        "service manuals of the 1.6, 14 and 43 t classes (second-hand); trade article (read)",
        True,
        frozenset({"motor or pump case"}),
    ),
    Gate(
        "gear case",
        "Fill the gear case from dry to its upper mark with its air-vent plug open, and write down the litres.",
        "litres",
        "operator's manual of the 110 t class (second-hand)",
        True,
        frozenset({"gear case"}),
    ),
    Gate(
        "tank",
        "Pour the litres before the start; never above H. Close the breather; pressurise the tank again where it has that.",
        "litres",
        "operator's manual of a mini excavator (second-hand); never above H: common practice, no source",
        True,
    ),
    Gate(
        "people",
        "Nobody in the arc or under the attachment. Talk to the operator before the engine turns.",
        "tick",
        "HSE, excavators (read)",
        True,
    ),
    Gate(
        "weep",
        "Low idle until the vent plug of the case weeps without bubbles; stop, tighten it.",
        "tick",
        "service manuals of the 1.6, 14 and 43 t classes (second-hand)",
        False,
        frozenset({"motor or pump case"}),
    ),
    Gate(
        "slow",
        "Low idle: work each opened circuit slowly both ways for 1 to 2 minutes. Fast reversal with air in it makes the tank overflow.",
        "tick",
        "US Army TM 5-3810-300-24&P2 (second-hand)",
        False,
    ),
    Gate(
        "add",
        "Lower, stop, isolate, let the level come back, vent slowly, add; repeat until the level stays. Never add while anything moves.",
        "litres",
        "US Army TM 5-3810-300-24&P2 for the level coming back (second-hand); stop and add: common practice, no source",
        False,
    ),
    Gate(
        "strokes",
        "Cylinders: 4 to 5 slow strokes that stop 100 mm short of the end, the same at full speed, then full strokes.",
        "tick",
        "workshop manual of a compact track loader (second-hand)",
        False,
        frozenset({"cylinder"}),
    ),
    Gate(
        "reading",
        "Reference posture, read again, top up to the target, close, pressurise again. The job stays open without this reading.",
        "reading",
        _P,
        False,
    ),
    Gate(
        "gear case again",
        "Run 1 h, stop, read the gear case again.",
        "reading",
        "operator's manual of the 110 t class (second-hand)",
        False,
        frozenset({"gear case"}),
    ),
    Gate("watch", "Read again after 1 h, at the end of the shift, then daily.", "reading", _P, False),
)

_OF_LINE: dict[Into, Part] = {"motor or pump case": "motor or pump case", "gear case": "gear case", "circuit": "circuit"}


def parts_of(lines: Collection[Line]) -> frozenset[Part]:
    """The parts that a refill's lines show to have been opened, for :func:`gates`; a seal cannot be told from litres."""
    found: set[Part] = {_OF_LINE[line.into] for line in lines if line.into in _OF_LINE}
    if any(line.name.startswith("cylinder") for line in lines):
        found.add("cylinder")
    return frozenset(found)


def gates(parts: Collection[str] = ()) -> tuple[Gate, ...]:
    """The steps that apply, in the order of the work. ``parts`` : what was opened, of :data:`PARTS`; Unknown for another word.

    >>> [gate.key for gate in gates(["motor or pump case"]) if gate.before_start]
    ['safe', 'shut', 'case', 'tank', 'people']
    """
    for part in parts:
        if part not in PARTS:
            raise Unknown("Opened part", part, PARTS)
    return tuple(gate for gate in GATES if not gate.parts or gate.parts & set(parts))


def still_open(steps: Collection[Gate], confirmed: Collection[str]) -> tuple[Gate, ...]:
    """What keeps the engine off: gates before the start that are not confirmed, in their order. Empty = none of the steps is left.

    That says nothing about whether it is safe to start. Unknown for a key that is not among the steps.
    """
    keys = [gate.key for gate in steps]
    for key in confirmed:
        if key not in keys:
            raise Unknown("Step", key, keys)
    return tuple(gate for gate in steps if gate.before_start and gate.key not in confirmed)
