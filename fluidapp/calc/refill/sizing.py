"""Two numbers for a refill: before the first start, and after running; and whether the suction stays covered in between."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol

from fluidapp.calc import figure
from fluidapp.calc.decision import quadrature
from fluidapp.calc.refill.lines import Line
from fluidapp.errors import BadInput, OutOfRange

Suction = Literal["covered", "covered with more before the start", "in stages", "cannot be covered", "not checked"]
MOST_STAGES = 20  # beyond it, filling in stages is no plan (own limit)


class Deficit(Protocol):
    """What is missing in the tank to its target: :class:`fluidapp.calc.topup.TopUp`, or :class:`Missing`."""

    @property
    def add_l(self) -> float: ...
    @property
    def u_l(self) -> float: ...
    @property
    def dof(self) -> float: ...


@dataclass(frozen=True, slots=True)
class Missing:
    """Litres missing to the target, where they do not come from a reading: a whole drain, or a phoned-in figure."""

    add_l: float
    u_l: float
    dof: float = math.inf


@dataclass(frozen=True, slots=True)
class Portion:
    """Litres ± of one pour and its lines; ``low_l`` to ``high_l`` is the 95 % range."""

    value_l: float
    u_l: float
    dof: float
    lines: tuple[Line, ...]

    @property
    def half_l(self) -> float:
        """95 % half-width [L]; 0 where nothing is to be poured."""
        return figure.half_width(self.u_l, self.dof) if self.u_l > 0 else 0.0

    @property
    def low_l(self) -> float:
        """Lower end of the 95 % range [L], not below 0."""
        return max(0.0, self.value_l - self.half_l)

    @property
    def high_l(self) -> float:
        """Upper end of the 95 % range [L]."""
        return self.value_l + self.half_l


@dataclass(frozen=True, slots=True)
class Marks:
    """Litres in the tank at its low mark, target and high mark, in the reference posture at the marks' temperature."""

    low_l: float
    target_l: float
    high_l: float

    def __post_init__(self) -> None:
        if not 0 <= self.low_l < self.high_l < math.inf:
            raise BadInput("marks", f"{self.low_l:g} to {self.high_l:g} L", "The low mark lies below the high one.")
        if not self.low_l <= self.target_l <= self.high_l:
            raise OutOfRange("target", self.target_l, self.low_l, self.high_l, "L", "It lies between the marks.")


@dataclass(frozen=True, slots=True)
class Stage:
    """One start: pour ``pour_l`` into the tank, run until the circuit has taken ``draws_l``; ``left_l`` is then in the tank."""

    pour_l: float
    draws_l: float
    left_l: float


@dataclass(frozen=True, slots=True)
class Refill:
    """What to pour before the first start and after running.

    before_start : everything that goes in before it, of which ``tank_l`` into the tank (``extra_l`` more than to its target);
    after_running : into the tank, after the circuit has filled; negative values are to be drained; total : both, with the doubt of
    the reading counted once. circuit : what lines, cooler and cylinders take. gear_cases : with their own products, apart.
    suction : whether it stays covered. stages : the starts, none where the marks are not known or cannot cover it.
    """

    before_start: Portion
    after_running: Portion
    total: Portion
    tank_l: float
    extra_l: float
    circuit: Portion
    gear_cases: tuple[Line, ...]
    suction: Suction
    stages: tuple[Stage, ...]
    remarks: tuple[str, ...]
    bound: str = "exact"


def refill(deficit: Deficit, opened: Iterable[Line] = (), *, marks: Marks | None = None) -> Refill:
    """Litres before the first start and after running, each ±, and whether the suction stays covered.

    deficit : litres missing in the tank, in the reference posture, read with the lines plugged; negative = too much is in it.
    opened : lines of what was opened (:mod:`fluidapp.calc.refill.lines`). marks : of the tank; without them the suction is not
    checked. BadInput for a deficit that is not a number; OutOfRange for a deficit that empties the tank more than empty.

    Formula: before the start = deficit + cases + prefilled housings; after running = what the circuit takes. Covered where
    V_now + poured - circuit >= V(L) + U with U the 95 % half-width of both; else as much more before the start as the high mark
    allows, else in stages from H down to L + U. Own rule. Source of the combination: JCGM 100:2008, 5.1.2 (from memory).

    20 ± 1 L are missing, and hoses of 4 ± 0.2 L were opened:
    >>> hoses = Line("hoses", 4.0, 0.2, "after running", "circuit", True)
    >>> plan = refill(Missing(20.0, 1.0), [hoses], marks=Marks(120.0, 140.0, 160.0))
    >>> plan.before_start.value_l, plan.after_running.value_l, plan.suction
    (20.0, 4.0, 'covered')
    """
    add, u_add = deficit.add_l, deficit.u_l
    if not (math.isfinite(add) and u_add > 0 and math.isfinite(u_add)):
        raise BadInput("missing in the tank", add if not math.isfinite(add) else u_add, "Read the tank first; no reading is exact.")
    if marks is not None and add > marks.target_l:
        raise OutOfRange("missing in the tank", add, None, marks.target_l, "L", "More than the tank holds at its target is missing.")
    lines = tuple(opened)
    apart = tuple(line for line in lines if line.into == "gear case")
    first = tuple(line for line in lines if line.when == "before start" and line.into != "gear case")
    circuit = _sum([line for line in lines if line.when == "after running" and line.into != "gear case"])
    remarks: list[str] = []
    if add < 0:
        remarks.append(f"{figure.litres(figure.to_pour(-add))} too much stand in the tank: they go into the circuit first.")
    bound = getattr(deficit, "bound", "exact")
    tank, suction, stages = _cover(add, u_add, deficit.dof, circuit, marks if bound == "exact" else None, remarks)
    read = Line("level before the start", 0.0, u_add, "after running", "tank", True, "Read again before the start.", "reading", deficit.dof)
    into_tank = Line("tank", tank, u_add, "before start", "tank", True, "Read the tank again.", "reading", deficit.dof)
    before = _sum([into_tank, *first])
    doubt = _sum([*circuit.lines, read])
    after = Portion(add + circuit.value_l - tank, doubt.u_l, doubt.dof, doubt.lines)
    whole = _sum([into_tank, *first, *circuit.lines])
    total = Portion(before.value_l + after.value_l, whole.u_l, whole.dof, whole.lines)
    if after.value_l < -after.half_l:
        remarks.append("After running, more will stand in the tank than its target: drain to the mark.")
    if any(not line.measured for line in lines):
        remarks.append("Some lines are typical figures: measure what you pour, and the second reading decides.")
    if bound == "at least":
        remarks.insert(0, "The gauge shows nothing: at least this much is missing. Pour it, then read again before the start.")
    elif bound == "at most":
        remarks.insert(0, "The level stands above the gauge: read it again when it is down, before anything is poured.")
    return Refill(before, after, total, tank, tank - max(add, 0.0), circuit, apart, suction, stages, tuple(remarks), bound)


def _sum(lines: list[Line]) -> Portion:
    u, dof = quadrature((line.u_l, line.dof) for line in lines)
    return Portion(math.fsum(line.value_l for line in lines), u, dof, tuple(lines))


def _cover(
    add: float, u_add: float, dof: float, circuit: Portion, marks: Marks | None, remarks: list[str]
) -> tuple[float, Suction, tuple[Stage, ...]]:
    """What to pour into the tank before the start, what that does for the suction, and the starts."""
    least = max(add, 0.0)
    if marks is None:
        remarks.append("Whether the suction stays covered is not checked: that needs the marks of the tank and a reading between its ends.")
        return least, "not checked", ()
    u, nu = quadrature([(u_add, dof), (circuit.u_l, circuit.dof)])
    spare = figure.half_width(u, nu)
    now, floor, draws = marks.target_l - add, marks.low_l + spare, circuit.value_l
    if now + least - draws >= floor:
        return least, "covered", (Stage(least, draws, now + least - draws),)
    wanted = floor + draws - now
    if wanted <= marks.high_l - now:
        more = wanted - least
        remarks.append(
            f"Pour {figure.litres(figure.to_pour(more))} more than to the target before the start, so that the suction stays "
            "covered while the circuit fills; never above H."
        )
        return wanted, "covered with more before the start", (Stage(wanted, draws, floor),)
    room = marks.high_l - floor
    if room <= 0 or draws / room > MOST_STAGES:
        remarks.append("The suction cannot be kept covered between these marks: fill lines, cooler and cylinders by hand before the start.")
        return max(marks.high_l - now, 0.0), "cannot be covered", ()
    most = max(marks.high_l - now, 0.0)
    pour, standing, to_go = most, now + most, draws  # it stands at H, or above it where too much was in the tank
    stages = []
    while to_go > 1e-9:
        takes = min(to_go, standing - floor)
        left = standing - takes
        stages.append(Stage(pour, takes, left))
        pour, standing, to_go = marks.high_l - left, marks.high_l, to_go - takes
    remarks.append(
        f"Start {len(stages)} times: the circuit takes more than the tank may give between H and L. Each time stop at "
        f"{figure.litres(figure.to_pour(spare))} above L, isolate, let the level come back, vent slowly, add to H."
    )
    return most, "in stages", tuple(stages)
