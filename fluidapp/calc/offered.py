"""Pours that the records already hold: a top-up or a drain with a reading before and a reading after it."""

from collections.abc import Sequence
from dataclasses import dataclass

from fluidapp.model import Pour

SAME_VISIT_H = 12.0  # clock hours within which nothing else is expected to have moved the level (own)
WORKED_H = 0.5  # meter hours of work in between that are not worth a word (own)
WARMER_K = 5.0  # change of the oil's temperature that is worth a word (own)


@dataclass(frozen=True, slots=True)
class Seen:
    """A recorded reading with a number, on one gauge. at_h : clock time in hours, on any common scale."""

    at_h: float
    gauge: str
    level: float
    temp_c: float | None = None
    posture: str | None = None
    meter_h: float | None = None
    entry: str = ""


@dataclass(frozen=True, slots=True)
class Moved:
    """What was put in (> 0) or taken out (< 0) [L]; None where the litres are not known."""

    at_h: float
    litres: float | None


@dataclass(frozen=True, slots=True)
class Offer:
    """A pour from the records. cautions : why it may be worse than one made on purpose; none: as good as that."""

    pour: Pour
    before: Seen
    after: Seen
    cautions: tuple[str, ...]


def offers(events: Sequence[Seen | Moved]) -> list[Offer]:
    """Every pour or drain that has a reading of the same gauge before and after it, newest first.

    events : readings and movements of one compartment in the order in which they happened. Several movements between two
    readings count as one. A movement without litres spoils its pair. Own rules.
    """
    found: list[Offer] = []
    last: dict[str, Seen] = {}
    since: dict[str, list[float | None]] = {}
    for event in events:
        if isinstance(event, Moved):
            for gauge in since:
                since[gauge].append(event.litres)
            continue
        before, moved = last.get(event.gauge), since.get(event.gauge, [])
        if before is not None and moved and all(x is not None for x in moved):
            add = sum(x for x in moved if x is not None)
            if add and event.level != before.level:  # a gauge that did not move tells nothing
                pour = Pour(add=round(add, 6), before=before.level, after=event.level, gauge=event.gauge)
                found.append(Offer(pour, before, event, _cautions(before, event)))
        last[event.gauge], since[event.gauge] = event, []
    return found[::-1]


def _cautions(before: Seen, after: Seen) -> tuple[str, ...]:
    said = []
    hours = after.at_h - before.at_h
    worked = after.meter_h - before.meter_h if after.meter_h is not None and before.meter_h is not None else None
    if worked is not None and worked > WORKED_H:
        said.append(f"{worked:.0f} h of work in between")
    elif hours > SAME_VISIT_H:
        said.append(f"{hours / 24:.0f} days in between" if hours >= 36 else f"{hours:.0f} h in between")
    if before.temp_c is not None and after.temp_c is not None and abs(after.temp_c - before.temp_c) > WARMER_K:
        said.append(f"oil {abs(after.temp_c - before.temp_c):.0f} K {'warmer' if after.temp_c > before.temp_c else 'colder'} after it")
    if before.posture != after.posture and "other" in (before.posture, after.posture):
        said.append("another posture")
    return tuple(said)
