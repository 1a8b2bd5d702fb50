"""Tank ends, cones and spheres below any plane, against other codes and other ways."""

import fluids
import numpy as np
import pytest
from geometry_oracles import by_discs, random_points
from hypothesis import given, settings
from hypothesis import strategies as st

from fluidapp.calc import geometry as geo
from fluidapp.errors import BadInput

LEVEL = geo.up(0.0, 0.0)
D, L, R = 1.3, 2.1, 0.65
HEADS = {  # our name: depth, the reference library's name, its depth
    "conical": (0.4, "conical", 0.4),
    "ellipsoidal 2:1": (None, "ellipsoidal", D / 4),
    "ellipsoidal": (0.5, "ellipsoidal", 0.5),
    "spherical": (0.3, "spherical", 0.3),
    "half sphere": (0.65, "spherical", 0.65),
    "torispherical": (None, "torispherical", None),
}


def kind(name):
    return "spherical" if name == "half sphere" else name


def lying(name):
    return geo.Tank([(1, geo.lying_tank(D, L, kind(name), depth=HEADS[name][0]))])


def standing(name):
    return geo.Tank([(1, geo.upright_tank(D, L, kind(name), kind(name), bottom_depth=HEADS[name][0], top_depth=HEADS[name][0]))])


def other(name, horizontal):
    _, theirs, depth = HEADS[name]
    sizes = {"sideA_f": 1.0, "sideA_k": 0.06, "sideB_f": 1.0, "sideB_k": 0.06} if depth is None else {"sideA_a": depth, "sideB_a": depth}
    return fluids.TANK(D=D, L=L, horizontal=horizontal, sideA=theirs, sideB=theirs, **sizes)


@pytest.mark.parametrize("horizontal", [True, False])
@pytest.mark.parametrize("name", HEADS)
def test_level_volumes_agree_with_the_reference_library(name, horizontal):
    """Relative 1e-12 for cones, 1e-9 for the rest, 1,000 levels from 0.8 to 99.2 % of the depth; the curve 1e-9."""
    tank, theirs = (lying if horizontal else standing)(name), other(name, horizontal)
    low, high = tank.span(LEVEL)
    h = np.linspace(0.008, 0.992, 1000) * (high - low)
    want = np.array([theirs.V_from_h(x) for x in h])
    assert tank.vol(low + h, LEVEL)[0] == pytest.approx(want, rel=1e-12 if name == "conical" else 1e-9)
    assert tank.curve().volume_l(100.0 * h) == pytest.approx(want, rel=1e-9)


@pytest.mark.parametrize("horizontal", [True, False])
@pytest.mark.parametrize("name", HEADS)
def test_the_first_and_the_last_drops_agree_too(name, horizontal):
    """Below 0.8 % and above 99.2 % of the depth, in parts of the capacity."""
    tank, theirs = (lying if horizontal else standing)(name), other(name, horizontal)
    low, high = tank.span(LEVEL)
    ends = np.geomspace(1e-6, 0.008, 30)
    h = np.concatenate([ends, 1.0 - ends]) * (high - low)
    want = np.array([theirs.V_from_h(x) for x in h])
    assert tank.vol(low + h, LEVEL)[0] == pytest.approx(want, abs=1e-12 * tank.capacity_l)
    assert tank.capacity_l == pytest.approx(theirs.V_total, rel=1e-9)


def profile(name):
    """Radius of the lying tank along its axis, from the shapes' own equations, and where the pieces meet."""
    if name == "torispherical":
        f, k = D, 0.06 * D
        alpha = np.arcsin((R - k) / (f - k))
        rim, depth = k * np.cos(alpha), k * np.cos(alpha) + f * (1.0 - np.cos(alpha))

        def end(x):
            return R - k + np.sqrt(k * k - x * x) if x < rim else np.sqrt(max(f * f - (x - depth + f) ** 2, 0.0))

        inner = [rim]
    else:
        depth = {"conical": 0.4, "ellipsoidal 2:1": D / 4, "ellipsoidal": 0.5, "spherical": 0.3, "half sphere": 0.65}[name]
        ball = (R * R + 0.3**2) / 0.6
        end = {
            "conical": lambda x: R * (1.0 - x / 0.4),
            "ellipsoidal 2:1": lambda x: R * np.sqrt(max(1.0 - (x / depth) ** 2, 0.0)),
            "ellipsoidal": lambda x: R * np.sqrt(max(1.0 - (x / 0.5) ** 2, 0.0)),
            "spherical": lambda x: np.sqrt(max(ball**2 - (x + ball - 0.3) ** 2, 0.0)),
            "half sphere": lambda x: np.sqrt(max(R * R - x * x, 0.0)),
        }[name]
        inner = []
    breaks = [-depth, *(-x for x in inner), 0.0, L, *(L + x for x in inner), L + depth]
    return (lambda s: R if 0.0 <= s <= L else end(-s if s < 0.0 else s - L)), breaks


@pytest.mark.parametrize(("pitch", "roll"), [(5.0, -3.0), (0.001, 0.0), (-30.0, 50.0), (88.0, 0.0)])
@pytest.mark.parametrize("name", HEADS)
def test_tilted_volumes_agree_with_adaptive_quadrature(name, pitch, roll):
    tank, n = lying(name), geo.up(pitch, roll)
    radius, breaks = profile(name)
    low, high = tank.span(n)
    for share in (0.04, 0.35, 0.62, 0.97):
        c = low + share * (high - low)
        want, error = by_discs(radius, breaks, float(n[0]), c - n[2] * R)
        assert error < 1e-10 * tank.capacity_l
        assert tank.vol(c, n)[0] == pytest.approx(want, abs=1e-10 * tank.capacity_l)


def test_two_tilted_tanks_agree_with_figures_worked_out_apart():
    """D 1.3, L 2.1, plane at 0.7, pitch 5, roll -3 degrees; figures of an earlier, separate calculation with 12 digits."""
    n = geo.up(5.0, -3.0)
    cone, ball = lying("conical"), lying("spherical")
    assert cone.vol(0.7, n)[0] == pytest.approx(1.4484001892, abs=1e-10)
    assert cone.capacity_l == pytest.approx(3.1413308542, abs=1e-10)
    assert ball.vol(0.7, n)[0] == pytest.approx(1.4828551474, abs=1e-10)
    assert ball.capacity_l == pytest.approx(3.2138492846, abs=1e-10)


def inside_ellipsoidal(p):
    x = np.where(p[:, 0] < 0, -p[:, 0], np.maximum(p[:, 0] - L, 0.0)) / 0.5
    return (p[:, 1] ** 2 + (p[:, 2] - R) ** 2) / R**2 + x**2 < 1.0


@pytest.mark.parametrize(("pitch", "roll"), [(4.0, -6.0), (-40.0, 25.0)])
def test_a_tilted_tank_agrees_with_random_points(pitch, roll):
    tank, n = lying("ellipsoidal"), geo.up(pitch, roll)
    low, high = tank.span(n)
    for share in (0.2, 0.5, 0.8):
        c = low + share * (high - low)
        want, error = random_points(inside_ellipsoidal, (-0.5, -R, 0.0), (L + 0.5, R, D), n, c, 200_000, seed=5)
        assert abs(tank.vol(c, n)[0] - want) <= 3.0 * error


def directions(count):
    n = np.random.default_rng(1).normal(size=(count, 3))
    third = count // 6
    n[:third, 0] *= 1e-9
    n[third : 2 * third, :2] *= 1e-7
    n[2 * third : 3 * third, 1:] *= 1e-10
    n[0], n[1], n[2] = (0, 0, 1), (0, 1, 0), (-1, 0, 0)
    n[3:6] = geo.up(np.array([1e-3, 45.0, 90.0]), 0.0)
    return n / np.linalg.norm(n, axis=1)[:, None]


BODIES = {
    **{f"lying {name}": lying(name) for name in HEADS},
    **{f"standing {name}": standing(name) for name in HEADS},
    "frustum": geo.Tank([(1, geo.frustum(2.0, 0.7, 1.5))]),
    "sphere": geo.Tank([(1, geo.sphere(2.0))]),
    "pushed-in bottom": geo.Tank([(1, geo.upright_cylinder(D, L)), (-1, geo.head("spherical", D, (0, 0, 0), (0, 0, 1), 0.3))]),
    "deadwood": geo.Tank([(1, geo.box(3, 2, 2)), (-1, geo.Column(0.4, 0.3, 1.2, (2.0, 1.0)))]),
}


@pytest.mark.parametrize("name", BODIES)
def test_what_is_below_and_what_is_above_make_up_the_whole(name):
    tank, n = BODIES[name], directions(600)
    c = np.random.default_rng(2).uniform(-3, 3, 600)
    below, above = tank.vol(c, n)[0], tank.vol(-c, -n)[0]
    assert np.max(np.abs(below + above - tank.capacity_l)) <= 1e-11 * tank.capacity_l


@pytest.mark.parametrize("name", BODIES)
def test_empty_full_and_never_falling(name):
    tank = BODIES[name]
    for n in directions(18):
        if name == "deadwood" and abs(n[2]) < 0.3:  # a thin upright body does not stand on such a slope
            continue
        low, high = tank.span(n)
        assert tank.vol(low - 1e-9, n) == (0.0, 0.0)
        assert tank.vol(high + 1e-9, n)[0] == pytest.approx(tank.capacity_l, rel=1e-13)
        volume, _ = tank.vol(np.linspace(low, high, 300), n)
        assert volume[0] <= 1e-12 * tank.capacity_l
        assert np.all(np.diff(volume) >= -1e-11 * tank.capacity_l)


@pytest.mark.parametrize("name", BODIES)
def test_the_free_surface_is_the_growth_of_the_volume(name):
    tank = BODIES[name]
    for pitch, roll in [(0.0, 0.0), (7.0, -4.0), (-50.0, 20.0)]:
        n = geo.up(pitch, roll)
        heights = tank.crit(n)
        c = (heights[:-1, None] + np.diff(heights)[:, None] * np.array([0.3, 0.5, 0.7])).ravel()
        step = np.repeat(1e-4 * np.diff(heights), 3)
        growth = (tank.vol(c + step, n)[0] - tank.vol(c - step, n)[0]) / (2.0 * step)
        surface = tank.vol(c, n)[1]
        assert np.all(np.abs(growth - surface) <= 1e-6 * surface + 1e-12 * tank.capacity_l / step)


@pytest.mark.parametrize("slope", [(0.0, 0.0), (0.001, 0.0), (3.0, -2.0), (-35.0, 20.0)])
@pytest.mark.parametrize("name", BODIES)
def test_the_curve_is_the_exact_volume(name, slope):
    tank, n = BODIES[name], geo.up(*slope)
    curve = tank.curve(*slope)
    level = np.linspace(0.0, 1.0, 1501) * curve.high_mm
    exact = tank.vol(curve.bottom_c_dm + level / 100.0, n)[0]
    assert np.max(np.abs(curve.volume_l(level) - exact)) <= 1e-10 * tank.capacity_l
    middle = slice(12, 1489)
    assert curve.volume_l(level)[middle] == pytest.approx(exact[middle], rel=1e-9)


@settings(max_examples=120, deadline=None)
@given(st.sampled_from(sorted(BODIES)), st.sampled_from([(0.0, 0.0), (3.0, -2.0), (-35.0, 20.0)]), st.floats(0.0, 1.0))
def test_there_and_back_is_the_same_volume(name, slope, share):
    curve = BODIES[name].curve(*slope)
    volume = share * curve.capacity_l
    assert curve.volume_l(curve.level_mm(volume)) == pytest.approx(volume, abs=1e-11 * curve.capacity_l)


@pytest.mark.parametrize("name", ["torispherical", "conical"])
def test_an_end_of_k_times_the_size_holds_k_cubed(name):
    n, k = geo.up(6.0, 2.0), 7.0
    small, depth = lying(name), HEADS[name][0]
    large = geo.Tank([(1, geo.lying_tank(k * D, k * L, name, depth=depth and k * depth))])
    c = np.linspace(*small.span(n), 30)
    assert large.vol(k * c, n)[0] == pytest.approx(k**3 * small.vol(c, n)[0], rel=1e-11, abs=1e-12 * large.capacity_l)


def test_a_tilted_sphere_is_the_same_sphere():
    tank = BODIES["sphere"]
    for n in directions(30):
        low, high = tank.span(n)
        assert high - low == pytest.approx(2.0, rel=1e-12)
        h = np.array([0.1, 0.7, 1.0, 1.6])
        assert tank.vol(low + h, n)[0] == pytest.approx(np.pi * h * h * (3.0 - h) / 3.0, rel=1e-10)


def test_a_lying_tank_across_is_the_one_along_turned_a_quarter():
    along, across = lying("torispherical"), geo.Tank([(1, geo.lying_tank(D, L, "torispherical", "y"))])
    n = directions(60)
    turned = np.stack([-n[:, 1], n[:, 0], n[:, 2]], axis=1)
    c = np.random.default_rng(4).uniform(-1, 2, 60)
    assert across.vol(c, turned)[0] == pytest.approx(along.vol(c, n)[0], abs=1e-12 * along.capacity_l)


def test_a_roof_holds_the_outage_of_the_tank_handbook():
    """Over the shell area: cone H/3, dome H (1/2 + (H/R)^2/6). AP-42 chapter 7.1, from memory."""
    assert geo.head("conical", 2 * 4.0, (0, 0, 0), (0, 0, 1), 1.2).total == pytest.approx(np.pi * 16 * 1.2 / 3, rel=1e-14)
    dome = geo.head("spherical", 2 * 4.0, (0, 0, 0), (0, 0, 1), 1.2).total
    assert dome == pytest.approx(np.pi * 16 * 1.2 * (0.5 + (1.2 / 4.0) ** 2 / 6), rel=1e-13)


def test_crown_and_knuckle_meet_without_a_step_or_a_corner():
    knuckle, crown = geo.head_profile("torispherical", 3.0, dish=0.9, knuckle=0.1)
    s = knuckle.s1
    assert knuckle.radius(s) == pytest.approx(crown.radius(s), rel=1e-14)
    h = 1e-6
    assert (knuckle.radius(s) - knuckle.radius(s - h)) / h == pytest.approx((crown.radius(s + h) - crown.radius(s)) / h, rel=1e-4)
    assert knuckle.radius(0.0) == pytest.approx(1.5, rel=1e-14)
    assert crown.radius(crown.s1) == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (("round", 2.0, 0.3), "heads"),
        (("conical", 2.0), "head depth"),
        (("ellipsoidal", 2.0, 0.0), "head depth"),
        (("spherical", 2.0, 1.01), "head depth"),
        (("torispherical", 2.0, None, 1.0, 0.6), "knuckle"),
        (("torispherical", 2.0, None, 0.4, 0.06), "knuckle"),
        (("conical", float("nan"), 0.3), "diameter"),
    ],
)
def test_an_end_that_cannot_be_is_refused_by_name(arguments, field):
    with pytest.raises(BadInput) as caught:
        geo.head_profile(*arguments)
    assert caught.value.field == field


def test_deadwood_that_takes_more_room_than_there_is_is_refused_with_its_height():
    tank = geo.Tank([(1, geo.box(3, 2, 2)), (-1, geo.Column(4.0, 0.5, 1.0))])
    with pytest.raises(BadInput) as caught:
        tank.curve()
    assert 50.0 <= caught.value.value <= 51.0


def test_deadwood_without_volume_or_height_is_refused():
    with pytest.raises(BadInput):
        geo.Column(0.0, 1.0, 2.0)
    with pytest.raises(BadInput):
        geo.Column(1.0, 2.0, 2.0)
