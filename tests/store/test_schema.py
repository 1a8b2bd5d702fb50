"""The migrations leave what the schema says, and what is stored stays as it was written."""

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from fluidapp.errors import RecordsProblem
from fluidapp.store import kinds, schema
from fluidapp.store.engine import alembic_config, reading, writing

COLUMNS = {
    "subject": "id kind key archived",
    "version": "id subject_id n doc made_utc made_by",
    "save": "id made_utc by_name by_login source file",
    "entry": "seq id save_id i kind at_utc utc_offset_min machine_id version_id meter_h meter_segment voids row_hash doc",
    "reading": "entry_id node gauge level_mm bound temp_c pitch_deg roll_deg swing_deg",
    "movement": "entry_id i from_node to_node product_id volume_l mass_kg u temp_c purpose price currency",
    "shot": "entry_id i point nipple swing_deg strokes mass_g purge_seen",
}


def test_migrated_tables_equal_the_schema(store):
    with reading(store.engine) as conn:
        context = MigrationContext.configure(conn, opts={"compare_type": True})
        assert compare_metadata(context, schema.metadata) == []


def test_migrated_columns_and_checks_are_those_of_a_table_made_from_the_schema(store, tmp_path):
    plain = sa.create_engine(f"sqlite:///{tmp_path / 'plain.db'}", poolclass=sa.pool.NullPool)
    schema.metadata.create_all(plain)
    a, b = sa.inspect(store.engine), sa.inspect(plain)
    for table in schema.metadata.tables:
        assert {c["name"] for c in a.get_check_constraints(table)} == {c["name"] for c in b.get_check_constraints(table)}
        assert {i["name"] for i in a.get_indexes(table)} == {i["name"] for i in b.get_indexes(table)}
        assert [(c["name"], c["nullable"]) for c in a.get_columns(table)] == [(c["name"], c["nullable"]) for c in b.get_columns(table)]


def test_tables_have_the_promised_columns(store):
    with reading(store.engine) as conn:
        found = sa.inspect(conn)
        assert {t: " ".join(c["name"] for c in found.get_columns(t)) for t in COLUMNS} == COLUMNS
        assert {i["name"] for i in found.get_indexes("entry")} >= {
            "ix_entry_machine_id_at_utc_seq",
            "ix_entry_kind_at_utc",
            "ix_entry_row_hash",
        }


def test_head_is_the_newest_migration():
    assert ScriptDirectory.from_config(alembic_config()).get_heads() == [schema.HEAD]


@pytest.fixture
def full(store, put, make):
    """Records with a row in every table."""
    put(
        make.reading(),
        make.entry(kinds.Movement(from_node="stock", to_node="tank", product="hyd", volume_l=20, purpose="top-up")),
        make.entry(kinds.Shot(point="ring", strokes=10)),
    )
    return store


@pytest.mark.parametrize("table", [*schema.GUARDED])
@pytest.mark.parametrize("verb", ["UPDATE", "DELETE", "REPLACE"])
def test_stored_rows_are_never_changed(full, table, verb):
    columns = [c.name for c in schema.metadata.tables[table].columns]
    statement = {
        "UPDATE": f"UPDATE {table} SET {columns[1]} = {columns[1]}",
        "DELETE": f"DELETE FROM {table}",
        "REPLACE": f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
    }[verb]
    with reading(full.engine) as conn:
        before = conn.execute(sa.text(f"SELECT * FROM {table}")).all()
    assert before
    with pytest.raises(RecordsProblem, match="stored entries are never changed"), writing(full.engine) as conn:
        conn.exec_driver_sql(statement)
    with reading(full.engine) as conn:
        assert conn.execute(sa.text(f"SELECT * FROM {table}")).all() == before


def test_a_subject_can_be_archived_but_not_deleted(store):
    with pytest.raises(RecordsProblem, match="never changed"), writing(store.engine) as conn:
        conn.exec_driver_sql("DELETE FROM subject WHERE key = 'wl-2'")
    store.archive("wl-2")
    assert [m.key for m in store.machines()] == ["ex-1"]
    assert [m.key for m in store.machines(archived=True)] == ["ex-1", "wl-2"]


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO entry SELECT 99, 'b', save_id, 99, 'void', at_utc, 0, NULL, NULL, NULL, 0, NULL, '', '{}' FROM entry LIMIT 1",
        "INSERT INTO reading (entry_id, node, bound, swing_deg) VALUES ('nobody', 'ex-1/tank', 'exact', 0)",
        "INSERT INTO entry (id, save_id, i, kind, at_utc, utc_offset_min, meter_segment, row_hash, doc)"
        " VALUES ('a','none',0,'note','',0,0,'','{}')",
        "INSERT INTO save (id, made_utc, by_name, by_login, source, file) VALUES ('s', '', '', '', 'guessed', '')",
    ],
)
def test_the_database_itself_refuses_loose_rows(full, statement):
    with pytest.raises(RecordsProblem, match="the database refused"), writing(full.engine) as conn:
        conn.exec_driver_sql(statement)


def test_settings_of_a_connection(store):
    with reading(store.engine) as conn:
        found = {
            name: conn.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "busy_timeout", "foreign_keys")
        }
    assert found == {"journal_mode": "wal", "synchronous": 2, "busy_timeout": 5000, "foreign_keys": 1}


QUESTIONS = {
    "the last reading": lambda store: store.last_reading("ex-1", "tank"),
    "the newest of one machine": lambda store: store.entries("ex-1", limit=5),
    "the newest of all": lambda store: store.entries(limit=5),
    "the newest of one compartment": lambda store: store.entries("ex-1", node="tank", limit=5),
    "crossed-out ones too": lambda store: store.entries(limit=5, live=False),
}


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question_is_answered_from_an_index_without_sorting_all_entries(full, question):
    asked = []
    sa.event.listen(full.engine, "before_cursor_execute", lambda conn, cursor, sql, values, context, many: asked.append((sql, values)))
    QUESTIONS[question](full)
    (sql, values) = next(a for a in reversed(asked) if "ORDER BY" in a[0])
    with full.engine.connect() as conn:
        plan = [row[3] for row in conn.exec_driver_sql(f"EXPLAIN QUERY PLAN {sql}", values)]
    assert "USE TEMP B-TREE FOR ORDER BY" not in plan
    assert not [line for line in plan if line.startswith("SCAN") and "USING INDEX" not in line]
