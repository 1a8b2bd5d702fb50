"""What is done on a machine again and again, and after how many hours or days."""

from typing import Annotated, Literal

from pydantic import Field, Strict, model_validator

from fluidapp.model.base import Frozen, Key, Label, Positive

TaskKind = Literal["change", "sample", "filter", "grease", "check"]
TYPICAL = "typical: common practice, no source"


class Shorter(Frozen):
    """A condition under which an interval is only ``factor`` as long."""

    condition: Label
    factor: Annotated[float, Strict(), Field(gt=0, le=1)]
    source: Label = TYPICAL


class Task(Frozen):
    """A task of the due list: so long after a repair or first fill for the first time, then again and again.

    at : key of the compartment, grease bath or grease point; left out, it is about the whole machine. Hours and days count both,
    whichever comes first. product : only where it is not that of the place.
    """

    key: Key
    label: Label
    kind: TaskKind
    at: Key | None = None
    product: Key | None = None
    first_h: Positive | None = None
    repeat_h: Positive | None = None
    first_days: Positive | None = None
    repeat_days: Positive | None = None
    shorter: tuple[Shorter, ...] = ()
    source: Label = TYPICAL

    @model_validator(mode="after")
    def _has_an_interval(self) -> "Task":
        if (self.first_h, self.repeat_h, self.first_days, self.repeat_days) == (None,) * 4:
            raise ValueError("give repeat_h or repeat_days, or first_h or first_days")
        if self.at is None and self.kind != "check":
            raise ValueError(f"a {self.kind} needs a place: give at, the key of its compartment, grease bath or grease point")
        named = [s.condition for s in self.shorter]
        if doubled := [c for c in named if named.count(c) > 1]:
            raise ValueError(f"the condition “{doubled[0]}” is given twice")
        return self

    @property
    def has_first(self) -> bool:
        """Whether the first time differs from the later ones."""
        return self.first_h is not None or self.first_days is not None

    @property
    def typical(self) -> bool:
        """Whether nobody has replaced its figures by this machine's own."""
        return self.source.startswith("typical")

    def shortened(self, conditions: tuple[str, ...]) -> Shorter | None:
        """The strongest of the conditions that hold; several are not multiplied. None where none shortens it. Own rule."""
        return min((s for s in self.shorter if s.condition in conditions), key=lambda s: s.factor, default=None)
