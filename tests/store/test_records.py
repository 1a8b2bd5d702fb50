"""One way in: what is stored, what is refused and in which words."""

import pickle
from datetime import timedelta, timezone

import pytest

from fluidapp.errors import BadInput, NotAllowed, OutOfRange, RecordsProblem, Unknown
from fluidapp.model import Machine, Product
from fluidapp.store import NewEntry, Save, kinds, open_store


def test_a_retried_save_is_stored_once_and_returns_the_first_result(store, make):
    save = Save(id="form-1", entries=(make.reading(), make.reading(215, 1)), by_name="Ann")
    first = store.record(save, now_utc=make.now)
    again = store.record(save, now_utc=make.now + timedelta(minutes=3))
    assert again.entry_ids == first.entry_ids
    assert (first.repeated, again.repeated) == (False, True)
    assert store.count() == 2


def test_a_save_id_with_other_content_is_refused_by_name(store, make):
    store.record(Save(id="form-1", entries=(make.reading(212),)), now_utc=make.now)
    for other in (
        Save(id="form-1", entries=(make.reading(213),)),
        Save(id="form-1", entries=(make.reading(212), make.reading(212))),
        Save(id="form-1", entries=(make.reading(212),), by_name="Ben"),
    ):
        with pytest.raises(RecordsProblem, match="the save form-1 was stored on 2026-05-04 with other content"):
            store.record(other, now_utc=make.now)
    assert store.count() == 1


def test_one_refused_entry_keeps_the_whole_save_out(store, make):
    lost = make.entry(kinds.LevelReading(node="sump", level=1))
    with pytest.raises(Unknown):
        store.record(Save(id="s", entries=(make.reading(), lost)), now_utc=make.now)
    assert not store.record(Save(id="s", entries=(make.reading(),)), now_utc=make.now).repeated


@pytest.mark.parametrize(
    ("doc", "machine", "sentence"),
    [
        (kinds.LevelReading(node="tank", level=1), "ex-9", "Machine: “ex-9” is not known. Known: ex-1, wl-2."),
        (kinds.LevelReading(node="sump", level=1), "ex-1", "Compartment of ex-1: “sump” is not known. Known: tank, slew, bath, ring."),
        (kinds.LevelReading(node="tank", level=1, gauge="stick"), "ex-1", "Gauge: “stick” is not known. Known: glass, panel, tube."),
        (
            kinds.LevelReading(node="tank", level=9999.0, gauge="tube"),
            "ex-1",
            "tube: 9999 mm is not within 20 to 350 mm. Read again, or correct the ends of this gauge on Machines.",
        ),
        (
            kinds.LevelReading(node="tank", level=19.0, bound="at most", gauge="tube"),
            "ex-1",
            "tube: 19 mm is not within 20 to 350 mm. Read again, or correct the ends of this gauge on Machines.",
        ),
        (
            kinds.LevelReading(node="tank", level=101.0, gauge="panel"),
            "ex-1",
            "panel: 101 % is not within 0 to 100 %. Read again, or correct the ends of this gauge on Machines.",
        ),
        (
            kinds.LevelReading(node="tank", level=-1.0, gauge="glass"),
            "ex-1",
            "glass: -1 mm is below 0 mm. Read again, or correct the ends of this gauge on Machines.",
        ),
        (kinds.LevelReading(node="ex-2/tank", level=1), "ex-1", "node: “ex-2/tank” cannot be used. It is no part of the machine ex-1."),
        (kinds.LevelReading(node="ring", level=1), "ex-1", "node: “ex-1/ring” cannot be used. A grease point has no level. Enter a shot."),
        (kinds.LevelReading(node="tank", level=1), None, "machine: “” cannot be used. Name the machine."),
        (kinds.Shot(point="pin", strokes=1), "ex-1", "Grease point: “pin” is not known. Known: ring."),
        (kinds.Shot(point="ring", nipple=3), "ex-1", "nipple: 3 is not within 1 to 2. Count the nipples of this ring."),
        (kinds.Shot(point="ring", gun="gun-z"), "ex-1", "Gun: “gun-z” is not known. Known: gun-a."),
        (
            kinds.Movement(from_node="stock", to_node="tank", product="hid", volume_l=1, purpose="top-up"),
            "ex-1",
            "Product: “hid” is not known. Known: grease, hyd.",
        ),
        (
            kinds.Movement(from_node="stock", to_node="tank", volume_l=1, purpose="top-up"),
            None,
            "node: “tank” cannot be used. Name the machine too, like ex-1/tank, or use one of: stock, used-oil, outside.",
        ),
        (kinds.Meter(), "ex-1", "hour meter: “” cannot be used. Enter what it shows, or say “not read” or “broken since”."),
    ],
)
def test_unknown_names_are_refused_in_words(store, make, doc, machine, sentence):
    with pytest.raises((Unknown, BadInput, OutOfRange)) as caught:
        store.record(Save(id="s", entries=(make.entry(doc, machine=machine),)), now_utc=make.now)
    assert str(caught.value) == sentence
    assert str(pickle.loads(pickle.dumps(caught.value))) == sentence
    assert store.count() == 0


def test_a_reading_from_the_future_is_refused(store, make):
    late = NewEntry(machine="ex-1", at=make.now + timedelta(minutes=1), doc=kinds.Note(text="x"))
    with pytest.raises(BadInput, match=r"It lies after 2026-05-04 18:00 UTC"):
        store.record(Save(id="s", entries=(late,)), now_utc=make.now)
    store.record(Save(id="s", entries=(late,)), now_utc=make.now + timedelta(minutes=1))


def test_who_may_not_write_is_told_why(store, make, tmp_path):
    shut = open_store(tmp_path / "records.db", may=lambda login, what: None if login == "boss" else f"{login} may only read {what}")
    with pytest.raises(NotAllowed, match=r"ben may only read entries\. Ask whoever"):
        shut.record(Save(id="s", entries=(make.reading(),), by_login="ben"), now_utc=make.now)
    with pytest.raises(NotAllowed, match="may only read product"):
        shut.put(Product(key="x", label="X", kind="oil"), now_utc=make.now)
    with pytest.raises(NotAllowed):
        shut.archive("hyd", by_login="ben")
    shut.record(Save(id="s", entries=(make.reading(),), by_login="boss"), now_utc=make.now)


def test_a_voided_entry_leaves_the_live_ones_and_stays_readable(store, put, make):
    (wrong,) = put(make.reading(512))
    _, right = put(make.entry(kinds.Void(entry=wrong, reason="slip of the pen"), machine=None), make.reading(212))
    assert [e.id for e in store.entries("ex-1")] == [right]
    assert store.last_reading("ex-1", "tank").doc.level == 212
    every = {e.id: e for e in store.entries("ex-1", live=False)}
    assert len(every) == 3
    assert every[wrong].voided_by in every
    assert every[every[wrong].voided_by].doc.reason == "slip of the pen"


def test_void_rules(store, put, make):
    (a,) = put(make.reading(512))
    (v,) = put(make.entry(kinds.Void(entry=a), day=2))
    for entry, words in (
        (a, "was already voided on 2026-04-03"),
        (v, "a void cannot be voided"),
        ("nothing", "there is no entry with the id nothing"),
    ):
        with pytest.raises(RecordsProblem, match=words):
            put(make.entry(kinds.Void(entry=entry)))
    (b,) = put(make.reading(1))
    with pytest.raises(RecordsProblem, match="voided twice in one save"):
        put(make.entry(kinds.Void(entry=b)), make.entry(kinds.Void(entry=b)))
    with pytest.raises(BadInput, match="The voided entry belongs to ex-1"):
        put(make.entry(kinds.Void(entry=b), machine="wl-2"))
    assert [e.id for e in store.entries()] == [b]


def test_a_closed_watch_names_one_that_was_opened(store, put, make):
    (note,) = put(make.entry(kinds.Note(text="x")))
    (opened,) = put(make.entry(kinds.WatchOpened(mode="parked", at_nodes=("slew",))))
    with pytest.raises(RecordsProblem, match="there is no entry “watch opened” with the id"):
        put(make.entry(kinds.WatchClosed(watch=note)))
    put(make.entry(kinds.WatchClosed(watch=opened)))


def test_entries_are_found_by_machine_kind_node_and_time(store, put, make):
    put(make.reading(200, 0), make.entry(kinds.LevelReading(node="slew", level=40), 1), make.entry(kinds.Note(text="n"), 2, machine="wl-2"))
    put(
        make.entry(kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=20, purpose="top-up"), 3),
        make.entry(kinds.OilSample(node="tank", bottle="7"), 4),
        make.entry(kinds.Repair(what="seal", at_nodes=("slew",)), 5),
    )
    assert [e.kind for e in store.entries()] == ["repair", "oil sample", "movement", "note", "reading", "reading"]
    assert [e.kind for e in store.entries("ex-1", node="tank")] == ["oil sample", "movement", "reading"]
    assert [e.kind for e in store.entries(kinds="reading", limit=1)] == ["reading"]
    assert [e.kind for e in store.entries(since=make.at(3), until=make.at(4))] == ["oil sample", "movement"]
    assert store.entries("wl-2")[0].machine == "wl-2"
    assert [m.product for m in store.movements(product="hyd")] == ["hyd"]
    assert [m.volume_l for m in store.movements("ex-1", node="tank")] == [20]
    assert store.movements("wl-2") == []
    with pytest.raises(Unknown, match="Known: ex-1, wl-2"):
        store.entries("ex-7")


def test_a_reading_keeps_the_version_that_it_was_read_with(store, put, make):
    put(make.reading())
    changed = Machine.model_validate({**make.machine, "label": "Excavator one, rebuilt"})
    assert store.put(changed, now_utc=make.now) != store.put(Machine.model_validate({**make.machine, "note": "n"}), now_utc=make.now)
    put(make.reading(213, 1))
    new, old = store.entries("ex-1")
    assert store.version(old.version_id).label == "Excavator one"
    assert store.version(new.version_id).note == "n"
    assert store.machine("ex-1").note == "n"


def test_the_same_machine_again_is_no_new_version(store, make):
    same = Machine.model_validate(make.machine)
    assert store.put(same, now_utc=make.now) == store.put(same, now_utc=make.now + timedelta(days=1))


def test_a_key_names_one_thing_only(store, make):
    with pytest.raises(RecordsProblem, match="“ex-1” is already the name of a machine"):
        store.put(Product(key="ex-1", label="X", kind="oil"), now_utc=make.now)
    with pytest.raises(BadInput, match="These names are taken: stock, used-oil, outside"):
        store.put(Machine(key="stock", label="X"), now_utc=make.now)


def test_times_come_back_with_the_clock_of_the_place(store, make):
    local = make.at().astimezone(timezone(timedelta(minutes=120)))
    store.record(Save(id="s", entries=(NewEntry(machine="ex-1", at=local, doc=kinds.Note(text="x")),)), now_utc=make.now)
    (found,) = store.entries()
    assert found.at == make.at()
    assert found.at_local.isoformat() == "2026-04-01T08:30:00+02:00"
