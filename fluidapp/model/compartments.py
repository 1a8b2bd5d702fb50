"""What holds a fluid or grease, and what moves oil about: compartments, grease baths, cylinders."""

from typing import Annotated, Any, Literal

from pydantic import Field, Strict, model_validator

from fluidapp.errors import Unknown
from fluidapp.model.base import Count, Frozen, Key, Label, NotNegative, Num, Origin, Positive, Side
from fluidapp.model.gauges import Gauge, LevelPlug, Percent, SightGlass, Stick
from fluidapp.model.shapes import Deadwood, Shape

CompartmentKind = Literal[
    "hydraulic tank",
    "slewing gearbox",
    "final drive",
    "pump-drive case",
    "engine sump",
    "gear case",
    "coolant",
    "fuel tank",
    "other",
]


class Fill(Frozen):
    """A known amount at a known place: ``litres`` in it when the gauge named ``gauge`` (or the first) reads ``reading``."""

    litres: Positive
    reading: Num
    gauge: str | None = None
    depth_mm: Positive | None = None  # oil depth there, where it is known
    source: Origin = "typical"


class Pour(Frozen):
    """A measured pour (or drain, < 0) with the readings before and after it."""

    add: Num
    before: Num
    after: Num
    gauge: str | None = None

    @model_validator(mode="after")
    def _tells(self) -> "Pour":
        if self.add == 0:
            raise ValueError("a pour of 0 L tells nothing")
        if self.before == self.after:
            raise ValueError(f"the gauge shows {self.before:g} before and after {self.add:g} L: it did not move")
        return self


class Capacities(Frozen):
    """Three different figures that are often mixed up, each with its source."""

    at_mark_l: Positive | None = None
    refill_l: Positive | None = None  # after a drain
    system_l: Positive | None = None  # with lines, coolers, cylinders
    source: Origin = "typical"


class Compartment(Frozen):
    """Anything that holds a fluid and is read: a tank, a gear case, a sump."""

    key: Key
    label: Label
    kind: CompartmentKind
    side: Side | None = None
    on: Literal["upper structure", "undercarriage"] = "upper structure"
    product: Key | None = None
    body: Shape | None = None
    minus: tuple[Shape | Deadwood, ...] = ()
    table: tuple[tuple[Num, Num], ...] = ()  # (mm, L) as measured
    fill: Fill | None = None
    pours: tuple[Pour, ...] = ()
    u_tank_percent: Positive | None = None  # how well the litres per mm are known, where somebody knows better than the typical figure
    gauges: tuple[Gauge, ...] = ()
    capacities: Capacities = Capacities()
    settle_min: NotNegative | None = None
    usual_topup_l: Positive | None = None
    grease_packed_kg: Positive | None = None  # packed with grease: kg, no level
    source: Origin = "typical"

    @model_validator(mode="before")
    @classmethod
    def _below_the_ring(cls, data: Any) -> Any:
        """A final drive does not turn with the upper structure."""
        return {"on": "undercarriage"} | data if isinstance(data, dict) and data.get("kind") == "final drive" else data

    @model_validator(mode="after")
    def _tellable(self) -> "Compartment":
        names = [g.name for g in self.gauges]
        if len(set(names)) != len(names):
            raise ValueError("two gauges have the same name")
        ways = bool(self.body) + bool(self.table) + bool(self.pours) + bool(self.fill)
        if self.gauges and not ways:
            raise ValueError("a gauge needs a body, a table, a fill or pours, else its reading says nothing in litres")
        if self.minus and self.body is None:
            raise ValueError("minus needs a body to be taken from")
        for n, pour in enumerate(self.pours, start=1):
            self._rises(n, pour)
        return self

    def _rises(self, n: int, pour: Pour) -> None:
        """A pour lifts the level; a plug's reading counts downwards."""
        if pour.gauge is not None and pour.gauge not in {g.name for g in self.gauges}:
            raise ValueError(f"pour {n} was read on “{pour.gauge}”, which is no gauge here")
        if not self.gauges:
            return
        up = (pour.after < pour.before) if isinstance(self.gauge(pour.gauge), LevelPlug) else (pour.after > pour.before)
        if up != (pour.add > 0):
            moved = f"{pour.add:g} L moved the gauge from {pour.before:g} to {pour.after:g}"
            raise ValueError(f"pour {n}: {moved}, check whether before and after are swapped")

    def gauge(self, name: str | None = None) -> "Stick | SightGlass | Percent | LevelPlug":
        """The gauge of that name, or the first one."""
        for gauge in self.gauges:
            if name is None or gauge.name == name:
                return gauge
        raise Unknown("Gauge", name or "", [g.name for g in self.gauges])


class Gear(Frozen):
    """Toothing of the slewing ring, as far as it shapes the bath."""

    module: Positive
    teeth: Annotated[int, Strict(), Field(ge=8)]
    internal: bool = True
    shift: Num = 0.0


class Bath(Frozen):
    """Grease bath round the pinion. One of: litres per mm, outer and inner radius, gear and wall."""

    key: Key
    label: Label
    product: Key | None = None
    area_l_per_mm: Positive | None = None
    outer_mm: Positive | None = None
    inner_mm: Positive | None = None
    gear: Gear | None = None
    wall_radius_mm: Positive | None = None
    u_area_percent: Positive = 5.0
    packed_depth_mm: Positive | None = None
    u_packed_mm: Positive = 5.0
    depth_low_mm: Positive | None = None
    depth_high_mm: Positive | None = None
    depth_max_mm: Positive | None = None  # top of the pinion
    datum: Literal["gear bottom", "pan floor", "pinion bottom"] = "pan floor"
    linked: tuple[Key, ...] = ()  # gearboxes that can leak into it
    source: Origin = "typical"

    @model_validator(mode="after")
    def _one_way(self) -> "Bath":
        if self.area_l_per_mm is None and not (self.outer_mm and self.inner_mm) and not (self.gear and self.wall_radius_mm):
            raise ValueError("give area_l_per_mm, or outer_mm and inner_mm, or gear and wall_radius_mm")
        if self.outer_mm and self.inner_mm and self.inner_mm >= self.outer_mm:
            raise ValueError(f"inner_mm {self.inner_mm:g} is not below outer_mm {self.outer_mm:g}")
        return self


class Cylinder(Frozen):
    """Working cylinders of one kind; ``ref`` is the rod extension in the reference posture [mm]."""

    name: Label
    count: Count = 1
    rod: Positive
    stroke: Positive
    ref: NotNegative = 0.0
    bore: Positive | None = None

    @model_validator(mode="after")
    def _rod_fits(self) -> "Cylinder":
        if self.bore is not None and self.rod >= self.bore:
            raise ValueError(f"rod {self.rod:g} mm is not thinner than the bore {self.bore:g} mm")
        if self.ref > self.stroke:
            raise ValueError(f"ref {self.ref:g} mm is beyond the stroke {self.stroke:g} mm")
        return self
