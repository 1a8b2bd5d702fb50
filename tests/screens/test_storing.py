"""Storing from the screens: once for each content, whatever is pressed twice; refusals as one sentence; times as meant."""

import datetime
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from fluidapp.errors import RecordsProblem
from fluidapp.model import Bath, GreasePoint, Gun, Machine, Ring, Site
from fluidapp.store import Save, Saved, Store, kinds

Open = Callable[..., AppTest]
START = datetime.datetime(2026, 1, 6, 6, 30, tzinfo=datetime.UTC)
BATH = Bath(key="bath", label="Grease bath", area_l_per_mm=0.54, packed_depth_mm=20.0)
RING = GreasePoint(key="ring", label="Slewing ring", kind="slew race", limit_h=100.0, limit_days=182.0, dose_g=35.0, ring=Ring())
ANSWERS = {
    "level": ("level_reading", "125"),
    "topup": ("topup_reading", "125"),
    "bath": ("bath_rig_bath_depth_1", "25"),
    "greasing": ("greasing_meter", ""),
}


@pytest.fixture
def rig(records: Store) -> Store:
    """The one machine with a grease bath and a ring, and one weighed gun."""
    digger = records.machine("ex-1")
    rig = digger.model_copy(update={"key": "rig", "label": "Rig", "baths": (BATH,), "grease_points": (RING,)})
    records.put(Machine.model_validate(rig.model_dump()), Gun(key="gun", label="Gun", g_per_stroke=2.0, n_strokes=20), now_utc=START)
    return records


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """A clock that stands until it is moved on by some seconds."""
    at = [START]
    monkeypatch.setattr("fluidapp.screens._resources.now", lambda: at[0])

    def move(seconds: float) -> None:
        at[0] += datetime.timedelta(seconds=seconds)

    return move


def typed(at: AppTest, **boxes: str) -> AppTest:
    for key, text in boxes.items():
        at.text_input(key=key).set_value(text)
    return at.run()


def texts(at: AppTest) -> str:
    return "\n".join(str(b.value) for b in (*at.caption, *at.markdown, *at.info, *at.success, *at.warning, *at.error))


def press(at: AppTest, screen: str) -> AppTest:
    """Presses the button that stores, as it stands there now."""
    button = next(b for b in at.button if str(b.key).startswith(f"{screen}_save"))
    return button.click().run()


@pytest.mark.parametrize("screen", ["level", "topup"])
def test_a_second_press_stores_nothing_and_says_so(open_screen: Open, records: Store, clock: Callable[[float], None], screen: str) -> None:
    at = typed(open_screen(screen, machine="ex-1"), **{f"{screen}_reading": "125"})
    press(at, screen)
    assert "Stored in the records." in texts(at)
    assert records.count() == 1
    clock(3)
    press(at, screen)
    assert not at.exception
    assert records.count() == 1
    assert "Already stored at 2026-01-06 06:30" in texts(at)


def test_changed_content_is_a_save_of_its_own(open_screen: Open, records: Store, clock: Callable[[float], None]) -> None:
    at = press(typed(open_screen("level", machine="ex-1"), level_reading="125"), "level")
    clock(60)
    press(typed(at, level_reading="126"), "level")
    clock(60)
    press(typed(at, level_meter="5000"), "level")
    clock(60)
    press(typed(at, level_when="2026-01-06 06:00"), "level")
    assert not at.error
    assert len({entry.save_id for entry in records.entries("ex-1")}) == 4
    assert [entry.at.minute for entry in records.entries("ex-1")] == [32, 31, 30, 0]


def test_the_same_reading_taken_again_is_stored_when_that_is_said(
    open_screen: Open, records: Store, clock: Callable[[float], None]
) -> None:
    at = press(typed(open_screen("level", machine="ex-1"), level_reading="125"), "level")
    clock(300)
    at.run()
    again = next(b for b in at.button if b.label == "Store the same once more")
    again.click().run()
    assert not at.exception
    assert [entry.at.minute for entry in records.entries("ex-1")] == [35, 30]
    again.click().run()  # the same tap, queued
    assert records.count() == 2


def test_what_was_voided_elsewhere_can_be_stored_again(open_screen: Open, records: Store, clock: Callable[[float], None]) -> None:
    at = press(typed(open_screen("level", machine="ex-1"), level_reading="125"), "level")
    void = kinds.Void(entry=records.entries("ex-1")[0].id)
    records.record(Save.model_validate({"id": "void", "entries": [{"doc": void, "at": START}]}), now_utc=START)
    clock(60)
    press(at.run(), "level")
    assert not at.error
    assert len(records.entries("ex-1", "reading")) == 1


def test_a_retry_after_a_failure_is_recognised_with_a_clock_that_goes_on(
    open_screen: Open, records: Store, clock: Callable[[float], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    at = typed(open_screen("level", machine="ex-1"), level_reading="125")
    honest = Store.record

    def stored_but_not_told(self: Store, save: Save, *, now_utc: datetime.datetime) -> Saved:
        honest(self, save, now_utc=now_utc)
        raise RecordsProblem(self.where, "the line broke", "Try again.")

    monkeypatch.setattr(Store, "record", stored_but_not_told)
    press(at, "level")
    assert "the line broke" in at.error[0].value
    monkeypatch.setattr(Store, "record", honest)
    clock(3)
    press(at, "level")
    assert not at.error
    assert records.count() == 1
    assert "Stored in the records." in texts(at)


def test_a_queued_second_tap_does_not_record_the_next_position(rig: Store, open_screen: Open) -> None:
    at = open_screen("greasing", machine="rig")
    button = next(b for b in at.button if str(b.label).startswith("Record:"))
    assert button.label.startswith("Record: front idlers")
    button.click().run()
    assert len(rig.shots("rig")) == 1
    button.click().run()  # the same tap, queued: the screen has moved on to the next position meanwhile
    assert not at.exception
    assert len(rig.shots("rig")) == 1


def test_a_queued_second_tap_takes_back_one_shot_only(rig: Store, open_screen: Open) -> None:
    at = open_screen("greasing", machine="rig")
    for _ in range(2):
        next(b for b in at.button if str(b.label).startswith("Record:")).click().run()
    assert len(rig.shots("rig")) == 2
    button = next(b for b in at.button if b.label == "Take it back")
    button.click().run()
    button.click().run()
    assert not at.exception
    assert len(rig.shots("rig")) == 1


@pytest.mark.parametrize(
    ("screen", "boxes", "said"),
    [
        *(
            (screen, {f"{screen}_meter": "-5"}, ("Hour meter", "-5", "greater than or equal to 0"))
            for screen in ("level", "topup", "bath", "greasing")
        ),
        *((screen, {f"{screen}_meter": "99999999"}, ("Hour meter", "1000000")) for screen in ("level", "topup", "bath", "greasing")),
        ("greasing", {"greasing_rig_ring_given": "0"}, ("Strokes", "0", "greater than 0")),
        ("greasing", {"greasing_rig_ring_given": "-4"}, ("Strokes", "-4", "greater than 0")),
        ("topup", {"topup_poured": "0"}, ("Litres", "0", "greater than 0")),
        ("topup", {"topup_poured": "-3"}, ("Litres", "-3", "greater than 0")),
        ("topup", {"topup_after": "9999"}, ("glass", "9999 mm", "0 to 350 mm")),
        ("level", {"level_when": "0001-01-01"}, ("When", "0001-01-01")),
    ],
)
def test_what_cannot_be_stored_is_one_sentence_with_field_value_and_limit(
    rig: Store, open_screen: Open, screen: str, boxes: dict[str, str], said: tuple[str, ...]
) -> None:
    at = open_screen(screen, machine="rig")
    box, text = ANSWERS[screen]
    typed(at, **{box: text})
    typed(at, **boxes)
    if not at.error:
        press(at, screen)
    assert not at.exception
    assert len(at.error) == 1
    assert all(word in at.error[0].value for word in said), at.error[0].value
    assert rig.count() == 0


@pytest.mark.parametrize(
    ("text", "kept"),
    [("4 3/8 in", "4 3/8 in"), ('4 3/8"', '4 3/8"'), ("12,5", "12,5 mm"), (" 125 ", "125 mm"), ("11 cm", "11 cm"), ("125.0", "125.0 mm")],
)
def test_what_was_typed_is_kept_as_it_was_typed(open_screen: Open, records: Store, text: str, kept: str) -> None:
    press(typed(open_screen("level", machine="ex-1"), level_reading=text), "level")
    doc = records.entries("ex-1")[0].doc
    assert isinstance(doc, kinds.LevelReading)
    assert doc.as_read == kept


def test_what_was_typed_first_is_kept_when_the_unit_of_the_view_changes(open_screen: Open, records: Store) -> None:
    at = typed(open_screen("level", machine="ex-1"), level_reading="112,50")
    for units in ("in, US gal", "in, imp gal", "mm, L", "in, US gal"):
        at.selectbox(key="units").set_value(units).run()
    press(at, "level")
    at.selectbox(key="units").set_value("in, imp gal").run()
    press(typed(at, level_reading="4 3/8"), "level")
    first, second = (e.doc for e in reversed(records.entries("ex-1")))
    assert isinstance(first, kinds.LevelReading)
    assert isinstance(second, kinds.LevelReading)
    assert (first.as_read, first.level) == ("112,50 mm", 112.5)
    assert (second.as_read, second.level) == ("4 3/8 in", 111.125)


@pytest.fixture
def zone() -> Iterator[Callable[[str], None]]:
    """Sets the local zone of the computer for one test."""
    before = os.environ.get("TZ")

    def put(name: str) -> None:
        os.environ["TZ"] = name
        time.tzset()

    yield put
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


def test_a_time_typed_in_has_the_offset_of_its_own_date(open_screen: Open, records: Store, zone: Callable[[str], None]) -> None:
    zone("CET-1CEST,M3.5.0,M10.5.0/3")
    at = typed(typed(open_screen("level", machine="ex-1"), level_reading="125"), level_when="2025-07-01 06:30")
    press(at, "level")
    assert not at.error
    assert records.entries("ex-1")[0].at == datetime.datetime(2025, 7, 1, 4, 30, tzinfo=datetime.UTC)
    press(typed(at, level_when="2025-12-01 06:30"), "level")
    assert records.entries("ex-1")[0].at == datetime.datetime(2025, 12, 1, 5, 30, tzinfo=datetime.UTC)


def test_the_offset_of_the_site_holds_where_one_is_entered(open_screen: Open, records: Store, zone: Callable[[str], None]) -> None:
    zone("CET-1CEST,M3.5.0,M10.5.0/3")
    records.put(Site(key="site", label="Pit", utc_offset_min=330), now_utc=START)
    at = typed(typed(open_screen("level", machine="ex-1"), level_reading="125"), level_when="2025-07-01 06:30")
    press(at, "level")
    assert records.entries("ex-1")[0].at == datetime.datetime(2025, 7, 1, 1, 0, tzinfo=datetime.UTC)


@pytest.mark.parametrize("screen", ["start", "level", "balance", "greasing", "machines", "records", "service"])
def test_records_that_fail_while_running_are_one_sentence(open_screen: Open, records: Store, tmp_path: Path, screen: str) -> None:
    at = open_screen(screen)
    assert not at.error
    for more in ("-wal", "-shm"):
        (tmp_path / f"records.db{more}").unlink(missing_ok=True)
    whole = (tmp_path / "records.db").read_bytes()
    (tmp_path / "records.db").write_bytes(whole[:100] + b"\xa5" * 4000 + whole[4100:])
    at.run()
    assert not at.exception
    assert len(at.error) == 1
    assert "Records at" in at.error[0].value
    assert "damaged" in at.error[0].value
