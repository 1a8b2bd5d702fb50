"""Two gauges of one tank: their weighted mean, or the contradiction by name."""

import math

import numpy as np
import pytest

from fluidapp.calc import level, twogauges
from fluidapp.errors import BadInput, CannotAnswer
from fluidapp.model import Reading

GAUGES = (
    '{ name = "glass", kind = "sight glass", at = [1200, 350, 80], end_mm = 500, u_mm = 3 },'
    '{ name = "stick", kind = "stick", tip = [0, 350, 30], end_mm = 550, u_mm = 2 }'
)  # both on the middle line, front and rear: 0.84 L per mm
LEVEL = {"pitch_deg": 0.0, "roll_deg": 0.0}


@pytest.fixture
def machine(one):
    return one(gauge=GAUGES)


def both(machine, glass, stick, **more):
    return twogauges.read(machine, "tank", Reading(gauge="glass", level=glass, **more), Reading(gauge="stick", level=stick, **more))


def test_what_agrees_is_weighted_by_each_gauge_s_own_doubt(machine):
    """Upright tank, 3 mm and 2 mm, slope 0.3° with opposite levers of 600 mm: u = hypot(0.84 u, lever term); weights 1/u²."""
    found = both(machine, 200.0, 252.0, **LEVEL)
    assert found.together is not None
    lever = 0.84 * 600 * math.tan(math.radians(0.3))
    across = 0.0
    w = [1 / ((0.84 * u) ** 2 + lever**2 + across**2) for u in (3.0, 2.0)]
    volumes = [0.84 * 280, 0.84 * 282]
    assert found.together.value_l == pytest.approx(sum(a * b for a, b in zip(w, volumes, strict=True)) / sum(w), rel=1e-3)
    assert "Both gauges agree" in found.sentence


def test_together_they_are_surer_than_each_alone_and_opposite_levers_cancel(machine):
    found = both(machine, 200.0, 250.0)
    assert found.together is not None
    assert found.together.u_l < min(found.first.u_l, found.second.u_l)
    slopes = [next(line.u_l for line in v.budget if line.name == "slope") for v in (found.first, found.together)]
    assert slopes[1] < 0.3 * slopes[0]


def test_a_contradiction_is_named_and_not_averaged(machine):
    found = both(machine, 200.0, 280.0, **LEVEL)
    assert found.together is None
    assert abs(found.z) > 2
    assert "The glass says 235.2 L, the stick 260.4 L" in found.sentence
    assert "not averaged" in found.sentence


def test_the_difference_on_a_slope_is_not_called_a_contradiction_before_the_slope_is_measured(machine):
    """On 1° nose up the front gauge falls and the rear one rises: 2 x 10.5 mm apart, which 1° of unmeasured slope explains."""
    part = machine.compartment("tank")
    glass, stick = (level.reading_at(part, 250.0, name, pitch_deg=1.0) for name in ("glass", "stick"))
    assert both(machine, glass, stick).together is not None
    assert both(machine, glass, stick, **LEVEL).together is None
    measured = both(machine, glass, stick, pitch_deg=1.0, roll_deg=0.0)
    assert measured.together is not None
    assert measured.together.value_l == pytest.approx(250.0, rel=1e-6)


def test_the_stated_doubt_covers_95_of_100_simulated_pairs(machine):
    """Seeded readings with u = 3 and 2 mm on a machine that leans by 1 sigma = 0.3° in pitch; tank, heat and posture left out."""
    rng, n, hits, named = np.random.default_rng(11), 400, 0, 0
    part = machine.compartment("tank")
    for pitch, e1, e2 in zip(rng.normal(0, 0.3, n), rng.normal(0, 3.0, n), rng.normal(0, 2.0, n), strict=True):
        glass, stick = (level.reading_at(part, 250.0, name, pitch_deg=float(pitch)) for name in ("glass", "stick"))
        found = both(machine, glass + float(e1), stick + float(e2), **LEVEL)
        if found.together is None:
            named += 1
            continue
        u = math.hypot(*(line.u_l for line in found.together.budget if line.name in ("reading", "slope")))
        hits += abs(found.together.value_l - 250.0) <= 1.96 * u
    assert named / n == pytest.approx(0.0455, abs=0.03)  # |z| > 2 by chance: 4.55 %
    assert hits / (n - named) == pytest.approx(0.95, abs=0.03)


def test_a_dry_stick_only_bounds_the_other_gauge(machine):
    low = Reading(gauge="stick", bound="at most")
    fits = twogauges.read(machine, "tank", Reading(gauge="glass", level=0.0), Reading(gauge="stick", bound="at least"))
    assert fits.together is None  # over the stick's end, 487 L, against 67 L on the glass
    apart = twogauges.read(machine, "tank", Reading(gauge="glass", level=200.0), low)
    assert apart.together is None
    assert "read both again" in apart.sentence
    with pytest.raises(CannotAnswer, match="neither gauge"):
        twogauges.read(machine, "tank", Reading(gauge="glass", bound="at most"), low)


def test_a_bound_that_fits_leaves_the_exact_reading_as_it_is(machine):
    found = twogauges.read(machine, "tank", Reading(gauge="glass", bound="at least"), Reading(gauge="stick", level=545.0))
    assert found.together is not None
    assert found.together.value_l == pytest.approx(found.second.value_l)


def test_the_same_gauge_twice_is_refused(machine):
    with pytest.raises(BadInput, match="Choose another gauge"):
        twogauges.read(machine, "tank", Reading(gauge="glass", level=100.0), Reading(level=100.0))
