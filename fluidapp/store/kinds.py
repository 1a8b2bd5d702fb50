"""What an entry can say: one frozen model for each kind, which checks what is stored and yields its detail rows.

A node is where fluid or grease can be: "tank" (a part of the entry's machine), "machine/part" in full, or one of "stock",
"used-oil" and "outside". Entries are stored with nodes in full. ``as_read`` keeps what was typed, with its unit.
"""

import functools
from typing import Annotated, Any, Literal, Self

from pydantic import Field, JsonValue, Strict, TypeAdapter, model_validator

from fluidapp.model import Frozen, Key, Label, Num, Positive, Reading, Text
from fluidapp.model.base import Count, NotNegative

PLACES = ("stock", "used-oil", "outside")  # nodes that belong to no machine and no truck
Node = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_-]{0,59}(/[a-z0-9][a-z0-9_-]{0,59})?$")]
Degrees = Annotated[float, Strict(), Field(ge=-360, le=360)]
Celsius = Annotated[float, Strict(), Field(ge=-60, le=150)]
Id = Annotated[str, Field(min_length=1, max_length=80)]
Purpose = Literal["top-up", "planned change", "first fill", "drain", "greasing", "stock", "used oil", "other"]
Row = dict[str, Any]


class _Doc(Frozen):
    note: Text = ""

    def nodes(self) -> tuple[str, ...]:
        """Every node that this entry names."""
        node = named(self, "node")
        return () if node is None else (node,)

    def in_full(self, machine: str | None) -> Self:
        """The same with every node in full: "tank" on the machine ex-1 becomes "ex-1/tank"."""
        changed: dict[str, Any] = {}
        for name in ("node", "from_node", "to_node"):
            if node := named(self, name):
                changed[name] = _full(node, machine)
        if listed := named(self, "at_nodes"):
            changed["at_nodes"] = tuple(_full(node, machine) for node in listed)
        return self.model_copy(update=changed) if changed else self

    def details(self) -> dict[str, list[Row]]:
        """Rows of the detail tables, by table."""
        return {}


def named(doc: Frozen, field: str) -> Any:
    """A field of ``doc``, None where its kind has no such field."""
    return getattr(doc, field) if field in type(doc).__pydantic_fields__ else None


def _full(node: str, machine: str | None) -> str:
    return node if machine is None or "/" in node or node in PLACES else f"{machine}/{node}"


class LevelReading(Reading, _Doc):
    """One reading of one gauge, or a survey of a grease bath: then ``depths_mm`` are its depths and ``level`` their mean."""

    kind: Literal["reading"] = "reading"
    node: Node
    depths_mm: tuple[NotNegative, ...] = ()
    depths_at_deg: tuple[Degrees, ...] = ()
    depths_n: Count | None = Field(default=None, title="number of depths")  # behind the one in depths_mm, where it is a mean
    colour: Text = ""
    water_seen: bool | None = None
    free_oil_l: NotNegative | None = None  # liquid oil caught from the bath

    @model_validator(mode="before")
    @classmethod
    def _mean_depth(cls, doc: Any) -> Any:
        if isinstance(doc, dict) and doc.get("depths_mm") and doc.get("level") is None:
            depths = doc["depths_mm"]
            if all(isinstance(d, (int, float)) for d in depths):
                return {**doc, "level": sum(depths) / len(depths)}
        return doc

    @model_validator(mode="after")
    def _survey(self) -> Self:
        if self.depths_mm:
            mean = sum(self.depths_mm) / len(self.depths_mm)
            if self.level is None or abs(self.level - mean) > 0.05:
                raise ValueError(f"the level is not the mean of the depths, {mean:.1f} mm")
        if self.depths_at_deg and len(self.depths_at_deg) != len(self.depths_mm):
            raise ValueError(f"{len(self.depths_at_deg)} positions for {len(self.depths_mm)} depths")
        if self.depths_n is not None and len(self.depths_mm) != 1:
            raise ValueError("the number of depths behind a mean needs that one depth alone")
        return self

    def reading(self) -> Reading:
        """The plain reading, as the calculations take it."""
        return Reading.model_validate({name: getattr(self, name) for name in Reading.model_fields})

    def details(self) -> dict[str, list[Row]]:
        same = {name: getattr(self, name) for name in ("node", "gauge", "bound", "temp_c", "pitch_deg", "roll_deg", "swing_deg")}
        return {"reading": [{**same, "level_mm": self.level}]}


class Movement(_Doc):
    """So much went from one node to another. ``u`` is 1 σ in the unit of the amount; ``price`` is per L, of grease per kg.

    document : number of the delivery note or of the paper that goes with used oil; receiver : who took it over.
    """

    kind: Literal["movement"] = "movement"
    from_node: Node
    to_node: Node
    product: Key = "unknown"
    volume_l: Positive | None = Field(default=None, title="litres")
    mass_kg: Positive | None = Field(default=None, title="kilograms")
    u: NotNegative | None = None
    temp_c: Celsius | None = Field(default=None, title="oil temperature [°C]")
    purpose: Purpose
    price: NotNegative | None = None
    currency: str = ""
    document: Text = ""
    receiver: Text = ""
    as_read: Text = ""

    @model_validator(mode="after")
    def _amount(self) -> Self:
        if self.volume_l is None and self.mass_kg is None:
            raise ValueError("a movement needs litres or kilograms")
        if self.from_node == self.to_node:
            raise ValueError(f"it cannot go from “{self.from_node}” to itself")
        return self

    def nodes(self) -> tuple[str, ...]:
        return self.from_node, self.to_node

    def details(self) -> dict[str, list[Row]]:
        names = ("from_node", "to_node", "product", "volume_l", "mass_kg", "u", "temp_c", "purpose", "price", "currency")
        return {"movement": [{"i": 0, **{name: getattr(self, name) for name in names}}]}


class Shot(_Doc):
    """Grease given at one nipple with the upper structure at ``swing_deg``; strokes count only with a calibrated gun."""

    kind: Literal["shot"] = "shot"
    point: Key
    nipple: Count = 1
    swing_deg: Degrees | None = None
    strokes: Positive | None = Field(default=None, title="strokes")
    seconds: Positive | None = Field(default=None, title="seconds")
    mass_g: Positive | None = Field(default=None, title="grams")
    gun: Key | None = None
    purge_seen: bool | None = None
    as_read: Text = ""

    def details(self) -> dict[str, list[Row]]:
        names = ("point", "nipple", "swing_deg", "strokes", "mass_g", "purge_seen")
        return {"shot": [{"i": 0, **{name: getattr(self, name) for name in names}}]}


class GunCalibration(_Doc):
    """So many strokes (or seconds of a power gun) weighed so much."""

    kind: Literal["gun calibration"] = "gun calibration"
    gun: Key
    strokes: Count | None = None
    seconds: Positive | None = None
    mass_g: Positive
    product: Key | None = None
    as_read: Text = ""

    @model_validator(mode="after")
    def _counted(self) -> Self:
        if self.strokes is None and self.seconds is None:
            raise ValueError("a gun calibration needs strokes or seconds")
        return self


class Meter(_Doc):
    """The hour meter was looked at. "not read" and "broken since" are valid: hours are then estimated and marked."""

    kind: Literal["meter"] = "meter"
    state: Literal["read", "not read", "broken since"] = "read"
    as_read: Text = ""


class MeterChanged(_Doc):
    """A new hour meter: the old one ended at ``old_end_h``, the entry's ``meter_h`` is where the new one began."""

    kind: Literal["meter changed"] = "meter changed"
    old_end_h: NotNegative | None = None  # none: it could no longer be read


class Duty(_Doc):
    """From here on the machine works harder or easier: a factor on greasing hours (1 normal, below 1 shortens)."""

    kind: Literal["duty"] = "duty"
    factor: Annotated[float, Strict(), Field(gt=0, le=5)] = 1.0
    hours_per_week: Positive | None = None
    reason: Text = ""


class Opened(Frozen):
    """One thing that was opened or emptied in a repair."""

    what: Label
    volume_l: NotNegative | None = None
    u_l: NotNegative | None = None


class Repair(_Doc):
    """What was repaired, on which nodes, and what was opened; the entry's ``meter_h`` is where its intervals begin."""

    kind: Literal["repair"] = "repair"
    what: Label
    at_nodes: tuple[Node, ...] = ()
    opened: tuple[Opened, ...] = ()
    first_h: Positive | None = Field(default=None, title="first change after [h]")
    repeat_h: Positive | None = Field(default=None, title="then every [h]")
    metal_found: bool | None = None
    expected_l: tuple[Num, Num] | None = None

    def nodes(self) -> tuple[str, ...]:
        return self.at_nodes


class TaskDone(_Doc):
    """A task of the due list was done: an oil change, a filter, a sample, a round of checks."""

    kind: Literal["task done"] = "task done"
    task: Label
    node: Node | None = None
    product: Key | None = None


class WatchOpened(_Doc):
    """A level watch began: *working* over meter hours, *parked* over clock hours."""

    kind: Literal["watch opened"] = "watch opened"
    mode: Literal["working", "parked"]
    at_nodes: Annotated[tuple[Node, ...], Field(min_length=1)]
    reason: Text = ""
    smallest_l_h: Positive | None = Field(default=None, title="leak that must not be missed [L/h]")  # the leak that must not be missed

    def nodes(self) -> tuple[str, ...]:
        return self.at_nodes


class WatchClosed(_Doc):
    """A level watch ended; ``watch`` is the id of the entry that opened it."""

    kind: Literal["watch closed"] = "watch closed"
    watch: Id
    reason: Text = ""


class LabResult(_Doc):
    """Figures of a laboratory, as reported, each with its unit in ``units``."""

    kind: Literal["lab result"] = "lab result"
    node: Node
    sample: Id | None = None  # entry id of the oil sample
    bottle: Text = ""
    laboratory: Text = ""
    values: dict[Label, Num] = Field(default_factory=dict)
    units: dict[Label, Label] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _each_with_unit(self) -> Self:
        if bare := [name for name in self.values if name not in self.units]:
            raise ValueError(f"“{bare[0]}” has no unit")
        return self


class Observation(_Doc):
    """What was seen or answered: "thin", "milky", "wet outside"; leak class I wet, II drops that hang, III drops that fall.

    product : of a mix-up, what went into ``node`` by mistake where nobody knows how much ("unknown": nor what).
    """

    kind: Literal["observation"] = "observation"
    node: Node | None = None
    asked: Text = ""
    seen: Label
    yes: bool | None = None
    leak_class: Literal["I", "II", "III"] | None = None
    product: Key | None = None


class OilSample(_Doc):
    """A sample was taken; hours since the change and oil added since the last sample go with the bottle.

    as_read : the oil added as it was typed, with its unit.
    """

    kind: Literal["oil sample"] = "oil sample"
    node: Node
    bottle: Label
    oil_h: NotNegative | None = None
    added_l: NotNegative | None = None
    cold: bool | None = None
    as_read: Text = ""


class Plan(_Doc):
    """A day plan of a lube truck, kept as it was given out."""

    kind: Literal["plan"] = "plan"
    truck: Key
    day: Annotated[str, Field(pattern=r"^\d{4}-\d\d-\d\d$")]
    stops: tuple[Key, ...] = ()
    data: dict[str, JsonValue] = Field(default_factory=dict)


class Stop(_Doc):
    """A stop of a lube truck: done, or left out and why."""

    kind: Literal["stop"] = "stop"
    truck: Key
    plan: Id | None = None
    done: bool = True
    tasks: tuple[Label, ...] = ()
    minutes: NotNegative | None = None
    reason: Text = ""


class Note(_Doc):
    """Plain words; ``about`` is the id of the entry that they belong to: a reading, a watch."""

    kind: Literal["note"] = "note"
    node: Node | None = None
    about: Id | None = None
    text: Annotated[str, Field(min_length=1, max_length=2000)]


class Void(_Doc):
    """The entry ``entry`` does not hold; it stays readable, crossed out. A correction is a void and a new entry in one save."""

    kind: Literal["void"] = "void"
    entry: Id
    reason: Text = Field(default="", title="why")


Doc = Annotated[
    LevelReading
    | Movement
    | Shot
    | GunCalibration
    | Meter
    | MeterChanged
    | Duty
    | Repair
    | TaskDone
    | WatchOpened
    | WatchClosed
    | LabResult
    | Observation
    | OilSample
    | Plan
    | Stop
    | Note
    | Void,
    Field(discriminator="kind"),
]
MODELS: dict[str, type[_Doc]] = {
    model.model_fields["kind"].default: model
    for model in (
        LevelReading, Movement, Shot, GunCalibration, Meter, MeterChanged, Duty, Repair, TaskDone, WatchOpened,
        WatchClosed, LabResult, Observation, OilSample, Plan, Stop, Note, Void,
    )
}  # fmt: skip


@functools.cache
def doc_adapter() -> TypeAdapter[Doc]:
    """Reads a stored ``doc`` as the model of its kind."""
    return TypeAdapter(Doc)
