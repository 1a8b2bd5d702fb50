"""Greasing: the ring replayed from the records, one shot at a time, the last one taken back."""

import datetime
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.testing.v1.element_tree import Button

from fluidapp.model import GreasePoint, Gun, Machine, Ring
from fluidapp.store import NewEntry, Save, Store, kinds, open_store

Open = Callable[..., AppTest]
NOW = datetime.datetime.now(datetime.UTC)
KEY = "greasing_digger_ring"


def machine(**ring: object) -> Machine:
    point = GreasePoint(
        key="ring", label="Slewing ring", kind="slew race", limit_h=100.0, limit_days=182.0, dose_g=35.0, cap_g=35.0,
        ring=Ring.model_validate(ring),
    )  # fmt: skip
    pin = GreasePoint(key="pin", label="Boom foot pin", kind="pin", limit_h=50.0)
    return Machine(key="digger", label="Digger", grease_points=(point, pin))


@pytest.fixture
def digger(tmp_path: Path) -> Store:
    store = open_store(tmp_path / "records.db")
    guns = Gun(key="gun-a", label="Hand gun A", g_per_stroke=2.0, n_strokes=20), Gun(key="gun-b", label="Hand gun B")
    store.put(machine(), *guns, now_utc=NOW)
    return store


def shot(store: Store, days_ago: float, meter_h: float | None, swing_deg: float, **more: object) -> None:
    doc = kinds.Shot.model_validate({"point": "ring", "swing_deg": swing_deg, "mass_g": 35.0, "gun": "gun-a", **more})
    entry = NewEntry(machine="digger", at=NOW - datetime.timedelta(days=days_ago), meter_h=meter_h, doc=doc)
    store.record(Save(id=f"shot-{days_ago}-{swing_deg}", entries=(entry,)), now_utc=NOW)


def texts(at: AppTest) -> str:
    return "\n".join(str(block.value) for block in (*at.caption, *at.markdown, *at.info, *at.warning, *at.error))


def button(at: AppTest, words: str) -> Button:
    """The button whose label begins so: its key is another one after each shot."""
    return next(b for b in at.button if str(b.label).startswith(words))


def rows(at: AppTest) -> list[list[str]]:
    return [[str(cell) for cell in row] for row in at.table[0].value.to_numpy().tolist()]


def test_without_any_shot_every_position_is_due_and_none_is_claimed_done(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    assert not at.exception
    assert [row[1] for row in rows(at)] == ["100 %, due"] * 4
    assert {row[2] for row in rows(at)} == {"no shot on record"}
    assert "No shot is on record here." in texts(at)
    assert "The hour meter was never read" in texts(at)
    assert "Choose the gun to see the strokes." in texts(at)
    assert button(at, "Record: ").label == "Record: front idlers, not counted"


def test_the_strokes_never_pass_the_cap(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("gun-a").run()
    # 35 g at 2 g a stroke are 17.5 strokes; 18 would pass the cap of 35 g
    assert "**17 strokes** give 34" in texts(at)
    assert "Never over the cap of 35 g." in texts(at)
    assert button(at, "Record: ").label == "Record: front idlers, 17 strokes"


def test_a_gun_that_was_never_weighed_counts_no_grams(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("gun-b").run()
    assert "strokes stay strokes" in texts(at)


def test_positions_have_names_numbers_words_and_degrees(digger: Store, open_empty: Open) -> None:
    shot(digger, 10, 5000.0, 0.0)
    shot(digger, 5, 5050.0, 90.0)
    at = open_empty("greasing", machine="digger")
    at.text_input(key="greasing_meter").set_value("5095").run()
    assert rows(at) == [
        ["1 front idlers (0°)", "95 %, comes next", "95 h, 10 days"],
        ["2 left track (90°)", "45 %, not yet due", "45 h, 5 days"],
        ["3 rear sprockets (180°)", "195 %, past due", "no shot on record"],
        ["4 right track (270°)", "195 %, past due", "no shot on record"],
    ]
    assert at.metric[0].value == "rear sprockets"  # the way round from the left track, where the last shot was
    assert at.metric[0].label == "Next: boom over"
    assert "one nipple, every 90°: common practice, no source" in texts(at)
    assert "Order of this round: rear sprockets, right track. With time for one shot only: right track." in texts(at)


def test_the_picture_says_number_and_word_in_each_sector(digger: Store, open_empty: Open) -> None:
    chart = open_empty("greasing", machine="digger").get("vega_lite_chart")[0].proto
    assert "1 front idlers: 100 % of the interval, due" in chart.alt
    assert "Next: boom over front idlers" in chart.alt
    assert json.loads(chart.spec)["layer"]


def test_standing_clear_is_said_between_shots(digger: Store, open_empty: Open) -> None:
    said = texts(open_empty("greasing", machine="digger"))
    assert "everybody out of the slewing arc" in said
    assert "Never grease while the machine slews." in said


def test_a_round_is_recorded_position_by_position_and_the_last_shot_taken_back(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("gun-a")
    at.text_input(key="greasing_meter").set_value("5100").run()
    order = []
    for _ in range(4):
        order.append(at.metric[0].value)
        button(at, "Record: ").click().run()
        assert not at.exception
        assert not at.error
    assert order == ["front idlers", "left track", "rear sprockets", "right track"]
    assert at.metric[0].label == "Nothing is due yet; first comes: boom over"
    assert [row[1] for row in rows(at)] == ["3 %, not yet due"] * 4  # 34 of 35 g take 34/35 of the lapse off
    assert digger.count() == 4
    stored = digger.shots("digger", "ring")[0]
    assert isinstance(stored.doc, kinds.Shot)
    assert (stored.doc.strokes, stored.doc.mass_g, stored.doc.gun, stored.doc.as_read) == (17.0, 34.0, "gun-a", "17 strokes")
    assert stored.meter_h == 5100.0
    button(at, "Take it back").click().run()
    assert not at.exception
    assert digger.count() == 5
    assert len(digger.shots("digger", "ring")) == 3
    assert at.metric[0].value == order[3]
    assert len([row for row in rows(at) if row[1].startswith("100 %")]) == 1


def test_another_position_strokes_and_the_seal_are_stored_as_given(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("gun-a").run()
    at.selectbox(key=f"{KEY}_position").set_value(2)
    at.text_input(key=f"{KEY}_given").set_value("5")
    at.segmented_control(key=f"{KEY}_purge").set_value("shows").run()
    assert button(at, "Record: ").label == "Record: rear sprockets, 5 strokes"
    button(at, "Record: ").click().run()
    doc = digger.shots("digger", "ring")[0].doc
    assert isinstance(doc, kinds.Shot)
    assert (doc.swing_deg, doc.strokes, doc.mass_g, doc.purge_seen) == (180.0, 5.0, 10.0, True)
    assert at.text_input(key=f"{KEY}_given").value == ""
    assert "Last shot: rear sprockets, 5 strokes" in texts(at)


def test_a_shot_at_two_nipples_is_two_entries_and_is_taken_back_whole(digger: Store, open_empty: Open) -> None:
    digger.put(machine(nipples_deg=[0.0, 180.0]), now_utc=NOW)
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("gun-a").run()
    button(at, "Record: ").click().run()
    assert [e.doc.nipple for e in digger.shots("digger", "ring")] == [2, 1]
    assert [row[1] for row in rows(at)] == ["3 %, not yet due", "100 %, due", "3 %, not yet due", "100 %, due"]
    button(at, "Take it back").click().run()
    assert digger.shots("digger", "ring") == []
    assert [row[1] for row in rows(at)] == ["100 %, due"] * 4


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("greasing_meter", "4000", ("Hour meter", "4000 h", "below 5000 h", "meter change")),
        ("greasing_meter", "5,000.5", ("Hour meter", "thousands")),
        (f"{KEY}_given", "many", ("Given", "many", "plain number")),
        ("greasing_when", "yesterday", ("When", "yesterday", "2026-05-04 06:30")),
    ],
)
def test_a_mistake_is_one_sentence_with_field_value_and_fix(
    digger: Store, open_empty: Open, key: str, text: str, said: tuple[str, ...]
) -> None:
    shot(digger, 10, 5000.0, 0.0)
    at = open_empty("greasing", machine="digger")
    at.text_input(key=key).set_value(text).run()
    assert not at.exception
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in said), at.error[0].value
    assert digger.count() == 1


def test_hours_without_a_look_at_the_meter_today_end_at_the_last_one_and_say_so(digger: Store, open_empty: Open) -> None:
    shot(digger, 10, 5000.0, 0.0)
    at = open_empty("greasing", machine="digger")
    assert rows(at)[0][2] == "0 h, 10 days"
    assert "Hours count up to the last look at the meter, 5000 h" in texts(at)


def test_closing_turns_are_left_out_until_slope_arc_and_drive_are_entered(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    assert "No closing turns**: left out until" in texts(at)
    at.text_input(key="greasing_slope").set_value("1")
    at.segmented_control(key="greasing_arc").set_value("yes")
    at.segmented_control(key="greasing_suspect").set_value("no").run()
    assert "**2 full turns**" in texts(at)
    assert "safe to" not in texts(at).lower()


def test_the_meter_and_the_gun_are_kept_over_a_page_change(digger: Store, open_empty: Open) -> None:
    shot(digger, 10, 5000.0, 0.0, gun="gun-b")
    at = open_empty("greasing", machine="digger")
    assert at.selectbox(key="greasing_gun").value == "gun-b"  # the gun of the last shot
    at.selectbox(key="greasing_gun").set_value("gun-a")
    at.text_input(key="greasing_meter").set_value("5095").run()
    before = rows(at)
    at.switch_page("screens/level.py").run()
    at.switch_page("screens/greasing.py").run()
    assert at.selectbox(key="greasing_gun").value == "gun-a"
    assert rows(at) == before


def test_a_pin_has_one_position_and_no_ring(digger: Store, open_empty: Open) -> None:
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_digger_point").set_value("pin").run()
    assert not at.exception
    assert at.metric[0].value == "Boom foot pin"
    assert not at.get("vega_lite_chart")
    button(at, "Record: ").click().run()
    doc = digger.shots("digger", "pin")[0].doc
    assert isinstance(doc, kinds.Shot)
    assert doc.swing_deg is None
    assert rows(at)[0][1].startswith("50 %")  # of unknown grams, nothing seen at the seal: counted as half


def round_done(digger: Store, open_empty: Open) -> AppTest:
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("gun-a")
    at.text_input(key="greasing_meter").set_value("5100").run()
    for _ in range(4):
        button(at, "Record: ").click().run()
    assert not at.exception
    return at


def test_when_nothing_is_due_it_says_so_and_an_extra_shot_has_to_be_counted(digger: Store, open_empty: Open) -> None:
    at = round_done(digger, open_empty)
    assert any("**Nothing is due**; this would be an extra shot" in info.value for info in at.info)
    extra = button(at, "Record an extra shot: ")
    assert extra.label == f"Record an extra shot: {at.metric[0].value}"
    assert extra.proto.type == "secondary"
    extra.click().run()
    assert "Given (strokes): “nothing” cannot be used. Nothing is due: enter what was given" in at.error[0].value
    assert digger.count() == 4
    at.text_input(key=f"{KEY}_given").set_value("3").run()
    button(at, f"Record an extra shot: {at.metric[0].value}, 3 strokes").click().run()
    assert not at.error
    assert digger.shots("digger", "ring")[0].doc.strokes == 3.0


def test_after_a_shot_is_taken_back_its_position_is_chosen_again_with_empty_boxes(digger: Store, open_empty: Open) -> None:
    at = round_done(digger, open_empty)
    assert at.selectbox(key=f"{KEY}_position").value != 3
    at.text_input(key=f"{KEY}_given").set_value("9").run()
    button(at, "Take it back").click().run()
    assert not at.exception
    assert at.selectbox(key=f"{KEY}_position").value == 3
    assert at.text_input(key=f"{KEY}_given").value == ""
    assert button(at, "Record: ").label == "Record: right track, 17 strokes"
    assert button(at, "Record: ").proto.type == "primary"


def test_more_than_a_nipple_can_get_is_refused_with_the_limit(digger: Store, open_empty: Open) -> None:
    digger.put(Gun(key="power", label="Power gun", feed="power", g_per_min=90.0), now_utc=NOW)
    at = open_empty("greasing", machine="digger")
    at.selectbox(key="greasing_gun").set_value("power").run()
    at.text_input(key=f"{KEY}_given").set_value("9999").run()
    assert not at.exception
    # ten caps of 35 g at 1.5 g/s are 233.3 s
    assert [e.value for e in at.error] == [
        "seconds: 9999 s is above 234 s. That is ten times what one nipple may get (Slewing ring): check what was given, or correct cap "
        "and dose on Machines."
    ]
    assert not [b for b in at.button if b.label.startswith("Record")]
