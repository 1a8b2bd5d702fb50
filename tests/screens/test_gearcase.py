"""Gear case: share, keep or change, what is not detectable; the laboratory's figures; refusals; the reading in the records."""

from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, Product, from_toml
from fluidapp.store import Store
from tests.screens.conftest import EARLIER

Open = Callable[..., AppTest]
# a stick in a case of 45 mm = 6 L and 0.045 m2 free area: 1 L raises it 22.2 mm; the marks lie close together
DIGGER = """
key = "digger"
label = "Digger"
[[compartments]]
key = "tank"
label = "Hydraulic tank"
kind = "hydraulic tank"
product = "hyd"
[[compartments]]
key = "slew"
label = "Slewing gearbox"
kind = "slewing gearbox"
product = "gear"
table = [[0, 3.975], [45, 6.0], [160, 11.175]]
u_tank_percent = 2.0
capacities = {refill_l = 6.0}
[[compartments.gauges]]
kind = "stick"
name = "dipstick"
division_mm = 1
end_mm = 160
bands = [{low = 43, high = 47, target = 45}]
"""
KEY = "gearcase_digger_slew"


@pytest.fixture
def at(records: Store, open_empty: Open) -> AppTest:
    gear = Product(key="gear", label="Gear oil VG 220", kind="oil", nu40=220.0, nu100=18.75)
    hyd = Product(key="hyd", label="Hydraulic oil VG 46", kind="oil", nu40=46.0, nu100=6.65)
    records.put(gear, hyd, from_toml(DIGGER, "digger.toml", Machine), now_utc=EARLIER)
    return open_empty("gearcase", machine="digger")


def typed(at: AppTest, **boxes: str) -> AppTest:
    for name, text in boxes.items():
        key = f"gearcase_{name}" if name in ("reading", "temp", "pitch", "roll") else f"{KEY}_{name}"
        at.text_input(key=key).set_value(text)
    at.run()
    assert not at.exception
    return at


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def test_it_opens_without_an_answer(at: AppTest) -> None:
    assert not at.exception
    assert not at.metric
    assert "to see what is in the gear oil" in texts(at)


def test_a_rise_becomes_a_share_with_its_doubt(at: AppTest) -> None:
    # 15 mm over the mark at 22.2 mm a litre: 0.675 L in 6.675 L, 10.1 %
    typed(at, reading="60", pitch="0", roll="0")
    value, _, half = str(at.metric[0].value).partition(" ± ")
    assert abs(float(value) - 10.1) <= 2
    assert 1 <= float(half.split()[0]) <= 6
    said = texts(at)
    assert "Drain and refill." in said
    assert "10 % of what the case holds" in said
    assert "Not detectable below" in said
    assert "Never let it down to the mark" in said


def test_far_above_the_mark_is_drained_whatever_the_viscosity_says(at: AppTest) -> None:
    typed(at, reading="100", used_40="219", own_40="220", own_100="18.75", other_40="46", other_100="6.65")
    assert "Drain and refill." in texts(at)


def test_at_its_mark_nothing_is_detected(at: AppTest) -> None:
    typed(at, reading="45")
    assert "not detectable" in at.metric[0].label
    assert str(at.metric[0].value).startswith("below ")


def test_a_sample_of_measured_oils_is_a_figure(at: AppTest) -> None:
    # 199 mm2/s between 220 and 46: 5.5 % (sheet of inverse blends, computed by us); 9.5 % thinner, below the guide of 15 %
    typed(at, used_40="199", own_40="220", own_100="18.75", other_40="46", other_100="6.65")
    assert str(at.metric[0].value).startswith("5.")
    said = texts(at)
    assert "Keep." in said
    assert "15 % thinner" in said


def test_a_sample_of_grades_alone_is_an_interval(at: AppTest) -> None:
    # 180 mm2/s from the bands of both grades: 5.2 to 16.6 % (computed by us)
    typed(at, used_40="180")
    assert str(at.metric[0].value) == "5 to 17 %"


def test_an_own_limit_changes_the_verdict(at: AppTest) -> None:
    typed(at, used_40="199", own_40="220", own_100="18.75", other_40="46", other_100="6.65", thinner="5")
    assert "Drain and refill." in texts(at)
    assert "your own limit" in texts(at)


def test_the_mixture_is_shown_at_40_at_100_and_at_the_working_temperature(at: AppTest) -> None:
    typed(at, used_40="199", own_40="220", own_100="18.75", other_40="46", other_100="6.65", working="70")
    shown = at.table[0].value
    assert list(shown["at"]) == ["40 °C", "100 °C", "70 °C"]
    assert shown["mixed, mm²/s"].iloc[0].startswith("199")


@pytest.mark.parametrize(
    ("boxes", "words"),
    [
        ({"own_40": "18", "own_100": "220", "used_40": "100"}, ("100 °C", "220", "thinner when hot")),
        ({"used_40": "-5"}, ("-5",)),
        ({"reading": "900"}, ("dipstick", "900 mm", "160 mm")),
        ({"reading": "60", "temp": "400"}, ("temperature", "400")),
        ({"thinner": "150", "used_40": "199"}, ("limit", "150")),
        ({"used_40": "12x"}, ("Used oil", "12x")),
    ],
)
def test_a_mistake_is_one_sentence(at: AppTest, boxes: dict[str, str], words: tuple[str, ...]) -> None:
    typed(at, **boxes)
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in words), at.error[0].value
    assert not at.metric


def test_an_unknown_oil_in_the_records_switches_viscosity_off(at: AppTest, records: Store) -> None:
    from fluidapp.store import NewEntry, Save, kinds

    pour = kinds.Movement(from_node="outside", to_node="slew", volume_l=0.3, purpose="top-up")
    records.record(Save(id="s", entries=(NewEntry(machine="digger", at=EARLIER, doc=pour),)), now_utc=EARLIER)
    typed(at, used_40="199", own_40="220", own_100="18.75", other_40="46", other_100="6.65")
    assert "An unknown oil was poured since the last drain" in texts(at)
    assert "Keep" not in texts(at)


def test_the_reading_is_stored_once(at: AppTest, records: Store) -> None:
    typed(at, reading="60")
    at.button(key="gearcase_save").click().run()
    assert not at.exception
    assert [e.doc.as_read for e in records.entries("digger", "reading", "slew")] == ["60 mm"]  # type: ignore[union-attr]
    assert not [b for b in at.run().button if b.key == "gearcase_save"]


def test_the_demos_leak_into_a_gearbox_is_named(open_demo_screen: Open) -> None:
    at = open_demo_screen("gearcase", machine="teasel", part="slew")
    at.text_input(key="gearcase_reading").set_value("105").run()
    assert not at.exception
    assert "Drain and refill." in texts(at)


def test_what_ran_out_at_a_plug_and_was_caught_is_a_measurement(open_demo_screen: Open) -> None:
    at = open_demo_screen("gearcase", machine="fennel", part="drive-right")
    at.checkbox(key="gearcase_plug_ok").check()
    at.segmented_control(key="gearcase_bound").set_value("at least").run()
    at.text_input(key="gearcase_ran_out").set_value("1.5").run()
    assert not at.exception
    assert not at.error
    assert "±" in str(at.metric[0].value)
    assert "Drain and refill." in texts(at)
