"""Machines, products, and the site where they work."""

from typing import Annotated, Literal

from pydantic import Field, Strict, model_validator

from fluidapp.model.base import Frozen, Key, Label, NotNegative, Positive, Text, find
from fluidapp.model.compartments import Bath, Compartment, Cylinder
from fluidapp.model.doubts import Doubts
from fluidapp.model.greasing import GreasePoint
from fluidapp.model.intervals import Task


class Machine(Frozen):
    """One machine with all that is read, filled and greased on it."""

    key: Key
    label: Label
    kind: Label = "excavator"
    class_t: Positive | None = None
    sprockets: Literal["rear", "front"] = "rear"
    posture: Text = ""  # the reference posture in words: the one for which the marks hold
    compartments: tuple[Compartment, ...] = ()
    baths: tuple[Bath, ...] = ()
    cylinders: tuple[Cylinder, ...] = ()
    grease_points: tuple[GreasePoint, ...] = ()
    tasks: tuple[Task, ...] = ()
    conditions: tuple[Label, ...] = ()  # that hold here and shorten the tasks that name them: dust, heat, water ...
    doubts: Doubts = Doubts()
    hours_per_week: Positive | None = None
    lat: Annotated[float, Strict(), Field(ge=-90, le=90)] | None = None
    lon: Annotated[float, Strict(), Field(ge=-180, le=180)] | None = None
    typical: bool = False
    note: Text = ""

    @model_validator(mode="after")
    def _keys_differ(self) -> "Machine":
        keys = [c.key for c in self.compartments] + [b.key for b in self.baths] + [p.key for p in self.grease_points]
        for key in keys:
            if keys.count(key) > 1:
                raise ValueError(f"the key “{key}” is used twice")
        return self

    @model_validator(mode="after")
    def _tasks_fit(self) -> "Machine":
        places = [c.key for c in self.compartments] + [b.key for b in self.baths] + [p.key for p in self.grease_points]
        keys = [t.key for t in self.tasks]
        for task in self.tasks:
            if keys.count(task.key) > 1:
                raise ValueError(f"two tasks have the key “{task.key}”")
            if task.at is not None and task.at not in places:
                raise ValueError(
                    f"the task “{task.key}” is at “{task.at}”, which is not on this machine; there are {', '.join(places) or 'none'}"
                )
        named = sorted({s.condition for t in self.tasks for s in t.shorter})
        for condition in self.conditions:
            if condition not in named:
                raise ValueError(f"the condition “{condition}” shortens none of the tasks; they name {', '.join(named) or 'none'}")
        return self

    def compartment(self, key: str) -> Compartment:
        """The compartment of that key; Unknown, with the list, for any other."""
        return find("Compartment", key, self.compartments)

    def bath(self, key: str | None = None) -> Bath:
        """The bath of that key, or the only one."""
        return self.baths[0] if key is None and self.baths else find("Grease bath", key or "", self.baths)

    def grease_point(self, key: str) -> GreasePoint:
        """The grease point of that key."""
        return find("Grease point", key, self.grease_points)

    def without(self, key: str) -> "Machine":
        """The same without the compartment or bath of that key, its tasks, and the conditions that only they named."""
        tasks = tuple(t for t in self.tasks if t.at != key)
        named = {s.condition for t in tasks for s in t.shorter}
        return self.model_copy(
            update={
                "compartments": tuple(c for c in self.compartments if c.key != key),
                "baths": tuple(b for b in self.baths if b.key != key),
                "tasks": tasks,
                "conditions": tuple(c for c in self.conditions if c in named),
            }
        )


class Container(Frozen):
    """A size in which a product is poured or bought."""

    label: Label
    volume_l: Positive


class Product(Frozen):
    """One oil, grease, coolant, fuel, or used oil. Fields that do not apply stay empty."""

    key: Key
    label: Label
    kind: Literal["oil", "grease", "coolant", "fuel", "used"]
    family: Literal["mineral", "biodegradable ester", "other", "unknown"] = "mineral"
    rho15: Annotated[float, Strict(), Field(gt=500, lt=2000)] | None = None
    nu40: Positive | None = None
    nu100: Positive | None = None
    nu_source: Literal["nominal", "data sheet", "measured new"] = "nominal"
    nu_date: str | None = None
    thickener: str | None = None
    nlgi: str | None = None
    price: NotNegative | None = None  # per L, grease per kg
    currency: str = ""
    containers: tuple[Container, ...] = ()


class Site(Frozen):
    """Where the machines work. ``today`` is fixed in a demo, so that nothing ages."""

    key: Key
    label: Label
    today: str | None = None
    utc_offset_min: Annotated[int, Strict(), Field(ge=-840, le=840)] = 0
    currency: str = ""
    invented: bool = False
    note: Text = ""
