"""Where a level stands against its marks. The box holds 0.84 L in each mm; decision words: claimed beyond 1.645 u."""

import pytest

from fluidapp.calc import level
from fluidapp.calc.standing import standing
from fluidapp.model import Reading

GAUGE = '{ name = "glass", kind = "sight glass", at = [600, 350, 0], end_mm = 480, bands = [{ low = 150, high = 250, target = 200 }] }'


def found(one, level_mm=None, **fields):
    machine = one(gauge=GAUGE)
    reading = Reading(level=level_mm, temp_c=20.0, pitch_deg=0.0, roll_deg=0.0, posture="reference", **fields)
    volume = level.volume(machine, "tank", reading)
    return standing(volume, level.marks(machine.compartment("tank"), "glass", volume.band)), volume


@pytest.mark.parametrize(
    ("level_mm", "where"),
    [(200.0, "between"), (300.0, "above"), (90.0, "below"), (249.0, "near the upper mark"), (152.0, "near the lower mark")],
)
def test_it_says_where_the_level_stands(one, level_mm, where):
    assert found(one, level_mm)[0].where == where


def test_what_is_over_the_upper_mark_is_said_in_litres_with_its_doubt(one):
    stands, volume = found(one, 300.0)
    assert stands.off_l == pytest.approx(0.84 * 50.0)
    assert 1.645 * stands.u_l < stands.off_l
    assert stands.u_l <= volume.u_l


def test_a_wide_doubt_says_that_it_is_not_clear(one):
    assert found(one, 200.0, u_mm=60.0)[0].where == "not clear"


def test_one_sided_readings_say_only_what_their_bound_allows(one):
    assert found(one, bound="at least")[0].where == "above"
    assert found(one, bound="at most")[0].where == "below"
    assert found(one, 300.0, bound="at most")[0].where == "not clear"
    assert found(one, 90.0, bound="at least")[0].where == "not clear"
