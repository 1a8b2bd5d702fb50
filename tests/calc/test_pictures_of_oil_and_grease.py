"""Pictures as data: streams as wide as their litres, sectors where the boom points, depths where they were read."""

import itertools
import math

import numpy as np
import pytest

from fluidapp.calc import greasing
from fluidapp.calc.balance import account, level_change
from fluidapp.calc.bath import Survey, check
from fluidapp.calc.bath_picture import bath_picture
from fluidapp.calc.flow import EXCESS, MISSING, WIDE, flow
from fluidapp.calc.leak_paths import leak_paths
from fluidapp.calc.ring_picture import coming, ring_picture
from fluidapp.model import Bath, Compartment, GreasePoint, Machine, Ring

TANK = level_change("Hydraulic tank", 0.28, 300, 255, 5, 5, poured_l=5.0, u_poured_l=0.1)
SLEW = level_change("Slewing gearbox", 0.030, 100, 155, 3, 10)


def width(outline: tuple[tuple[float, float], ...], at: float) -> float:
    """Height of a closed outline where x is ``at``, from its edges."""
    ys = []
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if min(x0, x1) <= at < max(x0, x1):
            ys.append(y0 + (y1 - y0) * (at - x0) / (x1 - x0))
    return max(ys) - min(ys)


def test_every_stream_is_as_wide_as_its_litres_and_the_two_sides_close() -> None:
    drawn = flow(account([TANK, SLEW]))
    across = [s for s in drawn.streams if s.kind == "by itself"]
    for stream in across:
        x = 43.0 if stream.at[0] < WIDE / 2 else 54.0
        assert width(stream.outline, x) == pytest.approx(stream.litres * drawn.px_per_l, rel=1e-6)
    left = sum(b.litres for b in drawn.boxes if b.side == "left")
    right = -sum(b.litres for b in drawn.boxes if b.side == "right")
    assert left == pytest.approx(right)
    assert {b.label for b in drawn.boxes if b.side == "right"} == {"Slewing gearbox", MISSING}


def test_a_find_that_nobody_lost_comes_from_an_unknown_place() -> None:
    drawn = flow(account([level_change("Hydraulic tank", 0.28, 300, 299, 5), SLEW]))
    assert [b.label for b in drawn.boxes if not b.known] == [EXCESS]
    assert next(b for b in drawn.boxes if not b.known).side == "left"


def test_boxes_do_not_overlap_and_stay_in_the_picture() -> None:
    drawn = flow(account([TANK, SLEW, level_change("Grease bath", 0.54, 20, 30, 1)]))
    for side in ("left", "right"):
        edges = [(b.y, b.y2) for b in drawn.boxes if b.side == side]
        assert all(low2 > high for (_, high), (low2, _) in itertools.pairwise(edges))
    assert all(-1e-9 <= y <= drawn.high + 1e-9 for s in drawn.streams for _, y in s.outline)


def ring_of(positions: int, now_h: float = 500.0, **shots_at: float) -> greasing.Greasing:
    point = GreasePoint(key="r", label="R", kind="slew race", limit_h=100.0, dose_g=30.0, ring=Ring(positions=positions))
    events = [greasing.Shot(at_h, 0.0, float(swing[1:]), grams=30.0) for swing, at_h in shots_at.items()]
    return greasing.greasing_round(
        Machine(key="m", label="M", grease_points=(point,)), point, sorted(events, key=lambda e: e.at_h), now_h, 1.0
    )


def test_the_left_track_is_drawn_on_the_left_with_the_front_up() -> None:
    middles = [s.middle for s in ring_picture(ring_of(4)).sectors]
    places = [(round(math.sin(a), 6), round(math.cos(a), 6)) for a in middles]  # x to the right, y up
    assert places == [(0, 1), (-1, 0), (0, -1), (1, 0)]


def test_the_ends_of_the_undercarriage_are_called_as_its_sprockets_stand() -> None:
    rear, front = (ring_picture(ring_of(4), sprockets) for sprockets in ("rear", "front"))
    assert (rear.front, rear.rear) == ("front idlers", "rear sprockets")
    assert (front.front, front.rear) == ("front sprockets", "rear idlers")


def test_sectors_close_the_ring_and_each_carries_number_and_share() -> None:
    for count in (1, 4, 6, 12, 36):
        drawn = ring_picture(ring_of(count))
        assert sum(s.end - s.start for s in drawn.sectors) == pytest.approx(2 * math.pi)
        assert all(s.lines[0].startswith(str(s.number + 1)) and s.lines[-1].endswith("%") for s in drawn.sectors)


def test_shade_grows_with_the_lapse_and_the_next_one_is_marked() -> None:
    found = ring_of(4, s0=495.0, s90=415.0, s180=395.0)
    drawn = ring_picture(found)
    order = np.argsort([p.lapse for p in found.positions])
    shades = [drawn.sectors[i].shade for i in order]
    assert shades == sorted(shades)
    assert [s.number for s in drawn.sectors if s.comes_next] == list(coming(found).positions)


def test_a_bath_is_drawn_beside_the_depth_that_its_answer_starts_from() -> None:
    bath = Bath(key="b", label="Bath", area_l_per_mm=0.5, packed_depth_mm=20.0, depth_low_mm=14.0, depth_high_mm=25.0, depth_max_mm=40.0)
    now, then = Survey((30.0, 31.0)), Survey((24.0, 26.0))
    packed = bath_picture(bath, check(bath, now, then), now, then)
    assert (packed.before, [p.before_mm for p in packed.places]) == ("as last packed", [20.0, 20.0])
    clean = bath_picture(bath, check(bath, now, then, before_clean=True), now, then)
    assert (clean.before, [p.before_mm for p in clean.places]) == ("earlier survey", [24.0, 26.0])
    assert clean.top_mm > 40.0
    told = "Bath: depths 30, 31 mm, mean 30.5 mm; earlier survey 25.0 mm. Against the machine's own band: at the limit."
    assert clean.text == told  # from two depths alone, 30.5 mm is not certainly above 25 mm


def excavator() -> Machine:
    parts = tuple(
        Compartment.model_validate({"key": key, "label": label, "kind": kind})
        for key, label, kind in (
            ("tank", "Hydraulic tank", "hydraulic tank"), ("slew", "Slewing gearbox", "slewing gearbox"),
            ("left", "Final drive left", "final drive"), ("right", "Final drive right", "final drive"),
        )
    )  # fmt: skip
    return Machine(key="m", label="M", compartments=parts, baths=(Bath(key="bath", label="Grease bath", area_l_per_mm=0.5),))


def test_oil_that_left_the_tank_and_came_into_the_gearbox_is_told_in_the_machines_own_names() -> None:
    lost = level_change("Hydraulic tank", 0.28, 300, 280, 3)
    found = level_change("Slewing gearbox", 0.045, 100, 220, 2)
    bath = level_change("Grease bath", 0.5, 20, 20, 1)
    ways = leak_paths(excavator(), account([lost, found, bath]), ["tank", "slew", "bath"])
    assert ways is not None
    assert ways.ways[0].texts == ("hydraulic tank → slewing gearbox",)
    assert ways.ways[0].fit == "fits"
    assert all(a.weight >= b.weight for a, b in itertools.pairwise(ways.ways))


def test_a_tank_alone_leaves_several_ways_and_names_what_to_read() -> None:
    ways = leak_paths(excavator(), account([level_change("Hydraulic tank", 0.28, 300, 270, 3)]), ["tank"])
    assert ways is not None
    assert len(ways.ways[0].texts) > 1
    assert ways.ways[0].fit == "not testable"  # one reading, one way: nothing is left to test with
    assert ways.read_next in ("Slewing gearbox", "Final drive left", "Final drive right")


def test_compartments_that_no_story_knows_have_no_ways() -> None:
    engine = Compartment.model_validate({"key": "sump", "label": "Engine sump", "kind": "engine sump"})
    lost = account([level_change("Engine sump", 0.1, 30, 20, 1)])
    assert leak_paths(Machine(key="m", label="M", compartments=(engine,)), lost, ["sump"]) is None
