"""Area of the grease bath, against polygons of the teeth drawn point by point."""

import numpy as np
import pytest

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput

ALPHA = np.radians(20.0)


def rack_gap_area(module, teeth):
    """Gaps of a straight-sided rack: teeth m^2 [(pi/2)(ha + hf) + tan 20 deg (ha^2 - hf^2)], ha 1, hf 1.25: 3.3296 m^2 each."""
    return teeth * module**2 * (np.pi / 2 * 2.25 + np.tan(ALPHA) * (1.0 - 1.25**2))


def flank(module, teeth, shift, low, high, points=4000):
    """Radii and half angles of an involute tooth flank of an outer gear; straight towards the centre below the base circle."""
    base = 0.5 * module * teeth * np.cos(ALPHA)
    half_pitch = np.pi / (2 * teeth) + 2 * shift * np.tan(ALPHA) / teeth
    roll_pitch = np.tan(ALPHA)  # roll angle of the involute at the pitch circle
    top = np.sqrt(max((high / base) ** 2 - 1.0, 0.0))
    bottom = np.sqrt(max((low / base) ** 2 - 1.0, 0.0))
    roll = np.linspace(bottom, top, points)
    x, y = base * (np.cos(roll) + roll * np.sin(roll)), base * (np.sin(roll) - roll * np.cos(roll))
    start = half_pitch + (roll_pitch - np.arctan(roll_pitch))
    radius, angle = np.hypot(x, y), start - np.arctan2(y, x)
    if low < base:
        radius, angle = np.append(low, radius), np.append(start, angle)
    return radius, angle


def tooth_polygon(module, teeth, shift, low, high):
    """Area of the region between the two flanks and the arcs at ``low`` and ``high``, by the shoelace rule."""
    radius, angle = flank(module, teeth, shift, low, high)
    tip, root = np.linspace(angle[-1], -angle[-1], 2000), np.linspace(-angle[0], angle[0], 2000)
    r = np.concatenate([radius, np.full(2000, high), radius[::-1], np.full(2000, low)])
    t = np.concatenate([angle, tip, -angle[::-1], root])
    x, y = r * np.cos(t), r * np.sin(t)
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


@pytest.mark.parametrize(
    ("module", "teeth", "shift"), [(10.0, 90, 0.0), (12.0, 110, 0.5), (8.0, 17, 0.0), (8.0, 13, 0.5), (10.0, 90, -0.3)]
)
def test_the_gaps_of_an_inner_gear_are_the_polygons_of_their_outlines(module, teeth, shift):
    pitch = module * teeth / 2
    tip, root = pitch - module * (1.0 - shift), pitch + module * (1.25 + shift)
    want = teeth * tooth_polygon(module, teeth, shift, tip, root)
    assert geo.gap_area(module, teeth, True, shift) == pytest.approx(want, rel=2e-6)


@pytest.mark.parametrize(
    ("module", "teeth", "shift"), [(10.0, 90, 0.0), (12.0, 110, 0.5), (8.0, 17, 0.0), (8.0, 13, 0.5), (10.0, 90, -0.3)]
)
def test_the_gaps_of_an_outer_gear_are_what_the_teeth_leave_of_the_ring(module, teeth, shift):
    pitch = module * teeth / 2
    tip, root = pitch + module * (1.0 + shift), pitch - module * (1.25 - shift)
    tooth = tooth_polygon(module, teeth, shift, root, tip)
    assert geo.gap_area(module, teeth, False, shift) == pytest.approx(np.pi * (tip**2 - root**2) - teeth * tooth, rel=2e-6)
    assert geo.gear_area(module, teeth, shift) == pytest.approx(np.pi * root**2 + teeth * tooth, rel=2e-6)


@pytest.mark.parametrize(("teeth", "share"), [(90, 0.0204), (110, 0.0168)])
def test_the_rack_rule_lies_between_inner_and_outer_gear(teeth, share):
    rack = rack_gap_area(10.0, teeth)
    assert geo.gap_area(10.0, teeth, True) == pytest.approx(rack * (1 - share), rel=1e-3)
    assert geo.gap_area(10.0, teeth, False) == pytest.approx(rack * (1 + share), rel=1e-3)


def test_with_ever_more_teeth_both_become_the_rack():
    rack = rack_gap_area(10.0, 100_000)
    assert geo.gap_area(10.0, 100_000, True) == pytest.approx(rack, rel=1e-4)
    assert geo.gap_area(10.0, 100_000, False) == pytest.approx(rack, rel=1e-4)


def test_the_rounded_root_is_the_corner_less_its_circle_sector():
    """Two corners a gap, each between root and flank 70 deg apart from straight, by drawing points on the arc."""
    r, turn = 0.38 * 10.0, np.radians(70.0)
    t = np.linspace(0.0, turn, 20_001)
    corner = r * np.tan(turn / 2)
    x, y = np.append(r * np.sin(t), corner), np.append(r - r * np.cos(t), 0.0)
    want = 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))
    assert geo.fillet_area(10.0, 90) == pytest.approx(2 * 90 * want, rel=1e-6)


def test_a_bath_is_its_annulus_its_gaps_less_roots_and_pinions():
    parts = geo.bath_parts(10.0, 90, True, 380.0, pinions=2, pinion_teeth=13, pinion_shift=0.5)
    assert parts.annulus_mm2 == pytest.approx(np.pi * (440.0**2 - 380.0**2), rel=1e-14)
    assert parts.pinions_mm2 == pytest.approx(2 * geo.gear_area(10.0, 13, 0.5), rel=1e-14)
    without = geo.bath_parts(10.0, 90, True, 380.0)
    assert without.l_per_mm - parts.l_per_mm == pytest.approx(parts.pinions_mm2 * 1e-6, rel=1e-12)
    assert geo.bath_area(10.0, 90, True, 380.0) == without.l_per_mm
    assert 80.0 * without.annulus_mm2 * 1e-6 == pytest.approx(12.37, abs=0.005)
    assert 80.0 * (without.gaps_mm2 - without.fillets_mm2) * 1e-6 == pytest.approx(2.33, abs=0.005)


def test_a_ring_of_twice_the_module_holds_four_times_the_litres_per_mm():
    assert geo.bath_area(20.0, 90, False, 1000.0) == pytest.approx(4 * geo.bath_area(10.0, 90, False, 500.0), rel=1e-13)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((0.0, 90, True, 380.0), "module"),
        ((10.0, 7, True, 20.0), "teeth"),
        ((10.0, 90.5, True, 380.0), "teeth"),
        ((10.0, 90, True, 441.0), "wall radius"),
        ((10.0, 90, False, 459.0), "wall radius"),
        ((10.0, 90, True, float("nan")), "wall radius"),
        ((10.0, 90, True, 380.0, 1.5), "shift"),
    ],
)
def test_a_ring_that_cannot_be_is_refused_by_name(arguments, field):
    with pytest.raises(BadInput) as caught:
        geo.bath_area(*arguments)
    assert caught.value.field == field
