"""The lube truck that brings oil and grease and takes used oil away, and settings that belong to no machine."""

from typing import Annotated, Literal

from pydantic import Field, Strict, model_validator

from fluidapp.model.base import Frozen, Key, Label, NotNegative, Num, Positive, Text, find

Clock = Annotated[str, Field(pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")]  # "HH:MM", local time of the site


class TruckCompartment(Frozen):
    """One compartment of a truck, for one product: in L or, for grease, in kg.

    rate_per_min : of its pump or suction, in the unit of its capacity. on_board : at the start, None = not entered. collects : it
    takes up what comes out of machines, such as used oil.
    """

    key: Key
    label: Label
    product: Key
    collects: bool = False
    capacity_l: Positive | None = None
    capacity_kg: Positive | None = None
    rate_per_min: Positive | None = None
    on_board: NotNegative | None = None

    @model_validator(mode="after")
    def _fits(self) -> "TruckCompartment":
        if (self.capacity_l is None) == (self.capacity_kg is None):
            raise ValueError("give capacity_l or capacity_kg, one of the two")
        if self.on_board is not None and self.on_board > self.capacity:
            raise ValueError(f"on_board {self.on_board:g} is more than the {self.capacity:g} {self.unit} that it holds")
        return self

    @property
    def unit(self) -> Literal["L", "kg"]:
        """The unit of capacity, rate and amount on board."""
        return "kg" if self.capacity_l is None else "L"

    @property
    def capacity(self) -> float:
        """What it holds, in its unit."""
        return self.capacity_l or self.capacity_kg or 0.0

    @property
    def starts_with(self) -> float:
        """What is on board at the start; where it was not entered, all of a delivered product and nothing of a collected one."""
        return self.on_board if self.on_board is not None else 0.0 if self.collects else self.capacity


class Truck(Frozen):
    """One lube truck. lat, lon : its home. A shift whose end is not after its start ends on the next day."""

    key: Key
    label: Label
    compartments: tuple[TruckCompartment, ...] = ()
    lat: Annotated[float, Strict(), Field(ge=-90, le=90)] | None = None
    lon: Annotated[float, Strict(), Field(ge=-180, le=180)] | None = None
    shift_start: Clock | None = None
    shift_end: Clock | None = None
    note: Text = ""

    @model_validator(mode="after")
    def _whole(self) -> "Truck":
        keys, products = [c.key for c in self.compartments], [c.product for c in self.compartments]
        for key in keys:
            if keys.count(key) > 1:
                raise ValueError(f"the key “{key}” is used twice")
        for product in products:
            if products.count(product) > 1:
                raise ValueError(f"two compartments hold “{product}”: enter them as one")
        if (self.lat is None) != (self.lon is None):
            raise ValueError("a home needs lat and lon")
        if (self.shift_start is None) != (self.shift_end is None):
            raise ValueError("a shift needs its start and its end")
        if self.shift_start is not None and self.shift_start == self.shift_end:
            raise ValueError(f"the shift starts and ends at {self.shift_start}")
        return self

    def compartment(self, key: str) -> TruckCompartment:
        """The compartment of that key; Unknown, with the list, for any other."""
        return find(f"Compartment of {self.label}", key, self.compartments)

    def holds(self, product: str) -> TruckCompartment | None:
        """The compartment for that product; None where the truck has none."""
        return next((one for one in self.compartments if one.product == product), None)


class Setting(Frozen):
    """Figures and choices that belong to no machine, such as costs of a kilometre and an hour, by name."""

    key: Key
    label: Label
    values: dict[Label, Annotated[bool, Strict()] | Num | Text] = Field(default_factory=dict)
