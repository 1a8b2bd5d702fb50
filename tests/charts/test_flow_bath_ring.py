"""Drawings of oil and grease: what a person reads in them stands in the chart itself, in few layers, in any theme."""

import itertools
import json

import pytest

from fluidapp.calc import greasing
from fluidapp.calc.balance import account, level_change
from fluidapp.calc.bath import Survey, check
from fluidapp.calc.bath_picture import bath_picture
from fluidapp.calc.flow import flow as flow_picture
from fluidapp.calc.ring_picture import ring_picture
from fluidapp.charts.bath import bath as draw_bath
from fluidapp.charts.flow import flow as draw_flow
from fluidapp.charts.ring import SHADES
from fluidapp.charts.ring import ring as draw_ring
from fluidapp.model import Bath, GreasePoint, Machine, Ring

BATH = Bath(key="b", label="Bath", area_l_per_mm=0.5, packed_depth_mm=20.0, depth_low_mm=14.0, depth_high_mm=25.0, depth_max_mm=60.0)


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_oil_that_went_is_written_in_its_boxes() -> None:
    tank = level_change("Hydraulic tank", 0.28, 300, 255, 5, 5, poured_l=5.0, u_poured_l=0.1)
    slew = level_change("Slewing gearbox", 0.030, 100, 155, 3, 10)
    picture = flow_picture(account([tank, slew]))
    spec = draw_flow(picture, lambda v, u, _: f"{v:.1f} ± {2 * u:.1f} L", lambda v: f"{v:g} L", "#123456").to_dict()
    said = json.dumps(spec, ensure_ascii=False)
    for text in ("left 17.6 ± 4.2 L", "came in 1.6 ± 0.4 L", "Not accounted for", "poured 5 L", "#123456"):
        assert text in said
    assert len(spec["layer"]) <= 5


@pytest.mark.parametrize(("unit", "per_mm", "text"), [("mm", 1.0, "29"), ("in", 1 / 25.4, "1.14")])
def test_depths_are_written_in_the_unit_of_the_reader(unit: str, per_mm: float, text: str) -> None:
    now = Survey((29.0, 31.0, 30.0, 30.0))
    spec = draw_bath(bath_picture(BATH, check(BATH, now), now, None), lambda mm: mm * per_mm, unit, "#123456").to_dict()
    said = json.dumps(spec)
    for word in (f'"{text}"', "before", "lowest", "highest", "pinion top", f"({unit})"):
        assert word in said
    assert len(spec["layer"]) <= 6


def test_words_beside_the_bath_do_not_lie_on_each_other() -> None:
    close = BATH.model_copy(update={"packed_depth_mm": 25.0, "depth_low_mm": 24.0})
    now = Survey((29.0,))
    spec = draw_bath(bath_picture(close, check(close, now), now, None), lambda mm: mm, "mm").to_dict()
    heights = sorted(row["y"] for rows in spec["datasets"].values() for row in rows if row.get("text") in ("before", "lowest", "highest"))
    assert len(heights) == 3
    assert min(b - a for a, b in itertools.pairwise(heights)) > 3.0


def test_every_word_on_the_ring_can_be_read_on_its_shade() -> None:
    for _, fill, ink in SHADES:
        bright, dark = sorted((luminance(fill), luminance(ink)), reverse=True)
        assert (bright + 0.05) / (dark + 0.05) >= 4.5, fill


def test_the_ring_says_number_name_word_and_share() -> None:
    point = GreasePoint(key="r", label="R", kind="slew race", limit_h=100.0, dose_g=30.0, ring=Ring(positions=4))
    found = greasing.greasing_round(Machine(key="m", label="M", grease_points=(point,)), point, [], 0.0, 0.0)
    said = json.dumps(draw_ring(ring_picture(found)).to_dict())
    for text in ("1 front idlers", "3 rear sprockets", '"due"', "100 %", "comes now", "front"):
        assert text in said
