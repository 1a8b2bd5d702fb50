"""What came in, what was poured for which reason, what was drained, what was handed over: every movement sorted by where it went."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from fluidapp.calc.consumption.series import Array, IntArray, sums
from fluidapp.calc.decision import Closing, closing
from fluidapp.errors import BadInput

OUTSIDE, STOCK, MACHINE, USED_OIL = range(4)  # kinds of places; the compartments of a truck are stock
PURPOSES: Final = ("top-up", "planned change", "first fill", "drain", "greasing", "stock", "used oil", "other")
FLOWS: Final = ("delivered", "topped up", "changed", "poured, other", "drained", "handed over", "left stock", "moved")


def sort(from_kind: ArrayLike, to_kind: ArrayLike, purpose: ArrayLike) -> IntArray:
    """The number in FLOWS of each movement, from the kinds of its two places and its purpose (numbers in PURPOSES).

    Into a machine from stock or from outside: "topped up", "changed" (planned change or first fill) or "poured, other". Out of a machine
    to used oil or outside: "drained". Outside to stock or used oil: "delivered". Used oil to outside: "handed over". Stock to outside or
    to used oil: "left stock". Between places of one kind, and whatever comes back into stock: "moved". Own rule; BadInput for other codes.
    """
    a, b, why = (np.asarray(x, np.intp) for x in (from_kind, to_kind, purpose))
    if not a.shape == b.shape == why.shape:
        raise BadInput("movements", str(a.shape), "Give two places and a purpose for each.")
    if not (np.all((a >= 0) & (a <= USED_OIL) & (b >= 0) & (b <= USED_OIL)) and np.all((why >= 0) & (why < len(PURPOSES)))):
        raise BadInput("movements", "an unknown code", "See PURPOSES and the kinds of places.")
    poured = (b == MACHINE) & (a != MACHINE) & (a != USED_OIL)
    top, planned = PURPOSES.index("top-up"), (PURPOSES.index("planned change"), PURPOSES.index("first fill"))
    return np.select(
        [
            poured & (why == top),
            poured & np.isin(why, planned),
            poured,
            (a == MACHINE) & ((b == USED_OIL) | (b == OUTSIDE)),
            (a == OUTSIDE) & ((b == STOCK) | (b == USED_OIL)),
            (a == USED_OIL) & (b == OUTSIDE),
            (a == STOCK) & ((b == OUTSIDE) | (b == USED_OIL)),
        ],
        [FLOWS.index(name) for name in ("topped up", "changed", "poured, other", "drained", "delivered", "handed over", "left stock")],
        FLOWS.index("moved"),
    )


def totals(flow: ArrayLike, group: ArrayLike, groups: int, litres: ArrayLike, u_l: ArrayLike) -> tuple[Array, Array]:
    """Litres of each flow (columns, as in FLOWS) of each of ``groups`` groups (rows, numbered from 0), and their standard uncertainty."""
    cell = np.asarray(group, np.intp) * len(FLOWS) + np.asarray(flow, np.intp)
    size, shape = groups * len(FLOWS), (groups, len(FLOWS))
    total = sums(cell, np.asarray(litres, np.float64), size)
    squares = sums(cell, np.square(np.asarray(u_l, np.float64)), size)
    return total.reshape(shape), np.sqrt(squares).reshape(shape)


@dataclass(frozen=True, slots=True)
class Accounted:
    """Added less drained less what the machines hold more than before: lost ± u, in L, with its word; handed over beside drained."""

    added_l: float
    drained_l: float
    held_more_l: float
    lost_l: float
    u_l: float
    word: Closing
    handed_over_l: float
    still_here_l: float


def account(flows: Mapping[str, tuple[float, float]], held_more: tuple[float, float] = (0.0, 0.0)) -> Accounted:
    """Where the oil of a period went.

    flows : litres and standard uncertainty of each flow by its name in FLOWS; missing ones are 0. held_more : how much more the machines
    hold at the end than at the beginning, ± u [L]. Lost means: to the ground, into a compartment that is not counted, or an error in the
    records. still_here_l : drained less handed over, which the used-oil store must hold more than before.
    Formula: lost = topped up + changed + poured, other - drained - held more (trade article, title not recorded); word: see
    :func:`fluidapp.calc.decision.closing`.
    """
    poured = [flows.get(name, (0.0, 0.0)) for name in ("topped up", "changed", "poured, other")]
    (out, u_out), (gone, _) = (flows.get(name, (0.0, 0.0)) for name in ("drained", "handed over"))
    added = sum(litres for litres, _ in poured)
    lost = added - out - held_more[0]
    u = math.hypot(u_out, held_more[1], *(u for _, u in poured))
    return Accounted(added, out, held_more[0], lost, u, closing(lost, u), gone, out - gone)
