"""What a compartment did between two readings: the difference, its doubt, and what is said before anybody pours."""

import math

import pytest

from fluidapp.calc import between, level, oil
from fluidapp.calc.balance import account
from fluidapp.calc.bath import Survey, Weighed
from fluidapp.errors import CannotAnswer, OutOfRange
from fluidapp.model import Bath, Machine, Reading

TANK = """
key = "ex"
label = "Ex"
[[compartments]]
key = "tank"
label = "Hydraulic tank"
kind = "hydraulic tank"
source = "taped"
u_tank_percent = 5.0
usual_topup_l = 3.0
body = {shape = "box", length = 700, width = 400, height = 600}
capacities = {system_l = 240}
[[compartments.gauges]]
kind = "sight glass"
name = "glass"
at = [350, 200, 50]
u_mm = 5.0
end_mm = 500
bands = [{low = 250, high = 350, temp_low_c = 50, temp_high_c = 70}]
[[compartments]]
key = "slew"
label = "Slewing gearbox"
kind = "slewing gearbox"
fill = {litres = 4, reading = 100, depth_mm = 120}
[[compartments.gauges]]
kind = "stick"
name = "stick"
end_mm = 250
[[baths]]
key = "bath"
label = "Grease bath"
area_l_per_mm = 0.54
packed_depth_mm = 20.0
[[grease_points]]
key = "ring"
label = "Ring"
kind = "slew race"
limit_h = 100
dose_g = 31.5
ring = {positions = 4}
"""


@pytest.fixture(scope="module")
def machine(machine_of) -> Machine:
    return machine_of(TANK)


def read(mm: float, temp_c: float | None = 60.0, **more: object) -> Reading:
    same = {"pitch_deg": 0.0, "roll_deg": 0.0, "posture": "reference", **more}
    return Reading.model_validate({"gauge": "glass", "level": mm, "temp_c": temp_c, **same})


def test_the_change_is_in_litres_at_15_degrees(machine: Machine) -> None:
    change, _ = between.oil_change(machine, "tank", read(300), read(255), rho15=880.0)
    assert change.change_l == pytest.approx(-12.6 * oil.vcf(880.0, 60.0), rel=1e-9)


def test_the_tanks_own_doubt_counts_on_the_change_alone(machine: Machine) -> None:
    change, lines = between.oil_change(machine, "tank", read(300), read(255))
    tank = next(line for line in lines if line.name == "tank")
    assert tank.u_l == pytest.approx(0.05 * abs(change.change_l), rel=1e-9)
    assert tank.u_l < 0.2 * 0.05 * level.volume(machine, "tank", read(300)).value_l


def test_one_reading_counts_twice_and_the_lines_add_up_to_the_whole(machine: Machine) -> None:
    change, lines = between.oil_change(machine, "tank", read(300), read(300))
    reading = next(line for line in lines if line.name == "reading")
    assert reading.u_l == pytest.approx(math.sqrt(2) * 0.28 * 5.0 * oil.vcf(oil.RHO15_TYPICAL, 60.0), rel=1e-9)
    assert change.u_l == pytest.approx(math.sqrt(sum(line.u_l**2 for line in lines)), rel=1e-12)


def test_heat_between_the_readings_is_no_oil(machine: Machine) -> None:
    # the same oil, 240 L of system, warmed from 40 to 60 °C: the level rises by the system's growth
    grown = 240.0 * oil.vcf(880.0, 60.0) * (1 / oil.vcf(880.0, 60.0) - 1 / oil.vcf(880.0, 40.0))
    cold, warm = read(300, 40.0), read(300 + grown / 0.28, 60.0)
    change, _ = between.oil_change(machine, "tank", cold, warm, rho15=880.0)
    assert abs(change.change_l) < 0.1


def test_the_same_place_posture_and_warmth_shrink_the_doubt(machine: Machine) -> None:
    bare = [Reading(gauge="glass", level=mm) for mm in (300.0, 255.0)]
    wide, _ = between.oil_change(machine, "tank", *bare)
    narrow, _ = between.oil_change(machine, "tank", *bare, same_state=True)
    assert narrow.change_l == wide.change_l
    assert narrow.u_l < 0.6 * wide.u_l


def test_a_one_sided_reading_gives_no_change(machine: Machine) -> None:
    with pytest.raises(CannotAnswer, match="Hydraulic tank now: no change follows from a one-sided reading"):
        between.oil_change(machine, "tank", read(300), Reading(gauge="glass", bound="at most"))


def test_a_pour_without_a_doubt_of_its_own_has_two_per_cent(machine: Machine) -> None:
    change, lines = between.oil_change(machine, "tank", read(300), read(255), poured_l=20.0, drained_l=5.0, u_drained_l=0.3)
    assert (change.u_poured_l, change.u_drained_l) == (pytest.approx(0.4), 0.3)
    budget = between.budget([(change, lines)])
    assert [line.u_l for line in budget] == sorted((line.u_l for line in budget), reverse=True)
    assert any(line.name == "Hydraulic tank: poured and drained" and line.u_l == pytest.approx(0.5) for line in budget)


def test_a_bath_rises_from_its_depth_as_packed_and_grease_is_counted_as_poured(machine: Machine) -> None:
    change, _ = between.bath_change(machine.bath(), None, Survey((30.0, 30.0, 30.0, 30.0)), added=Weighed(0.9), rho_grease=900.0)
    assert change.change_l == pytest.approx(5.4)
    assert change.poured_l == pytest.approx(1.0)
    assert change.u_l == pytest.approx(math.hypot(0.54 * 5.0, 0.54 * 1.0, 10 * 0.54 * 0.05))
    with pytest.raises(CannotAnswer, match="no depth before is known"):
        between.bath_change(Bath(key="b", label="B", area_l_per_mm=0.5), None, Survey((30.0,)))


def test_before_pouring_the_gear_cases_come_first(machine: Machine) -> None:
    lost, _ = between.oil_change(machine, "tank", read(300), read(240), same_state=True)
    said = between.look_first(machine, account([lost]), ["tank"])
    assert said == "More is missing than usual: read slewing gearbox and take samples first, before you pour."
    little, _ = between.oil_change(machine, "tank", read(300), read(294), same_state=True)
    assert between.look_first(machine, account([little]), ["tank"]) is None
    assert between.not_read(machine, ["tank"]) == ["Slewing gearbox", "Grease bath"]


def test_ring_grease_may_have_run_into_the_bath(machine: Machine) -> None:
    # 4 x 35 cm3 each 100 h: at most 1.4 L in 1,000 h, so half of it
    found = between.ring_purge(machine, 1000.0, 900.0)
    assert found is not None
    assert found[0] == pytest.approx(0.7)
    assert between.ring_purge(Machine(key="a", label="A"), 1000.0) is None


def test_more_than_ten_fills_between_two_readings_are_refused(machine_of) -> None:
    # twice the 240 L of the system, which are typical, ten times
    machine, at = machine_of(TANK), Reading(gauge="glass", level=200.0)
    between.oil_change(machine, "tank", at, at, poured_l=4800.0, drained_l=4800.0)
    for name in ("poured", "drained"):
        with pytest.raises(OutOfRange, match=f"{name}: 4801 L is above 4800 L. That is 10 times what fits in"):
            between.oil_change(machine, "tank", at, at, **{f"{name}_l": 4801.0})


def test_a_depth_that_no_bath_has_is_refused_between_two_surveys() -> None:
    bath = Bath(key="bath", label="Bath", area_l_per_mm=0.5, depth_max_mm=60.0)
    for before, after in ((Survey((20.0,)), Survey((20.0, 999.0))), (Survey((999.0,)), Survey((20.0,)))):
        with pytest.raises(OutOfRange, match="depth: 999 mm is above 180 mm"):
            between.bath_change(bath, before, after)
