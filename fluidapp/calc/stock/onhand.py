"""What is on hand, by product and place, from every movement in and out; and in which containers."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fluidapp.calc.consumption.series import Array, sums
from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput


@dataclass(frozen=True, slots=True)
class OnHand:
    """One row a product and place, sorted: litres ± u (1 sigma). ``remarks`` name those of which more went out than ever came in."""

    product: NDArray[Any]
    place: NDArray[Any]
    litres: Array
    u: Array
    remarks: tuple[str, ...]

    def of(self, product: object) -> tuple[float, float]:
        """Litres of one product in all places, and their u."""
        part = self.product == product
        return float(self.litres[part].sum()), float(np.sqrt(np.square(self.u[part]).sum()))


def on_hand(
    product: ArrayLike, from_place: ArrayLike, to_place: ArrayLike, litres: ArrayLike, u_l: ArrayLike, places: Sequence[object]
) -> OnHand:
    """What the movements leave in ``places``: the stock, the used-oil store, the compartments of a truck.

    product, from_place, to_place, litres (>= 0), u_l (1 sigma, nan = not known, taken as 0): n movements, of the beginning on (an opening
    stock is a movement from outside). BadInput for unlike lengths. Formula: sum in - sum out; u from the root of the sum of squares.
    """
    what, a, b = np.asarray(product), np.asarray(from_place), np.asarray(to_place)
    amount, u = np.asarray(litres, np.float64), np.nan_to_num(np.asarray(u_l, np.float64))
    for name, values in (("place", a), ("place", b), ("litres", amount), ("u", u)):
        if values.shape != what.shape:
            raise BadInput(name, str(values.shape), f"Give one for each of the {len(what)} movements.")
    if not (np.all((amount >= 0) & np.isfinite(amount)) and np.all(u >= 0)):
        raise BadInput("litres", "below 0 or not a number", "Each movement needs its litres, 0 or more.")
    wanted = np.asarray(places, dtype=b.dtype if len(b) else None)
    into, out = np.flatnonzero(np.isin(b, wanted)), np.flatnonzero(np.isin(a, wanted))
    rows = np.concatenate((into, out))
    where = np.concatenate((b[into], a[out]))
    names, kind = np.unique(what[rows], return_inverse=True)
    spots, spot = np.unique(where, return_inverse=True)
    pairs, pair = np.unique(kind * max(len(spots), 1) + spot, return_inverse=True)
    sign = np.concatenate((np.ones(len(into)), -np.ones(len(out))))
    left = sums(pair, sign * amount[rows], len(pairs))
    doubt = np.sqrt(sums(pair, np.square(u[rows]), len(pairs)))
    found_product, found_place = names[pairs // max(len(spots), 1)], spots[pairs % max(len(spots), 1)]
    short = [k for k in range(len(pairs)) if left[k] < -1.645 * doubt[k] - 1e-9]
    remarks = tuple(
        f"{found_product[k]}, {found_place[k]}: more went out than came in. A delivery or a count is missing in the records." for k in short
    )
    return OnHand(found_product, found_place, left, doubt, remarks)


@dataclass(frozen=True, slots=True)
class Packed:
    """``full`` containers of ``size_l`` litres and ``open_l`` litres in opened ones."""

    full: int
    size_l: float
    open_l: float


def packed(litres: float, size_l: float) -> Packed:
    """Litres on hand as containers of one size, at most one of them open; 0 where nothing is left.

    >>> packed(615.0, 208.0)
    Packed(full=2, size_l=208.0, open_l=199.0)
    """
    above_zero("size of a container", size_l, "L")
    left = max(0.0, litres)
    full = math.floor(left / size_l + 1e-9)
    return Packed(full, size_l, max(0.0, left - full * size_l))
