"""The same records on PostgreSQL. Runs only where FLUIDAPP_TEST_POSTGRES holds the address of an empty database and its driver
is installed, for example postgresql+psycopg://me@localhost/empty; everything in that database is dropped."""

import os
from concurrent.futures import ThreadPoolExecutor

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from fluidapp.errors import BadInput, RecordsProblem
from fluidapp.model import Gun, Machine, Product
from fluidapp.store import Save, demo, kinds, open_store, schema
from fluidapp.store.engine import make_engine, reading, writing
from fluidapp.store.files import load_files, read_folder

ADDRESS = os.environ.get("FLUIDAPP_TEST_POSTGRES", "")
pytestmark = pytest.mark.skipif(not ADDRESS, reason="no PostgreSQL address in FLUIDAPP_TEST_POSTGRES")


@pytest.fixture
def empty():
    """An address whose database holds nothing."""
    engine = make_engine(sa.make_url(ADDRESS))
    with engine.begin() as conn:
        conn.exec_driver_sql("DROP SCHEMA public CASCADE")
        conn.exec_driver_sql("CREATE SCHEMA public")
    engine.dispose()
    return ADDRESS


@pytest.fixture
def server(empty, make):
    """Records on the server, with the machine of the other tests."""
    store = open_store(empty)
    store.put(
        Machine.model_validate(make.machine),
        Product(key="hyd", label="Hydraulic oil", kind="oil"),
        Gun(key="gun-a", label="Hand gun A"),
        now_utc=make.now,
    )
    yield store
    store.close()


def test_migrated_tables_equal_the_schema(server):
    with reading(server.engine) as conn:
        assert compare_metadata(MigrationContext.configure(conn, opts={"compare_type": True}), schema.metadata) == []


@pytest.mark.parametrize("verb", ["UPDATE {} SET {} = {}", "DELETE FROM {}", "TRUNCATE {} CASCADE"])
@pytest.mark.parametrize("table", schema.GUARDED)
def test_stored_rows_are_never_changed(server, make, table, verb):
    docs = (
        kinds.LevelReading(node="tank", level=200),
        kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=1, purpose="top-up"),
        kinds.Shot(point="ring"),
    )
    server.record(Save(id="s", entries=tuple(make.entry(doc) for doc in docs)), now_utc=make.now)
    column = list(schema.metadata.tables[table].columns)[1].name
    with pytest.raises(RecordsProblem, match="stored entries are never changed"), writing(server.engine) as conn:
        conn.exec_driver_sql(verb.format(table, column, column))


def test_saves_voids_and_meters_hold_as_on_sqlite(server, make):
    save = Save(id="s", entries=(make.reading(212, 0, 100.0), make.reading(213, 1, 110.0)))
    first = server.record(save, now_utc=make.now)
    assert server.record(save, now_utc=make.now).repeated
    with pytest.raises(BadInput, match="cannot show less than 110 h"):
        server.record(Save(id="t", entries=(make.reading(1, 2, 105.0),)), now_utc=make.now)
    server.record(Save(id="u", entries=(make.entry(kinds.Void(entry=first.entry_ids[1])),)), now_utc=make.now)
    with pytest.raises(RecordsProblem, match="already voided"):
        server.record(Save(id="v", entries=(make.entry(kinds.Void(entry=first.entry_ids[1])),)), now_utc=make.now)
    assert [e.doc.level for e in server.entries("ex-1", node="tank")] == [212]
    assert server.last_reading("ex-1", "tank").doc.as_read == "212 mm"
    server.record(Save(id="w", entries=(make.entry(kinds.OilSample(node="tank", bottle="1")),)), now_utc=make.now)
    assert [e.kind for e in server.entries(node="ex-1/tank")] == ["oil sample", "reading"]


def test_writers_at_once_lose_nothing(server, make):
    def write(n: int) -> bool:
        mine = open_store(ADDRESS)
        found = mine.record(Save(id=f"s{n % 16}", entries=(make.entry(kinds.Note(text=str(n % 16))),)), now_utc=make.now)
        mine.close()
        return found.repeated

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(write, range(32))) == [False] * 16 + [True] * 16
    assert server.count() == 16


def test_the_demo_goes_in_whole(empty):
    files = read_folder(demo.demo_folder())
    store = open_store(empty)
    assert load_files(store, files, now_utc=demo.demo_now(files)).already == 0
    assert load_files(store, files, now_utc=demo.demo_now(files)).entries == 0
    assert len(store.shots("juniper", "ring")) > 50
    store.close()


def test_a_server_that_does_not_answer_is_said():
    with pytest.raises(RecordsProblem, match="no server answers there"):
        open_store(sa.make_url(ADDRESS).set(port=1).render_as_string(hide_password=False))
