"""The due list over the demo's records: the replaced meter, the position left out, and no task of the demo that goes uncounted."""

import datetime
import shutil

import pytest

from fluidapp.calc import due
from fluidapp.store import open_store
from fluidapp.store.demo import built


@pytest.fixture(scope="module")
def demo(records_of, tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "records.db"
    shutil.copyfile(built(), path)
    store = open_store(path)
    yield records_of(store)
    store.close()


@pytest.fixture(scope="module")
def found(demo):
    return demo.due(datetime.date(2026, 9, 30))


def test_hours_add_up_over_the_replaced_meter_of_the_drill(demo, found) -> None:
    change = next(d for d in found if d.machine == "gorse" and d.key == "engine-change")
    assert change.target_h - change.target_meter_h == pytest.approx(3907.0, abs=0.6)  # what the old meter ended at
    assert change.state == "coming"
    meter = due.read_meter(demo.meters["gorse"], datetime.date(2026, 9, 30))
    assert [f.kind for f in meter.faults if f.kind not in ("stuck", "not read")] == ["replaced"]


def test_the_position_left_out_is_the_only_thing_overdue(found) -> None:
    assert [(d.machine, d.key) for d in found if d.state == "overdue"] == [("juniper", "ring")]
    assert "position over rear sprockets" in found[0].why


def test_everything_done_in_the_demo_is_counted(demo, found) -> None:
    assert [e for m in demo.machines for e in due.unmatched(m, demo.events)] == []
    assert {(d.machine, d.key) for d in found if d.state == "never recorded"} == {
        ("bracken", "drive-left-change"), ("sorrel", "drive-left-change"), ("sorrel", "drive-right-change"),
    }  # fmt: skip
    assert all(d.charge.volume_l > 0 and d.charge.u_l > 0 for d in found if d.kind == "change")


def test_no_reading_of_the_demo_is_left_out(demo) -> None:
    for key, looks in demo.meters.items():
        assert not {"backwards", "more than 24 h a day"} & {f.kind for f in due.read_meter(looks, datetime.date(2026, 9, 30)).faults}, key
