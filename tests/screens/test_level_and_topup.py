"""Level check and Top-up: what a person reads after typing, and what stands in the records."""

import math
from collections.abc import Callable

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, from_toml
from fluidapp.store import Store
from tests.screens.conftest import EARLIER, MACHINE

Open = Callable[..., AppTest]


def metric(at: AppTest) -> str:
    return str(at.metric[0].value)


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def number(text: str) -> tuple[float, float]:
    value, _, rest = text.partition(" ± ")
    return float(value), float(rest.split()[0])


@pytest.mark.parametrize("screen", ["level", "topup"])
def test_it_opens_without_an_answer(open_screen: Open, screen: str) -> None:
    at = open_screen(screen, machine="ex-1")
    assert not at.metric
    assert "Enter what the gauge shows" in texts(at)


def test_a_reading_becomes_litres(open_screen: Open) -> None:
    # 700 x 500 mm: 0.35 L in each mm; the glass begins 150 mm above the floor: (150 + 125) 0.35 = 96.25 L
    at = open_screen("level", machine="ex-1")
    at.text_input(key="level_reading").set_value("125").run()
    assert not at.exception
    value, half = number(metric(at))
    assert abs(value - 96.25) <= max(1.0, half / 2)
    assert "125.0 mm on the glass is" in texts(at)
    assert "Not measured" in texts(at)


def test_a_decimal_comma_is_read_and_repeated_as_a_point(open_screen: Open) -> None:
    at = open_screen("level", machine="ex-1")
    at.text_input(key="level_reading").set_value("12,5").run()
    assert "12.5 mm on the glass" in texts(at)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("12x", ("Glass", "12x")),
        ("-3", ("glass", "-3 mm", "0 to 350 mm")),
        ("900", ("glass", "900 mm", "0 to 350 mm")),
        ("1,234.5", ("Glass", "1,234.5", "thousands")),
        ("5 gal", ("Glass", "gal")),
        ("1e3", ("Glass", "1e3")),
    ],
)
def test_a_mistake_is_one_sentence_with_field_and_fix(open_screen: Open, typed: str, said: tuple[str, ...]) -> None:
    at = open_screen("level", machine="ex-1")
    at.text_input(key="level_reading").set_value(typed).run()
    assert not at.exception
    assert not at.metric
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in said), at.error[0].value


def test_entering_what_was_not_measured_shrinks_the_doubt(open_screen: Open) -> None:
    at = open_screen("level", machine="ex-1")
    at.text_input(key="level_reading").set_value("125").run()
    wide = number(metric(at))[1]
    at.text_input(key="level_temp").set_value("65")
    at.text_input(key="level_pitch").set_value("0")
    at.text_input(key="level_roll").set_value("0")
    at.segmented_control(key="level_posture").set_value("reference").run()
    assert not at.exception
    assert number(metric(at))[1] < wide
    assert "Not measured" not in texts(at)


def test_units_change_the_view_and_not_the_entry(open_screen: Open) -> None:
    at = open_screen("level", machine="ex-1")
    at.text_input(key="level_reading").set_value("125").run()
    before = metric(at)
    at.selectbox(key="units").set_value("in, US gal").run()
    assert not at.exception
    assert math.isclose(float(at.text_input(key="level_reading").value), 125 / 25.4, abs_tol=0.0006)
    assert "US gal" in metric(at)
    at.selectbox(key="units").set_value("mm, L").run()
    assert at.text_input(key="level_reading").value == "125"
    assert metric(at) == before


def test_an_inch_reading_with_its_unit_is_the_same_reading(open_screen: Open) -> None:
    at = open_screen("level", machine="ex-1")
    at.text_input(key="level_reading").set_value("4 in").run()
    inches = metric(at)
    at.text_input(key="level_reading").set_value("101.6").run()
    assert metric(at) == inches


def test_below_the_glass_gives_a_bound_and_a_way_on(open_screen: Open) -> None:
    at = open_screen("topup", machine="ex-1")
    at.segmented_control(key="topup_bound").set_value("at most").run()
    assert not at.exception
    assert at.metric[0].label == "Add at least"
    assert "then read again" in texts(at)


def test_without_cylinders_and_the_marks_temperature_the_answer_says_what_it_could_not_do(open_screen: Open, records: Store) -> None:
    """The posture can be confirmed all the same, and then counts for less."""
    bare = MACHINE.split("[[cylinders]]")[0].replace("ex-1", "ex-2") + "[[compartments]]" + MACHINE.split("[[compartments]]", 1)[1]
    records.put(from_toml(bare.replace(", temp_low_c = 50, temp_high_c = 80", ""), "ex-2.toml", Machine), now_utc=EARLIER)
    at = open_screen("topup", machine="ex-2")
    at.text_input(key="topup_reading").set_value("150").run()
    assert not at.exception
    assert "No cylinder is entered for this machine" in texts(at)
    assert "Hot oil was not checked: enter the oil temperature" in texts(at)
    assert "Overfill, second check: heat not counted, 87 L are left to the brim." in texts(at)  # 250 mm of 0.35 L: 87.5 L
    before = number(metric(at))[1]
    at.segmented_control(key="topup_posture").set_value("reference").run()
    assert "No cylinder is entered" not in texts(at)
    assert number(metric(at))[1] <= before


def test_a_top_up_stands_in_pails(open_screen: Open) -> None:
    # 75 mm to the target of 200 mm: 75 x 0.35 = 26.25 L
    at = open_screen("topup", machine="ex-1")
    at.text_input(key="topup_reading").set_value("125").run()
    assert not at.exception
    assert at.metric[0].label == "Add"
    value, half = number(metric(at))
    assert abs(value - 26.25) <= max(1.0, half / 2)
    assert "a 20 L pail and 6 L" in texts(at)


def test_the_machine_stays_from_screen_to_screen(open_screen: Open) -> None:
    at = open_screen("level", machine="ex-1")
    at.switch_page("screens/topup.py").run()
    assert not at.exception
    assert at.selectbox(key="machine").value == "ex-1"


def test_an_unknown_machine_in_the_address_is_named(open_screen: Open) -> None:
    at = open_screen("level", machine="ex-99")
    assert not at.exception
    assert "ex-99" in at.error[0].value


def test_a_stored_top_up_is_a_reading_and_a_movement_as_typed(open_screen: Open, records: Store) -> None:
    at = open_screen("topup", machine="ex-1")
    at.text_input(key="topup_reading").set_value("125").run()
    at.text_input(key="topup_poured").set_value("5 US gal").run()
    at.text_input(key="by_name").set_value("Ada")
    at.button(key="topup_save").click().run()
    assert not at.exception
    assert not at.error, at.error[0].value
    found = {entry.kind: entry for entry in records.entries("ex-1")}
    assert set(found) == {"reading", "movement"}
    assert found["reading"].doc.as_read == "125 mm"
    assert found["movement"].doc.as_read == "5 US gal"
    assert found["movement"].doc.volume_l == pytest.approx(18.927, abs=1e-3)  # 5 x 231 cubic inches
    assert found["movement"].by_name == "Ada"
    assert len({entry.save_id for entry in found.values()}) == 1
    at.button(key="topup_save").click().run()
    assert records.count() == 2
    assert "Already stored" in texts(at)


def test_nothing_is_written_where_something_is_refused(open_screen: Open, records: Store) -> None:
    at = open_screen("topup", machine="ex-1")
    at.text_input(key="topup_reading").set_value("125").run()
    at.text_input(key="topup_poured").set_value("5").run()
    at.text_input(key="topup_when").set_value("tomorrow").run()
    assert not at.exception
    assert any("tomorrow" in error.value for error in at.error)
    assert records.count() == 0


def test_another_compartment_or_machine_starts_empty(open_demo_screen: Open) -> None:
    at = open_demo_screen("topup", machine="teasel")
    at.text_input(key="topup_reading").set_value("90").run()
    at.text_input(key="topup_temp").set_value("60").run()
    assert at.metric
    at.selectbox(key="topup_part").set_value("slew").run()
    assert not at.exception
    assert not at.metric
    assert at.text_input(key="topup_reading").value == ""
    assert at.text_input(key="topup_temp").value == ""
    at.text_input(key="topup_reading").set_value("40").run()
    assert at.metric
    at.selectbox(key="machine").set_value("juniper").run()
    assert not at.metric
    assert at.text_input(key="topup_reading").value == ""


def test_level_check_says_where_the_level_stands_against_its_marks(open_demo_screen: Callable[..., AppTest]) -> None:
    for reading, words in (("200", "above its upper mark: add nothing"), ("30", "below its lower mark")):
        at = open_demo_screen("level", machine="teasel", part="tank", level_reading=reading)
        at.text_input(key="level_reading").set_value(reading).run()
        assert any(words in m.value and "±" in m.value for m in at.markdown), [m.value for m in at.markdown]
