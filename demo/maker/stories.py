"""What is hidden in the records: one function a story. Each changes how one machine works; the records then follow by themselves.

demo/README.md tells what is where.
"""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from fluidapp.calc import level
from maker.work import HERE, Leak, Plant


def day(month: int, of_month: int) -> datetime:
    """A day of 2026."""
    return datetime(2026, month, of_month, tzinfo=HERE)


def oil_in_the_grease_bath(plant: Plant) -> None:
    """A slewing motor's seal lets oil into the gearbox; once the gearbox stands high, its lower seal lets oil into the bath."""
    full = plant.litres["slew"] + 2.6
    plant.leaks += [
        Leak("tank", "slew", 0.016, lambda p, now: now >= day(6, 15)),
        Leak("slew", "bath", 0.013, lambda p, now: now >= day(6, 15) and p.litres["slew"] >= full),
    ]
    plant.last_change["slew"] = plant.hours - 100.0  # no planned change while it runs
    seen = {"node": "slew", "asked": "How does the oil on the stick look?", "seen": "thin"}
    plant.events.append((day(9, 29), lambda p, at: p.wrote("observation", at, "late shift", **seen)))


def a_ring_position_left_out(plant: Plant) -> None:
    """From spring on, the position over the rear sprockets is left out: the machine stands with its back to the face."""
    plant.skip_position = lambda p, swing, now: swing == 180 and now >= day(5, 11)


def oil_into_a_final_drive(plant: Plant) -> None:
    """A travel motor's shaft seal lets oil into the right final drive."""
    plant.leaks.append(Leak("tank", "drive-right", 0.009, lambda p, now: now >= day(7, 6)))
    plant.last_change["drive-right"] = plant.last_change["drive-left"] = plant.hours - 100.0


def a_slow_loss_to_the_ground(plant: Plant) -> None:
    """A rod seal begins to weep and gets worse: the machine drinks three times what it used to."""
    plant.leaks += [
        Leak("tank", "ground", 0.008, lambda p, now: now >= day(4, 20)),
        Leak("tank", "ground", 0.010, lambda p, now: now >= day(6, 29)),
    ]
    watched = {"mode": "working", "at_nodes": ["tank"], "reason": "topped up more often than in spring", "smallest_l_h": 0.02}
    plant.events.append((day(8, 31), lambda p, at: p.wrote("watch opened", at, "early shift", **watched)))


def filled_with_the_boom_up(plant: Plant) -> None:
    """Somebody reads the tank with the boom up and the arm out and fills it to the mark: in the reference posture it stands too high."""

    def happens(p: Plant, at: datetime) -> None:
        boom, arm, _ = p.machine.cylinders
        out_l = level.posture_l(p.machine.cylinders, {boom.name: boom.ref + 1000.0, arm.name: 900.0})
        p.read("tank", at, "late shift", 31.0, rods_l=out_l, posture="")
        p.pour("tank", float(round(out_l)), at + timedelta(minutes=25), "late shift", oil_c=18.0)

    plant.events.append((day(9, 23), happens))


def a_new_hour_meter(plant: Plant) -> None:
    """The hour meter is exchanged and begins at zero."""
    plant.events.append((day(2, 17), lambda p, at: p.exchange_meter(at, "workshop")))


STORIES: Mapping[str, Callable[[Plant], None]] = {
    "teasel": oil_in_the_grease_bath,
    "juniper": a_ring_position_left_out,
    "fennel": oil_into_a_final_drive,
    "mallow": a_slow_loss_to_the_ground,
    "burdock": filled_with_the_boom_up,
    "gorse": a_new_hour_meter,
}
