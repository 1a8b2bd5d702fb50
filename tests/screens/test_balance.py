"""Oil balance: what a person reads after typing, what the records fill in, and what is stored."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.model import Machine, Product
from fluidapp.store import NewEntry, Save, Store, kinds, open_store

Open = Callable[..., AppTest]
START = datetime.datetime(2026, 3, 2, 6, 30, tzinfo=datetime.UTC)
DIGGER = {
    "key": "digger",
    "label": "Digger",
    "class_t": 20.0,
    "compartments": [
        {
            "key": "tank", "label": "Hydraulic tank", "kind": "hydraulic tank", "source": "taped", "u_tank_percent": 5.0,
            "usual_topup_l": 5.0, "product": "hyd", "capacities": {"system_l": 240.0},
            "body": {"shape": "box", "length": 700.0, "width": 400.0, "height": 600.0},
            "gauges": [
                {"kind": "sight glass", "name": "sight glass", "at": (0.0, 200.0, 50.0), "u_mm": 5.0, "end_mm": 500.0,
                 "bands": [{"low": 250.0, "high": 350.0, "temp_low_c": 15.0, "temp_high_c": 15.0}]},
            ],
        },
        {
            "key": "slew", "label": "Slewing gearbox", "kind": "slewing gearbox", "source": "taped", "u_tank_percent": 10.0,
            "body": {"shape": "box", "length": 200.0, "width": 150.0, "height": 300.0},
            "gauges": [{"kind": "stick", "name": "dipstick", "tip": (100.0, 75.0, 20.0), "u_mm": 3.0, "end_mm": 250.0}],
        },
        {
            "key": "drive", "label": "Final drive left", "kind": "final drive", "fill": {"litres": 4.2, "reading": 5.0, "depth_mm": 150.0},
            "gauges": [{"kind": "level plug", "name": "level plug", "end_mm": 60.0}],
        },
    ],
    "baths": [{"key": "bath", "label": "Grease bath", "area_l_per_mm": 0.54, "packed_depth_mm": 20.0}],
}  # fmt: skip
TANK, SLEW, BATH = (f"balance_digger_{part}" for part in ("tank", "slew", "bath"))


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    store.put(Machine.model_validate(DIGGER), Product(key="hyd", label="Hydraulic oil", kind="oil", rho15=875.0), now_utc=START)
    return store


def put(store: Store, day: float, *docs: kinds.Doc, meter_h: float | None = None) -> None:
    at = START + datetime.timedelta(days=day)
    entries = tuple(NewEntry(machine="digger", at=at, meter_h=meter_h, doc=doc) for doc in docs)
    store.record(Save(id=f"save-{day}", entries=entries), now_utc=START + datetime.timedelta(days=60))


def read(node: str, level: float, **more: object) -> kinds.LevelReading:
    gauge = {"tank": "sight glass", "slew": "dipstick"}[node]
    return kinds.LevelReading.model_validate({"node": node, "gauge": gauge, "level": level, "as_read": f"{level:g} mm", **more})


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=key).set_value(text)
    return at.run()


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def number(text: str) -> tuple[float, float]:
    value, _, rest = text.partition(" ± ")
    return float(value), float(rest.split()[0])


@pytest.fixture
def worked(digger: Store, open_empty: Open) -> AppTest:
    """0.28 m2, 45 mm down; 0.030 m2, 55 mm up: lost 12.60, gained 1.65, so 10.95 L are not accounted for."""
    at = open_empty("balance", machine="digger")
    at.checkbox(key="balance_same").set_value(True)
    return typed(at, **{f"{TANK}_before": "300", f"{TANK}_now": "255", f"{SLEW}_before": "100", f"{SLEW}_now": "155"})


def test_it_opens_without_an_answer(digger: Store, open_empty: Open) -> None:
    at = open_empty("balance", machine="digger")
    assert not at.exception
    assert not at.metric
    assert "Enter two readings" in texts(at)


def test_the_usual_case_has_at_most_twelve_inputs(digger: Store, open_empty: Open) -> None:
    at = open_empty("balance", machine="digger")
    folded = [box.key for fold in at.expander for box in (*fold.text_input, *fold.checkbox)]
    shown = [box.key for box in (*at.text_input, *at.checkbox) if box.key not in folded]
    assert len(shown) <= 12, shown


def test_the_worked_example_gives_litres_words_and_the_smallest_loss(worked: AppTest) -> None:
    assert not worked.exception
    value, half = number(worked.metric[0].value)
    assert worked.metric[0].label == "Not accounted for"
    assert abs(value - 10.95) <= 1.0
    assert 4.18 <= half <= 7.0  # 2 x 2.09 L from the readings and areas alone; place, posture and warmth only come on top
    said = texts(worked)
    assert "The balance does not close: more was lost than found." in said
    assert "These readings would have shown a loss of 8 L or more." in said  # 3.29 u = 7.905 L: never rounded down
    assert "Not read, so nothing is known about: Final drive left, Grease bath." in said
    assert "Slewing gearbox has gained by itself" in said


def test_more_missing_than_usual_is_diagnosed_before_it_is_poured(worked: AppTest) -> None:
    assert "More is missing than usual: read final drive left and take samples first, before you pour." in texts(worked)


def test_the_table_and_the_picture_carry_the_same_litres(worked: AppTest) -> None:
    rows = worked.table[0].value.to_numpy().tolist()
    assert [row[0] for row in rows] == ["Hydraulic tank", "Slewing gearbox"]
    assert rows[0][1] == "lost 12 ± 5 L"
    assert rows[0][-1] == "loss"
    assert rows[1][-1] == "gain"
    chart = worked.get("vega_lite_chart")[0].proto
    assert f"{rows[0][1].removeprefix('lost ')} left Hydraulic tank by itself" in chart.alt
    assert f"{rows[1][1].removeprefix('gained ')} came into Slewing gearbox by itself" in chart.alt
    assert f"{worked.metric[0].value} are not accounted for" in chart.alt


def test_oil_poured_in_between_is_missing_too(worked: AppTest) -> None:
    before, _ = number(worked.metric[0].value)
    typed(worked, **{f"{TANK}_poured": "20"})
    after, _ = number(worked.metric[0].value)
    assert abs(after - before - 20.0) <= 2.0


def test_nothing_measured_widens_the_doubt(worked: AppTest) -> None:
    narrow = number(worked.metric[0].value)[1]
    worked.checkbox(key="balance_same").set_value(False).run()
    assert number(worked.metric[0].value)[1] > narrow
    assert "**Oil temperature**: could still change the answer by ± " in texts(worked)


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        (f"{TANK}_now", "12x", ("Hydraulic tank", "now", "12x")),
        (f"{TANK}_now", "900", ("Hydraulic tank", "sight glass", "900 mm", "0 to 500 mm")),
        (f"{SLEW}_poured", "5 gal", ("Slewing gearbox", "poured", "gal")),
        (f"{SLEW}_poured", "-1", ("Slewing gearbox", "poured", "-1", "Enter")),
    ],
)
def test_a_mistake_is_one_sentence_with_compartment_field_and_fix(worked: AppTest, key: str, text: str, said: tuple[str, ...]) -> None:
    typed(worked, **{key: text})
    assert not worked.exception
    assert not worked.metric
    assert len(worked.error) == 1
    assert all(word in worked.error[0].value for word in said), worked.error[0].value


def test_the_answer_survives_inches_and_gallons_and_back(worked: AppTest) -> None:
    first = worked.metric[0].value
    worked.selectbox(key="units").set_value("in, US gal").run()
    assert "US gal" in worked.metric[0].value
    assert worked.text_input(key=f"{TANK}_before").value == "11.811"
    worked.selectbox(key="units").set_value("mm, L").run()
    assert worked.metric[0].value == first
    assert worked.text_input(key=f"{TANK}_before").value == "300"


def test_what_was_typed_is_kept_over_a_page_change(worked: AppTest) -> None:
    first = worked.metric[0].value
    worked.switch_page("screens/level.py").run()
    worked.switch_page("screens/balance.py").run()
    assert worked.metric[0].value == first


def test_before_comes_from_the_last_reading_with_its_date_and_what_was_poured_since(digger: Store, open_empty: Open) -> None:
    pour = kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=4.0, purpose="top-up", as_read="4 L")
    put(digger, 0, read("tank", 290.0))
    put(digger, 3, read("tank", 300.0), meter_h=5100.0)
    put(digger, 4, pour)
    at = open_empty("balance", machine="digger")
    assert at.text_input(key=f"{TANK}_before").value == "300"
    assert at.text_input(key=f"{TANK}_poured").value == "4"
    assert not at.metric
    assert "From the records: before 2026-03-05" in texts(at)
    assert "5100 h" in texts(at)


def test_a_pour_before_the_reading_of_the_same_visit_does_not_count(digger: Store, open_empty: Open) -> None:
    pour = kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=4.0, purpose="top-up", as_read="4 L")
    put(digger, 3, pour, read("tank", 300.0))
    at = open_empty("balance", machine="digger")
    assert at.text_input(key=f"{TANK}_poured").value == ""


def test_two_days_of_the_records_answer_without_typing(digger: Store, open_empty: Open) -> None:
    put(digger, 0, read("tank", 300.0, temp_c=15.0), read("slew", 100.0))
    put(digger, 9, read("tank", 255.0, temp_c=15.0), read("slew", 155.0))
    at = open_empty("balance", machine="digger")
    assert not at.metric
    at.segmented_control(key="balance_mode").set_value("Two days").run()
    assert not at.exception
    assert (str(at.selectbox(key="balance_digger_day_before").value), str(at.selectbox(key="balance_digger_day_now").value)) == (
        "2026-03-02", "2026-03-11",
    )  # fmt: skip
    assert abs(number(at.metric[0].value)[0] - 10.95) <= 1.0
    at.selectbox(key="balance_digger_day_before").set_value(datetime.date(2026, 3, 11)).run()
    assert "Day before: “2026-03-11” cannot be used. Choose one before 2026-03-11." in texts(at)


def test_a_bath_is_compared_with_its_depth_as_packed(worked: AppTest) -> None:
    assert worked.text_input(key=f"{BATH}_before").value == "20"
    assert "as last packed" in texts(worked)
    without, _ = number(worked.metric[0].value)
    worked.checkbox(key=f"{BATH}_four").set_value(True)
    typed(worked, **{f"{BATH}_now": "30"})
    found, _ = number(worked.metric[0].value)
    assert abs(without - found - 5.4) <= 1.5


def test_a_mean_of_four_depths_is_stored_as_one_and_read_back_as_one(worked: AppTest, digger: Store, open_empty: Open) -> None:
    worked.checkbox(key=f"{BATH}_four").set_value(True)
    typed(worked, **{f"{BATH}_now": "30"})
    worked.button(key="balance_save").click().run()
    stored = digger.last_reading("digger", "bath")
    assert stored is not None
    assert isinstance(stored.doc, kinds.LevelReading)
    assert (stored.doc.depths_mm, stored.doc.depths_n, stored.doc.as_read) == ((30.0,), 4, "30 mm")
    again = open_empty("balance", machine="digger")
    again.checkbox(key=f"{BATH}_four").set_value(True)
    typed(again, **{f"{BATH}_now": "30"})
    assert again.text_input(key=f"{BATH}_before").value == "30"
    assert not again.exception
    _, half = number(again.table[0].value["level"].iloc[-1].partition(" ")[2])
    assert half <= 2.0  # 2 x 0.54 L/mm x root of (1 mm² + 1 mm²) is 1.5 L; a single depth of 8 mm would make it 8.7 L


def test_an_oil_temperature_that_cannot_be_is_one_sentence(worked: AppTest) -> None:
    typed(worked, **{f"{TANK}_now_temp": "500"})
    assert not worked.exception
    assert len(worked.error) == 1
    assert all(word in worked.error[0].value for word in ("Hydraulic tank", "oil temperature", "500", "150")), worked.error[0].value


def test_a_plug_that_may_stand_wrong_is_refused_by_name(worked: AppTest) -> None:
    worked.pills(key="balance_digger_more").set_value(["drive"]).run()
    typed(worked, balance_digger_drive_before="10", balance_digger_drive_now="5")
    assert "level plug" in worked.error[0].value
    worked.checkbox(key="balance_digger_drive_plug_ok").set_value(True).run()
    assert not worked.error
    assert worked.metric


def test_the_readings_are_stored_once_and_the_answer_stays(worked: AppTest, digger: Store) -> None:
    shown = worked.metric[0].value
    before = digger.count()
    worked.button(key="balance_save").click().run()
    assert not worked.exception
    assert digger.count() == before + 2
    stored = digger.last_reading("digger", "tank")
    assert stored is not None
    assert isinstance(stored.doc, kinds.LevelReading)
    assert (stored.doc.level, stored.doc.as_read, stored.doc.gauge) == (255.0, "255 mm", "sight glass")
    worked.run()
    assert worked.metric[0].value == shown
    assert "balance_save" not in [button.key for button in worked.button]


def test_after_storing_the_answer_stands_and_the_next_reading_starts_from_the_stored_one(digger: Store, open_empty: Open) -> None:
    put(digger, 0, read("tank", 300.0))
    at = open_empty("balance", machine="digger")
    typed(at, **{f"{TANK}_now": "255"})
    shown = at.metric[0].value
    at.button(key="balance_save").click().run()
    at.selectbox(key="units").set_value("in, US gal").run()
    at.selectbox(key="units").set_value("mm, L").run()
    assert at.text_input(key=f"{TANK}_before").value == "300"
    assert at.metric[0].value == shown
    typed(at, **{f"{TANK}_now": ""})
    assert at.text_input(key=f"{TANK}_before").value == "255"
    assert not at.metric


def test_a_stored_reading_that_was_voided_elsewhere_is_no_longer_skipped(digger: Store, open_empty: Open) -> None:
    put(digger, 0, read("tank", 300.0))
    at = typed(open_empty("balance", machine="digger"), **{f"{TANK}_now": "255"})
    shown = at.metric[0].value
    at.button(key="balance_save").click().run()
    put(digger, 30, kinds.Void(entry=digger.entries("digger", "reading")[0].id))
    at.run()
    assert not at.exception
    assert at.text_input(key=f"{TANK}_before").value == "300"
    assert at.metric[0].value == shown
    assert "balance_save" in [button.key for button in at.button]


def test_readings_before_from_different_days_are_named(digger: Store, open_empty: Open) -> None:
    put(digger, 0, read("slew", 100.0))
    put(digger, 14, read("tank", 300.0))
    at = open_empty("balance", machine="digger")
    typed(at, **{f"{TANK}_now": "255", f"{SLEW}_now": "155"})
    assert "from different days, 2026-03-02 to 2026-03-16" in texts(at)


def test_oil_over_the_lip_of_a_plug_is_not_overlooked(digger: Store, open_empty: Open) -> None:
    put(digger, 0, kinds.LevelReading(node="drive", gauge="level plug", level=0.0, bound="at least", as_read="runs out"))
    at = open_empty("balance", machine="digger")
    assert "Final drive left, newest reading 2026-03-02 06:30: it runs out." in texts(at)
