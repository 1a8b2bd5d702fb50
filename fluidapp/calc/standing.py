"""Where a level stands against its marks: above, below, between, or not to be told."""

from dataclasses import dataclass
from typing import Literal

from fluidapp.calc import level, topup
from fluidapp.calc.decision import CLAIM

Where = Literal["above", "below", "between", "near the upper mark", "near the lower mark", "not clear"]


@dataclass(frozen=True, slots=True)
class Standing:
    """``where`` the level stands; ``off_l`` [L, > 0] above the upper or below the lower mark with ``u_l``, ``dof``, else 0."""

    where: Where
    off_l: float = 0.0
    u_l: float = 0.0
    dof: float = 0.0


def standing(volume: level.Volume, marks: level.Marks) -> Standing:
    """Where ``volume`` stands against ``marks``, claimed beyond 1.645 u of the difference (one-sided, 5 % false alarms).

    The difference and its u : :func:`fluidapp.calc.topup.size`. A one-sided volume is above or below where its bound says so,
    else "not clear".
    """
    to_high, to_low = (topup.size(volume, target) for target in (marks.high_l, marks.low_l))
    over, under = -to_high.add_l, to_low.add_l
    if over > CLAIM * to_high.u_l and volume.bound != "at most":
        return Standing("above", over, to_high.u_l, to_high.dof)
    if under > CLAIM * to_low.u_l and volume.bound != "at least":
        return Standing("below", under, to_low.u_l, to_low.dof)
    if volume.bound != "exact":
        return Standing("not clear")
    near_high, near_low = over > -CLAIM * to_high.u_l, under > -CLAIM * to_low.u_l
    if near_high and near_low:
        return Standing("not clear")
    if near_high or near_low:
        return Standing("near the upper mark" if near_high else "near the lower mark")
    return Standing("between")
