"""Readings of the demo that would each have led to an overfill, and the corrected answer; a warm gearbox that fakes a gain.

The corrections are checked by hand formulas: rods by pi/4 d^2 (x - x_ref); heat by the 1980 petroleum-table equation with the constant
of lubricating oils (ASTM D1250-80, group D, second-hand); slope by the lever rule, offset times tangent. Common practice, no source:
which mistakes people make.
"""

import datetime
import math

import pytest

from fluidapp.calc import gearcase, level, topup
from fluidapp.calc.between import oil_change
from fluidapp.calc.decision import alone
from fluidapp.model import Machine, Reading
from fluidapp.store import Store, kinds
from fluidapp.store.demo import open_demo

RHO15 = 870.0


@pytest.fixture(scope="module")
def demo() -> Store:
    return open_demo()


def recorded(store: Store, machine: str, node: str, day: datetime.date) -> Reading:
    entry = next(e for e in store.entries(machine, "reading", node) if e.at_local.date() == day)
    assert isinstance(entry.doc, kinds.LevelReading)
    return entry.doc.reading()


def poured(store: Store, machine: str, day: datetime.date) -> float:
    found = [e.doc for e in store.entries(machine, "movement", "tank") if e.at_local.date() == day]
    assert len(found) == 1
    assert isinstance(found[0], kinds.Movement)
    assert found[0].volume_l is not None
    return found[0].volume_l


def rods_l(machine: Machine, shown: dict[str, float]) -> float:
    return sum(c.count * math.pi / 4 * (c.rod / 100) ** 2 * (shown.get(c.name, c.ref) - c.ref) / 100 for c in machine.cylinders)


def factor(temp_c: float) -> float:
    x = 0.6278 / RHO15 * (temp_c - 15.0)
    return math.exp(-x * (1 + 0.8 * x))


def test_the_wrong_posture_is_converted_and_hindsight_agrees(demo: Store) -> None:
    # Burdock, 23 September: boom 1000 mm farther out than in the reference posture, arm 900 mm; filled to the mark like that
    burdock, day = demo.machine("burdock"), datetime.date(2026, 9, 23)
    read = recorded(demo, "burdock", "tank", day)
    was_poured = poured(demo, "burdock", day)
    boom = next(c for c in burdock.cylinders if c.name == "boom")
    shown = {"boom": boom.ref + 1000.0, "arm": 900.0, "bucket": 0.0}

    naive = topup.answer(burdock, "tank", read.model_copy(update={"posture": "reference"}), rho15=RHO15)
    told = topup.answer(burdock, "tank", read.model_copy(update={"posture": "other", "shown_mm": shown}), rho15=RHO15)
    assert told.volume is not None
    assert naive.volume is not None

    by_hand = rods_l(burdock, shown)
    assert told.volume.posture_l == pytest.approx(by_hand, abs=0.01)
    assert by_hand == pytest.approx(32.7, abs=0.1)
    assert naive.add_l - told.add_l == pytest.approx(by_hand, abs=0.01)  # by this much it would have misled
    assert naive.pour_l == 35.0  # what the mark alone asks for
    assert told.pour_l < 5.0  # in truth it stood near its mark
    assert told.remarks[0].startswith("In this posture the gauge reads about 32.8 L too low: filled to the mark like that")

    # five days later, in the reference posture: above the high mark, by about what was poured too much
    later = recorded(demo, "burdock", "tank", datetime.date(2026, 9, 28))
    marks = level.marks(burdock.compartment("tank"))
    after = topup.answer(burdock, "tank", later, rho15=RHO15)
    assert after.volume is not None
    assert after.volume.value_l > marks.high_l
    # 10 L: two readings of a glass divided in 5 mm (0.7 L each mm), on ground whose slope nobody measured
    assert -after.add_l == pytest.approx(was_poured - told.add_l, abs=10.0)


def test_a_cold_reading_is_not_filled_to_the_hot_mark(demo: Store) -> None:
    # Juniper, 28 September, oil at 19 °C: the hot band's middle stands 35 mm over the reading
    juniper = demo.machine("juniper")
    read = recorded(demo, "juniper", "tank", datetime.date(2026, 9, 28))
    assert read.temp_c == 19.0
    assert read.level == 105.0
    part = juniper.compartment("tank")
    hot = part.gauges[0].bands[1]
    by_shape = (hot.aim_mm - read.level) * 6.0 * 4.3 / 100  # dm3: the upper part is 600 x 430 mm
    told = topup.answer(juniper, "tank", read, rho15=RHO15)
    assert by_shape == pytest.approx(9.0, abs=0.1)
    assert told.add_l < 0.25 * by_shape  # the cold mark, 5 mm higher, is meant

    # filled so, the tool says how much too much it is, and that it will stand over the hot band when it is hot
    filled = topup.answer(juniper, "tank", read.model_copy(update={"level": hot.aim_mm}), rho15=RHO15)
    assert -filled.add_l == pytest.approx(by_shape - told.add_l, abs=0.05)
    grown = 250.0 * (factor(20.0) / factor(80.0) - 1)
    assert grown == pytest.approx(11.5, abs=0.05)
    assert filled.hot is not None
    assert filled.volume is not None
    assert filled.hot.reference_l - filled.volume.value_l == pytest.approx(grown, abs=0.02)
    assert filled.hot_level_mm is not None
    assert filled.hot_level_mm > hot.high
    assert told.hot_level_mm is not None
    assert told.hot_level_mm < hot.high


def test_a_reading_on_a_slope_is_brought_to_the_level_machine(demo: Store) -> None:
    # Juniper's gauge stands 300 mm before the middle of the surface; on 3°, nose up, its September level reads 15.7 mm low
    juniper = demo.machine("juniper")
    read = recorded(demo, "juniper", "tank", datetime.date(2026, 9, 28))
    part = juniper.compartment("tank")
    assert read.level is not None
    true = topup.answer(juniper, "tank", read, rho15=RHO15)
    assert true.volume is not None
    shows = level.reading_at(part, true.volume.as_read_l, pitch_deg=3.0)
    fall = 300.0 * math.tan(math.radians(3.0))
    assert read.level - shows == pytest.approx(fall, abs=0.05)

    naive = topup.answer(juniper, "tank", read.model_copy(update={"level": shows}), rho15=RHO15)
    told = topup.answer(juniper, "tank", read.model_copy(update={"level": shows, "pitch_deg": 3.0, "roll_deg": 0.0}), rho15=RHO15)
    assert naive.add_l - told.add_l == pytest.approx(fall * 0.258, abs=0.02)  # 4.1 L would have been poured too much
    assert told.add_l == pytest.approx(true.add_l, abs=0.02)


def test_a_recorded_slope_is_corrected_too(demo: Store) -> None:
    # Juniper, 7 September: 0.7° nose up, 1.4° down to the left; the gauge stands in the middle across, 300 mm before it along
    juniper = demo.machine("juniper")
    read = recorded(demo, "juniper", "tank", datetime.date(2026, 9, 7))
    assert (read.pitch_deg, read.roll_deg) == (0.7, -1.4)
    told = level.volume(juniper, "tank", read, rho15=RHO15)
    assert told.slope_l == pytest.approx(300.0 * math.tan(math.radians(0.7)) * 0.258, abs=0.02)


def test_a_warm_gearbox_is_not_claimed_as_a_leak(demo: Store) -> None:
    # 6 L read at 12 °C, and with nothing gone in or out at 62 °C: the stick climbs, by heat alone
    juniper = demo.machine("juniper")
    part = juniper.compartment("slew")
    cold = Reading(level=45.0, temp_c=12.0, pitch_deg=0.0, roll_deg=0.0)
    litres = level.volume(juniper, "slew", cold, rho15=895.0).as_read_l
    x12, x62 = (0.6278 / 895.0 * (t - 15.0) for t in (12.0, 62.0))
    grown = litres * math.exp(-x12 * (1 + 0.8 * x12)) / math.exp(-x62 * (1 + 0.8 * x62))
    warm = Reading(level=level.reading_at(part, grown), temp_c=62.0, pitch_deg=0.0, roll_deg=0.0)
    assert warm.level is not None
    assert cold.level is not None
    assert warm.level - cold.level > 5.0  # more than two readings differ by chance
    assert grown - litres == pytest.approx(0.22, abs=0.02)

    blind = [r.model_copy(update={"temp_c": 12.0}) for r in (cold, warm)]
    faked, _ = oil_change(juniper, "slew", *blind, rho15=895.0, same_state=True)
    assert alone(faked.change_l, faked.u_l) == "gain"  # what it looks like where nobody asks for the temperature

    told, _ = oil_change(juniper, "slew", cold, warm, rho15=895.0, same_state=True)
    assert told.change_l == pytest.approx(0.0, abs=0.01)
    assert alone(told.change_l, told.u_l) == "no clear change"
    rise = gearcase.by_rise(gearcase.rise_from(juniper, "slew", warm, cold, rho15=895.0))
    assert rise.word == "not detectable"
