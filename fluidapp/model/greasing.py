"""Grease points, slewing rings and grease guns."""

from typing import Annotated, Literal

from pydantic import Field, Strict

from fluidapp.model.base import Count, Frozen, Key, Label, NotNegative, Num, Origin, Positive, Text


class Ring(Frozen):
    """Nipples of a slewing ring and the positions at which it is greased."""

    nipples_deg: Annotated[tuple[Num, ...], Field(min_length=1)] = (0.0,)
    frame: Literal["upper", "lower"] = "upper"
    positions: Annotated[int, Strict(), Field(ge=1, le=36)] = 4
    finish_turns: Annotated[int, Strict(), Field(ge=0, le=5)] = 2


class GreasePoint(Frozen):
    """A place that is greased by the gun: the ring's race, its gear, a pin, a bearing."""

    key: Key
    label: Label
    kind: Literal["slew race", "slew gear", "pin", "bearing", "bath"]
    product: Key | None = None
    limit_h: Positive
    limit_days: Positive = 182.0
    dose_g: Positive | None = None  # per nipple and position
    cap_g: Positive | None = None
    cap_cc: Positive | None = None
    stop_at_seal: bool = True
    ring: Ring | None = None
    note: Text = ""
    source: Origin = "typical"


class Gun(Frozen):
    """What grease is given with. ``g_per_stroke`` only after weighing n strokes."""

    key: Key
    label: Label
    feed: Literal["hand", "power", "auto"] = "hand"
    g_per_stroke: Positive | None = None
    g_per_min: Positive | None = None
    sd_g: NotNegative = 0.08
    n_strokes: Count | None = None
    calibrated_on: str | None = None
    product: Key | None = None
