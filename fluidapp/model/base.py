"""Number and text types of the records, and the frozen base of all of them."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict

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
