"""Number and text types of the records, and the frozen base of all of them."""

from collections.abc import Sequence
from typing import Annotated, Any, Literal, Protocol, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, Strict, ValidationError

from fluidapp.errors import BadInput, Unknown

Num = Annotated[float, Strict()]
Positive = Annotated[float, Strict(), Field(gt=0)]
NotNegative = Annotated[float, Strict(), Field(ge=0)]
Count = Annotated[int, Strict(), Field(ge=1)]
Key = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_-]{0,59}$")]
Label = Annotated[str, Field(min_length=1, max_length=120)]
Text = Annotated[str, Field(max_length=2000)]
Point = tuple[Num, Num, Num]
ORIGIN: Point = (0.0, 0.0, 0.0)
Axis = Literal["x", "y"]
Side = Literal["left", "right", "front", "rear"]
Origin = Literal["plate", "manual", "poured", "taped", "typical"]


class Frozen(BaseModel):
    """Immutable; unknown fields and infinities are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)

    @classmethod
    def made(cls, **fields: Any) -> Self:
        """The record from what a person entered; BadInput naming the field for the first thing that does not fit."""
        try:
            return cls.model_validate(fields)
        except ValidationError as err:
            first = err.errors(include_url=False)[0]
            name = str(first["loc"][0]) if first["loc"] else ""
            known = cls.model_fields.get(name)
            field = (known.title if known is not None else None) or name or cls.__name__
            what = first["msg"].removeprefix("Value error, ")
            value = fields.get(name, "what was entered")
            raise BadInput(field[:1].upper() + field[1:], value, what[:1].upper() + what[1:] + ".") from err


class Keyed(Protocol):
    """Anything that is called by its key."""

    @property
    def key(self) -> str: ...


K = TypeVar("K", bound=Keyed)


def find(kind: str, key: str, items: Sequence[K]) -> K:
    """The one of that key; Unknown, with the list, for any other. kind : what it is called in the refusal."""
    for item in items:
        if item.key == key:
            return item
    raise Unknown(kind, key, [item.key for item in items])
