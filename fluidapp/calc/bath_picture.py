"""The picture of a grease bath as plain data: the pan cut along its middle and laid flat, with the depths read round it."""

from dataclasses import dataclass

from fluidapp.calc.bath import BathCheck, Survey
from fluidapp.model import Bath


@dataclass(frozen=True, slots=True)
class Place:
    """One place round the ring: depth now, and the depth before where that is known there or as a mean [mm]."""

    number: int
    depth_mm: float
    before_mm: float | None


@dataclass(frozen=True, slots=True)
class BathPicture:
    """Places in the order read, the machine's own band and pinion top where entered, and how high the picture reaches [mm].

    before : what the earlier depth is called. text : the picture in words.
    """

    places: tuple[Place, ...]
    mean_mm: float
    before_mm: float | None
    before: str
    low_mm: float | None
    high_mm: float | None
    pinion_mm: float | None
    top_mm: float
    datum: str
    text: str


def bath_picture(bath: Bath, found: BathCheck, after: Survey, before: Survey | None) -> BathPicture:
    """The depths of ``after`` beside those that ``found`` reckons from: the survey ``before``, or the depth as last packed."""
    if found.since == "as last packed":
        before = None
    same_places = before is not None and len(before.depths_mm) == len(after.depths_mm)
    mean = before.mean_mm if before is not None else bath.packed_depth_mm
    called = "earlier survey" if before is not None else "as last packed"
    then = before.depths_mm if before is not None and same_places else (mean,) * len(after.depths_mm)
    places = tuple(Place(i + 1, now, was) for i, (now, was) in enumerate(zip(after.depths_mm, then, strict=True)))
    heights = [*after.depths_mm, *(d for d in then if d is not None), bath.depth_high_mm or 0.0, bath.depth_low_mm or 0.0]
    pinion = bath.depth_max_mm
    top = max(heights)
    if pinion is not None and pinion < 2.5 * top:
        top = max(top, pinion)
    said = f"{bath.label}: depths {', '.join(f'{d:.0f}' for d in after.depths_mm)} mm, mean {after.mean_mm:.1f} mm"
    said += f"; {called} {mean:.1f} mm." if mean is not None else "."
    if found.depth != "no verdict":
        said += f" Against the machine's own band: {found.depth}."
    return BathPicture(
        places, after.mean_mm, mean, called, bath.depth_low_mm, bath.depth_high_mm, pinion, 1.15 * max(top, 1.0), bath.datum, said
    )
