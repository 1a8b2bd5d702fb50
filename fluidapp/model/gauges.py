"""Gauges, their marks, and one reading of them."""

from typing import Annotated, Literal

from pydantic import Field, Strict, model_validator

from fluidapp.model.base import Frozen, Label, Num, Point, Positive, Side, Text

REFERENCE = "reference posture"


class Band(Frozen):
    """Where the level belongs on one gauge, for one posture and one range of oil temperature [mm on the gauge]."""

    low: Num
    high: Num
    target: Num | None = None  # none: the middle
    posture: Label = REFERENCE
    temp_low_c: Num | None = None
    temp_high_c: Num | None = None
    label: str = ""

    @model_validator(mode="after")
    def _ordered(self) -> "Band":
        if self.high <= self.low:
            raise ValueError(f"high {self.high:g} mm is not above low {self.low:g} mm")
        if self.target is not None and not self.low <= self.target <= self.high:
            raise ValueError(f"target {self.target:g} mm is not within {self.low:g} to {self.high:g} mm")
        if self.temp_low_c is not None and self.temp_high_c is not None and self.temp_high_c < self.temp_low_c:
            raise ValueError(f"temp_high_c {self.temp_high_c:g} is below temp_low_c {self.temp_low_c:g}")
        return self

    @property
    def reference(self) -> bool:
        """Whether the marks hold for the machine's reference posture."""
        return self.posture == REFERENCE

    @property
    def aim_mm(self) -> float:
        """The reading to fill to: the stated target, else the middle of the band."""
        return self.target if self.target is not None else (self.low + self.high) / 2

    @property
    def mark_c(self) -> float | None:
        """Oil temperature for which the marks hold [°C]: the middle of the stated range, else unknown."""
        if self.temp_low_c is None or self.temp_high_c is None:
            return None
        return (self.temp_low_c + self.temp_high_c) / 2


class _Gauge(Frozen):
    name: Label
    side: Side | None = None
    division_mm: Positive | None = None  # distance of its marks
    u_mm: Positive | None = None  # standard uncertainty of one reading, where somebody knows better than the typical one
    start_mm: Num = 0.0  # lowest reading that the gauge can show
    end_mm: Num | None = None  # highest reading that the gauge can show
    zero_height_mm: Num = 0.0  # height of the gauge's zero over the zero of the tank's own table, where the tank has no body
    bands: tuple[Band, ...] = ()

    @property
    def highest(self) -> float | None:
        """Highest reading that the gauge can show, in its own scale; None where it is not entered."""
        return self.end_mm


class Stick(_Gauge):
    """Dipstick: ``tip`` is its zero, it leans ``angle`` degrees from upright towards ``toward`` (0 = forward, 90 = left)."""

    kind: Literal["stick"]
    tip: Point | None = None
    angle: Annotated[float, Strict(), Field(ge=0, lt=80)] = 0.0
    toward: Num = 0.0
    seated: Literal["screwed in", "rested"] | None = None


class SightGlass(_Gauge):
    """Sight glass or tube, read upright; ``at`` is its zero."""

    kind: Literal["sight glass"]
    at: Point | None = None


class Percent(_Gauge):
    """Gauge in per cent of its range or of the tank's capacity; readings are in %, ``at`` is the 0 % point."""

    kind: Literal["percent"]
    of: Literal["range", "capacity"] = "range"
    range_mm: Positive | None = None
    at: Point | None = None

    @property
    def highest(self) -> float | None:
        """As for every gauge; a dial ends at 100 % by itself."""
        return 100.0 if self.end_mm is None else self.end_mm


class LevelPlug(_Gauge):
    """Level plug: reading = mm below the lip; ``at`` is the lip. It counts only with the plug in its right position."""

    kind: Literal["level plug"]
    at: Point | None = None
    position_tick: bool = True


Gauge = Annotated[Stick | SightGlass | Percent | LevelPlug, Field(discriminator="kind")]


Bound = Literal["exact", "at most", "at least"]


class Reading(Frozen):
    """One gauge reading. ``level`` is in the gauge's own scale (mm, or % for a percentage gauge); None means: not measured.

    bound : "exact"; "at most" for a dry stick or below the glass; "at least" for above the glass or over the plug's lip.
    as_read : what was typed, with its unit.
    """

    gauge: str | None = None
    level: Num | None = None
    bound: Bound = "exact"
    as_read: Text = ""
    temp_c: Annotated[float, Strict(), Field(ge=-60, le=150)] | None = Field(default=None, title="oil temperature [°C]")
    pitch_deg: Annotated[float, Strict(), Field(ge=-45, le=45)] | None = Field(default=None, title="slope along [°]")
    roll_deg: Annotated[float, Strict(), Field(ge=-45, le=45)] | None = Field(default=None, title="slope across [°]")
    swing_deg: Num = 0.0
    posture: Literal["reference", "other"] | None = None
    shown_mm: dict[str, Num] = Field(default_factory=dict)  # rod shown by each kind of cylinder, for a posture that is not the reference
    u_mm: Positive | None = None
    position_ok: bool | None = None  # level plug: the plug stands in its position
    ran_out_l: Positive | None = Field(default=None, title="ran out [L]")  # level plug: caught until the oil stood at the lip

    @model_validator(mode="after")
    def _whole(self) -> "Reading":
        if self.bound == "exact" and self.level is None:
            raise ValueError("an exact reading needs a level")
        if self.ran_out_l is not None and (self.bound != "exact" or self.level != 0):
            raise ValueError(f"{self.ran_out_l:g} L ran out until the oil stood at the lip: the level is then exactly 0 mm")
        return self
