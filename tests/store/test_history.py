"""The history: filters and pages, an entry replaced in one save, and voids that give back the state of before."""

import shutil

import hypothesis
import pytest
from hypothesis import strategies as st

from fluidapp.errors import BadInput, OutOfRange, RecordsProblem
from fluidapp.store import Save, kinds, open_store


def pour(litres: float = 20.0, **more) -> kinds.Movement:
    return kinds.Movement(**{"from_node": "stock", "to_node": "tank", "product": "hyd", "volume_l": litres, "purpose": "top-up", **more})


@pytest.fixture
def past(store, put, make):
    """Six entries of two people on two machines, one of them crossed out; their ids by name."""
    a, b, c = put(make.reading(200, 0), make.entry(pour(), 1), make.entry(kinds.Shot(point="ring", strokes=9), 2))
    doc = kinds.Repair(what="seal", at_nodes=("slew",))
    entries = (make.entry(doc, 3), make.entry(kinds.Note(text="n"), 4, machine="wl-2"))
    d, e = store.record(Save(id="late", entries=entries, by_name="Ben"), now_utc=make.now).entry_ids
    (f,) = put(make.entry(kinds.Void(entry=a, reason="slip"), 5, machine=None))
    return {"reading": a, "pour": b, "shot": c, "repair": d, "note": e, "void": f}


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, ["note", "repair", "shot", "pour"]),
        ({"live": False}, ["void", "note", "repair", "shot", "pour", "reading"]),
        ({"by": "Ben"}, ["note", "repair"]),
        ({"by": "Ann", "live": False, "kinds": ("reading", "shot")}, ["shot", "reading"]),
        ({"by": "nobody"}, []),
        ({"machine": "ex-1", "node": "slew"}, ["repair"]),
        ({"machine": "ex-1", "node": "ring"}, ["shot"]),
        ({"node": "stock"}, ["pour"]),
        ({"kinds": ()}, []),
        ({"save": "late"}, ["note", "repair"]),
    ],
)
def test_filters_choose(store, past, asked, found):
    names = {entry_id: name for name, entry_id in past.items()}
    assert [names[e.id] for e in store.entries(**asked)] == found
    if "save" not in asked:
        assert store.how_many(**asked) == len(found)


def test_pages_follow_each_other_without_gap_or_twin(store, put, make):
    put(*(make.reading(200 + i) for i in range(7)))  # all at the same minute: the order of entering decides
    pages = [store.entries("ex-1", limit=3, offset=offset) for offset in (0, 3, 6, 9)]
    assert [len(page) for page in pages] == [3, 3, 1, 0]
    assert [e.doc.level for page in pages for e in page] == [206, 205, 204, 203, 202, 201, 200]
    assert (store.how_many("ex-1"), store.how_many("ex-1", most=5)) == (7, 5)


def test_everybody_who_entered_something_is_listed_once(store, past):
    assert store.names() == ["Ann", "Ben"]


def test_a_page_reads_through_an_index_not_through_all_entries(store, past):
    with store.engine.connect() as conn:
        plan = conn.exec_driver_sql("EXPLAIN QUERY PLAN SELECT * FROM live_entry ORDER BY at_utc DESC, seq DESC LIMIT 20").fetchall()
    said = " ".join(str(row[-1]) for row in plan)
    assert "ix_entry_at_utc_seq" in said
    assert "TEMP B-TREE" not in said  # nothing is sorted


def test_a_replacement_is_one_save_that_leaves_the_old_one_readable(store, past, put, make):
    put(make.entry(kinds.Void(entry=past["pour"], reason="26 L, not 20"), 1), make.entry(pour(26.0), 1))
    assert [m.volume_l for m in store.movements("ex-1")] == [26.0]
    old = store.entry(past["pour"])
    assert old.doc.volume_l == 20.0
    void = store.by_ids([old.voided_by])[old.voided_by]
    assert void.doc.reason == "26 L, not 20"
    new = store.entries("ex-1", "movement")[0]
    assert new.save_id == void.save_id


def test_a_replacement_that_is_refused_leaves_the_old_one_standing(store, past, put, make):
    with pytest.raises(OutOfRange, match="No more fits"):
        put(make.entry(kinds.Void(entry=past["pour"]), 1), make.entry(pour(9999.0), 1))
    assert [m.volume_l for m in store.movements("ex-1")] == [20.0]
    assert store.entry(past["pour"]).voided_by is None


def test_a_wrong_meter_is_replaced_although_it_stands_in_the_way_of_the_right_one(store, put, make):
    (wrong,) = put(make.entry(kinds.Meter(), 1, meter_h=51234.0))
    put(make.entry(kinds.Void(entry=wrong), 1), make.entry(kinds.Meter(), 1, meter_h=5123.4))
    assert [p.meter_h for p in store.meter_points("ex-1")] == [5123.4]


def test_a_note_belongs_to_an_entry_that_is_there(store, past, put, make):
    put(make.entry(kinds.Note(text="glass was fogged", about=past["reading"]), 6))
    for target in ("nothing", past["void"]):
        with pytest.raises(RecordsProblem, match="there is no entry with the id"):
            put(make.entry(kinds.Note(text="x", about=target), 6))


def test_an_entry_may_name_one_that_comes_in_with_it(put, make):
    opened = make.entry(kinds.WatchOpened(mode="parked", at_nodes=("slew",))).model_copy(update={"id": "w-1"})
    put(opened, make.entry(kinds.WatchClosed(watch="w-1"), 2))


@pytest.mark.parametrize(
    ("doc", "said"),
    [
        (pour(9999.0), "litres: 9999 L is above 900 L"),  # the box holds 300 L, three of them the system
        (pour(9999.0, from_node="tank", to_node="used-oil", purpose="drain"), "litres: 9999 L is above 900 L"),
        (kinds.LevelReading(node="bath", depths_mm=(20.0, 9999.0)), "depth: 9999 mm is above 500 mm"),
        (kinds.Shot(point="ring", seconds=99999.0), "seconds: 99999 s is above 25000 s"),
        (kinds.Shot(point="ring", mass_g=5001.0), "grams: 5001 g is above 5000 g"),
    ],
)
def test_nonsense_is_refused_with_its_limit(store, put, make, doc, said):
    with pytest.raises(OutOfRange) as caught:
        put(make.entry(doc))
    assert str(caught.value).startswith(said)
    assert store.count() == 0


def state(store):
    """Everything that readers see, by the ids of the entries."""
    return (
        [e.id for e in store.entries()],
        store.movements(),
        store.meter_points("ex-1"),
        [e.id for e in store.shots("ex-1", "ring")],
        store.last_reading("ex-1", "tank"),
        [e.id for e in store.entries("ex-1", node="ring")],
        store.how_many("ex-1"),
    )


DOCS = st.one_of(
    st.builds(lambda mm: kinds.LevelReading(node="tank", gauge="glass", level=float(mm)), st.integers(0, 300)),
    st.builds(lambda litres: pour(float(litres)), st.integers(1, 300)),
    st.builds(lambda n: kinds.Shot(point="ring", strokes=float(n)), st.integers(1, 99)),
    st.just(kinds.Meter()),
    st.builds(lambda h: kinds.MeterChanged(old_end_h=h), st.just(5000.0)),
    st.just(kinds.Note(text="n")),
)


@hypothesis.settings(
    hypothesis.settings.get_profile("brief"), max_examples=25, suppress_health_check=[hypothesis.HealthCheck.function_scoped_fixture]
)
@hypothesis.given(before=st.lists(DOCS, max_size=3), wrong=st.lists(DOCS, min_size=1, max_size=4), places=st.permutations(range(7)))
def test_voiding_a_save_gives_back_the_state_of_before_exactly(template, tmp_path_factory, make, before, wrong, places):
    store = open_store(shutil.copyfile(template, tmp_path_factory.mktemp("void") / "records.db"))

    def save(name, docs, first):
        entries = []
        for i, doc in enumerate(docs):
            day = places[first + i]
            new = isinstance(doc, kinds.MeterChanged)
            meter = None if new else 4000.0 + day if isinstance(doc, kinds.Meter) else None
            entries.append(make.entry(doc, day, meter_h=0.0 if new else meter))
        return store.record(Save(id=name, entries=tuple(entries), by_name="Ann"), now_utc=make.now)

    try:
        if before:
            save("before", before, 0)
        was = state(store)
        ids = save("wrong", wrong, len(before)).entry_ids
    except BadInput:
        hypothesis.reject()  # a meter that would run backwards
    assert state(store) != was
    voids = tuple(make.entry(kinds.Void(entry=i, reason="undone"), 20, machine=None) for i in ids)
    store.record(Save(id="undo", entries=voids, by_name="Ben"), now_utc=make.now)
    assert state(store) == was
    assert store.count() == len(before) + 2 * len(ids)
