"""Depths of grease read at several places round the ring, and what their mean is worth."""

import math
from dataclasses import dataclass

import numpy as np

from fluidapp.errors import BadInput, OutOfRange
from fluidapp.model import Bath
from fluidapp.model.holds import check_depth

U_ONE_MM = 2.0  # one depth, typical, editable (common practice, no source)
U_FEW_MM = 8.0  # mean of 1 to 3 depths, or of depths on one side, typical, editable: 1° over 0.9 m lifts one edge by 7.9 mm
_TYPICAL_DOF = 8.0  # a typical value known to about 25 % (JCGM 100:2008, G.4.2, from memory)
_LOPSIDED = 0.1


@dataclass(frozen=True, slots=True)
class Survey:
    """Grease depths of one visit.

    depths_mm : one or more, each 0 or above. slew_deg : where each was read (boom or ring angle), or empty where not noted;
    four or more depths are then taken as spread evenly, all round. u_one_mm : standard uncertainty of one depth.
    u_few_mm : of the mean where fewer than four depths, or depths on one side only, leave the tilt in it.
    mean_of : how many depths the one figure is the mean of, where they were not noted one by one; four or more then count as
    spread evenly, all round, like depths without angles.
    BadInput for no depth or angles that do not fit; OutOfRange for a depth below 0. Common practice, no source.
    """

    depths_mm: tuple[float, ...]
    slew_deg: tuple[float, ...] = ()
    u_one_mm: float = U_ONE_MM
    u_few_mm: float = U_FEW_MM
    mean_of: int = 1

    def __post_init__(self) -> None:
        object.__setattr__(self, "depths_mm", tuple(float(d) for d in self.depths_mm))
        object.__setattr__(self, "slew_deg", tuple(float(s) for s in self.slew_deg))
        if not self.depths_mm:
            raise BadInput("depths", "none", "Enter at least one depth.")
        for depth in self.depths_mm:
            if not 0.0 <= depth < math.inf:
                raise OutOfRange("depth", depth, 0.0, None, "mm", "Read it from the bath's own floor or gear bottom upwards.")
        if self.slew_deg and len(self.slew_deg) != len(self.depths_mm):
            raise BadInput("slew angles", len(self.slew_deg), f"Enter one for each of the {len(self.depths_mm)} depths, or none.")
        if not all(math.isfinite(s) for s in self.slew_deg):
            raise BadInput("slew angles", "not finite", "Enter degrees.")
        if self.mean_of < 1 or (self.mean_of > 1 and len(self.depths_mm) > 1):
            raise BadInput("number of depths behind the mean", self.mean_of, "Give it with one mean alone, as a whole number above 0.")
        if not (self.u_one_mm > 0 and self.u_few_mm > 0 and math.isfinite(self.u_one_mm + self.u_few_mm)):
            raise BadInput("doubt of a depth", min(self.u_one_mm, self.u_few_mm), "No depth is exact: enter a number above 0.")

    @property
    def mean_mm(self) -> float:
        """Mean depth [mm]."""
        return math.fsum(self.depths_mm) / len(self.depths_mm)

    @property
    def balanced(self) -> bool:
        """True where four or more depths lie so far round that a tilt cancels in their mean (opposite places)."""
        return self.mean_of >= 4 or (len(self.depths_mm) >= 4 and abs(self._round().mean()) <= _LOPSIDED)

    @property
    def count(self) -> int:
        """How many depths stand behind the mean."""
        return max(len(self.depths_mm), self.mean_of)

    @property
    def scatter_mm(self) -> float:
        """Standard deviation of the depths about a tilted plane [mm]; nan with too few depths to tell."""
        return self._residual()[0]

    @property
    def u_mm(self) -> float:
        """Standard uncertainty of the mean [mm]."""
        return self._worth()[0]

    @property
    def dof(self) -> float:
        """Degrees of freedom of :attr:`u_mm`; infinite where a typical value stands behind it."""
        return self._worth()[1]

    @property
    def assumed(self) -> tuple[str, ...]:
        """What was not noted and is therefore assumed, in words."""
        if self.count >= 4 and not self.slew_deg:
            return ("the depths are spread evenly, all round",)
        return ()

    @property
    def remarks(self) -> tuple[str, ...]:
        """What would make the mean better."""
        said: list[str] = []
        if self.count < 4:
            said.append("Fewer than four depths: a tilt stays in the mean. Read at boom 0, 90, 180 and 270° where slewing is safe.")
        elif not self.balanced:
            said.append("The depths lie on one side: a tilt stays in the mean. Read opposite places, away from the pinion's trench.")
        if self.scatter_mm > 2.0 * self.u_one_mm:
            said.append("The depths differ by more than reading and tilt explain: grease does not level itself. Read at more places.")
        return tuple(said)

    def _round(self) -> "np.ndarray[tuple[int, ...], np.dtype[np.complex128]]":
        n = len(self.depths_mm)
        angles = np.radians(self.slew_deg) if self.slew_deg else 2.0 * np.pi * np.arange(n) / n
        return np.asarray(np.exp(1j * angles), dtype=np.complex128)

    def _residual(self) -> tuple[float, int]:
        """Standard deviation about the best tilted plane and its degrees of freedom."""
        if len(self.depths_mm) < 4:
            return math.nan, 0
        place = self._round()
        plane = np.column_stack([np.ones(place.size), place.real, place.imag])
        fitted, _, rank, _ = np.linalg.lstsq(plane, np.array(self.depths_mm), rcond=1e-9)
        left = np.array(self.depths_mm) - plane @ fitted
        dof = place.size - int(rank)
        return (math.sqrt(float(left @ left) / dof), dof) if dof > 0 else (math.nan, 0)

    def _worth(self) -> tuple[float, float]:
        if not self.balanced:
            return self.u_few_mm, math.inf
        scatter, dof = self._residual()
        one, worth = self.u_one_mm, math.inf
        if dof and scatter > one:  # seen scatter, drawn towards the typical one as far as few depths go
            one = math.sqrt((_TYPICAL_DOF * one**2 + dof * scatter**2) / (_TYPICAL_DOF + dof))
            worth = _TYPICAL_DOF + dof
        return one / math.sqrt(self.count), worth


def fits(bath: Bath, *surveys: Survey | None) -> None:
    """Refuses depths that cannot be in this bath: OutOfRange with the limit of :func:`fluidapp.model.holds.most_mm`.

    None = not read. Common practice, no source.
    """
    for survey in surveys:
        for depth in survey.depths_mm if survey else ():
            check_depth(bath, depth)
