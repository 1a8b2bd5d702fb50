"""Grease bath: from one depth or more to litres, share, what out and what in; the survey in the records."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Bath, Machine
from fluidapp.store import NewEntry, Save, Store, kinds, open_store

Open = Callable[..., AppTest]
START = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
BATH = Bath(
    key="bath", label="Grease bath", area_l_per_mm=0.53996, u_area_percent=3.0, packed_depth_mm=20.0, u_packed_mm=1.0,
    depth_low_mm=14.0, depth_high_mm=25.0,
)  # fmt: skip
KEY = "bath_digger_bath"


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    store.put(Machine(key="digger", label="Digger", baths=(BATH,)), now_utc=START)
    return store


def survey(store: Store, day: float, *depths: float, added_kg: float | None = None) -> None:
    at = START + datetime.timedelta(days=day)
    doc: kinds.Doc
    if added_kg:
        doc = kinds.Movement(from_node="stock", to_node="bath", mass_kg=added_kg, purpose="greasing")
    else:
        doc = kinds.LevelReading(node="bath", depths_mm=depths)
    entries = (NewEntry(machine="digger", at=at, doc=doc),)
    store.record(Save(id=f"save-{day}", entries=entries), now_utc=START + datetime.timedelta(days=60))


def depths(at: AppTest, *texts: str) -> AppTest:
    for i, text in enumerate(texts, start=1):
        at.text_input(key=f"{KEY}_depth_{i}").set_value(text)
    return at.run()


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def number(text: str) -> tuple[float, float]:
    value, _, rest = text.partition(" ± ")
    return float(value), float(rest.split()[0])


@pytest.fixture
def at(digger: Store, open_empty: Open) -> AppTest:
    return open_empty("bath", machine="digger")


def test_it_opens_without_an_answer(at: AppTest) -> None:
    assert not at.exception
    assert not at.metric
    assert "Enter at least one depth" in texts(at)


def test_four_depths_give_litres_share_and_what_out_and_in(at: AppTest) -> None:
    # 0.540 L/mm from 20 to 30 mm: 5.4 L in 16.2 L, a third; 20 mm packed with 0.90 kg/L is 9.7 kg
    depths(at, "30", "31", "29", "30")
    assert not at.exception
    assert at.metric[0].label == "Oil that went in"
    assert abs(number(at.metric[0].value)[0] - 5.4) <= 0.5
    said = texts(at)
    assert "Clear rise over the depth as last packed: oil came in." in said
    assert "Share of oil in the grease, by mass" in said
    assert "too full" in said
    assert "16 ± " in said
    assert "pack in **9.5 ± 0.9 kg**" in said  # 9.72 ± 0.87 kg, to the half kilogram below the ±
    assert "density typical" in said
    assert "Not measured, and counted in the ±: water" in said


def test_one_depth_from_one_cover_is_enough_and_wider(at: AppTest) -> None:
    depths(at, "30")
    one = number(at.metric[0].value)
    depths(at, "30", "30", "30", "30")
    four = number(at.metric[0].value)
    assert one[1] > four[1]
    assert "Fewer than four depths" not in texts(at)


def test_a_small_rise_is_no_clear_rise(at: AppTest) -> None:
    depths(at, "22", "22", "22", "22")
    assert "No clear rise over the depth as last packed" in texts(at)
    assert at.metric


def test_grease_put_in_is_not_oil(at: AppTest) -> None:
    depths(at, "30", "30", "30", "30")
    before = number(at.metric[0].value)[0]
    at.text_input(key=f"{KEY}_added").set_value("1.8").run()  # 1.8 kg at 0.90 kg/L are 2 L
    assert abs(before - number(at.metric[0].value)[0] - 2.0) <= 1.0


def test_water_takes_the_share_away_and_says_why(at: AppTest) -> None:
    depths(at, "30", "30", "30", "30")
    at.segmented_control(key=f"{KEY}_water").set_value("seen").run()
    assert "No share of oil: water was seen" in texts(at)
    assert "Share of oil in the grease" not in texts(at)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("18, 20", ("Depth 1", "18", "Enter a plain number")),
        ("18,20,21", ("Depth 1", "18,20,21")),
        ("-3", ("depth", "-3 mm", "below 0 mm", "Read it")),
        ("1 gal", ("Depth 1", "1 gal", "US gal or imp gal")),
    ],
)
def test_a_mistake_is_one_sentence_with_field_and_fix(at: AppTest, typed: str, said: tuple[str, ...]) -> None:
    depths(at, typed)
    assert not at.exception
    assert not at.metric
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in said), at.error[0].value


def test_a_decimal_comma_is_one_depth(at: AppTest) -> None:
    depths(at, "29,5", "30,5", "30", "30")
    assert "mean 30.0 mm" in at.get("vega_lite_chart")[0].proto.alt


def test_inches_and_back_leave_the_answer(at: AppTest) -> None:
    depths(at, "30", "31", "29", "30")
    first = at.metric[0].value
    at.selectbox(key="units").set_value("in, US gal").run()
    assert "US gal" in at.metric[0].value
    assert at.text_input(key=f"{KEY}_depth_1").value == "1.181"
    at.selectbox(key="units").set_value("mm, L").run()
    assert at.metric[0].value == first


def test_what_was_typed_is_kept_over_a_page_change(at: AppTest) -> None:
    depths(at, "30", "31", "29", "30")
    first = at.metric[0].value
    at.switch_page("screens/level.py").run()
    at.switch_page("screens/bath.py").run()
    assert at.metric[0].value == first


def test_the_last_survey_and_the_grease_since_come_from_the_records(digger: Store, open_empty: Open) -> None:
    survey(digger, 0, 24.0, 25.0, 24.0, 25.0)
    survey(digger, 5, added_kg=0.9)
    at = open_empty("bath", machine="digger")
    assert at.selectbox(key=f"{KEY}_before").value == "survey of 2026-03-02 06:30"
    assert at.text_input(key=f"{KEY}_added").value == "0.9"
    at.checkbox(key=f"{KEY}_clean").set_value(True)
    depths(at, "30", "30", "30", "30")  # 5.5 mm are 2.97 L, less 1 L of grease
    assert abs(number(at.metric[0].value)[0] - 1.97) <= 1.0
    at.selectbox(key=f"{KEY}_before").set_value("as last packed").run()
    assert at.text_input(key=f"{KEY}_added").value == ""
    assert abs(number(at.metric[0].value)[0] - 5.4) <= 0.5


def test_the_survey_is_stored_once(at: AppTest, digger: Store) -> None:
    depths(at, "30", "31", "29", "30,5")
    at.segmented_control(key=f"{KEY}_water").set_value("not seen").run()
    at.button(key="bath_save").click().run()
    assert not at.exception
    stored = digger.last_reading("digger", "bath")
    assert stored is not None
    assert isinstance(stored.doc, kinds.LevelReading)
    assert stored.doc.depths_mm == (30.0, 31.0, 29.0, 30.5)
    assert stored.doc.water_seen is False
    assert stored.doc.as_read == "30 mm; 31 mm; 29 mm; 30,5 mm"
    at.run()
    assert digger.count() == 1
    assert number(at.metric[0].value)[0] == pytest.approx(5.5, abs=0.6)
    assert "bath_save" not in [button.key for button in at.button]
