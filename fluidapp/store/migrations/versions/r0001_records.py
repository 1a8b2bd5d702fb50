"""All tables of the records, the view of the live entries, and the triggers that keep entries as they were written."""

import sqlalchemy as sa
from alembic import op

revision = "r0001"
down_revision = None
branch_labels = None
depends_on = None

GUARDED = ("save", "entry", "version", "reading", "movement", "shot")
LIVE = """
CREATE VIEW live_entry AS
SELECT e.* FROM entry AS e
WHERE e.kind <> 'void' AND NOT EXISTS (SELECT 1 FROM entry AS v WHERE v.voids = e.id)
"""
KEEP = """
CREATE FUNCTION fluidapp_keep() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'rows of % are kept as they were written', TG_TABLE_NAME; END $$
"""


def upgrade() -> None:
    _tables()
    op.execute(LIVE)
    if op.get_bind().dialect.name == "postgresql":
        op.execute(KEEP)
        for table in (*GUARDED, "subject"):
            events = "DELETE" if table == "subject" else "UPDATE OR DELETE"
            op.execute(f"CREATE TRIGGER {table}_kept BEFORE {events} ON {table} FOR EACH ROW EXECUTE FUNCTION fluidapp_keep()")
            op.execute(f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION fluidapp_keep()")
    else:
        for table in (*GUARDED, "subject"):
            for event in ("DELETE",) if table == "subject" else ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are kept as they were written'); END"
                )


def _tables() -> None:
    op.create_table(
        "subject",
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("archived", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.PrimaryKeyConstraint("id", name="pk_subject"),
        sa.UniqueConstraint("key", name="uq_subject_key"),
    )
    op.create_table(
        "version",
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("subject_id", sa.Text, nullable=False),
        sa.Column("n", sa.Integer, nullable=False),
        sa.Column("doc", sa.JSON, nullable=False),
        sa.Column("made_utc", sa.Text, nullable=False),
        sa.Column("made_by", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_version"),
        sa.ForeignKeyConstraint(["subject_id"], ["subject.id"], name="fk_version_subject_id"),
        sa.UniqueConstraint("subject_id", "n", name="uq_version_subject_id_n"),
    )
    op.create_table(
        "save",
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("made_utc", sa.Text, nullable=False),
        sa.Column("by_name", sa.Text, nullable=False),
        sa.Column("by_login", sa.Text, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("file", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_save"),
        sa.CheckConstraint("source IN ('form', 'cli', 'import')", name=op.f("ck_save_source")),
    )
    op.create_table(
        "entry",
        sa.Column("seq", sa.BigInteger().with_variant(sa.Integer, "sqlite"), sa.Identity(always=False), nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("save_id", sa.Text, nullable=False),
        sa.Column("i", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("at_utc", sa.Text, nullable=False),
        sa.Column("utc_offset_min", sa.Integer, nullable=False),
        sa.Column("machine_id", sa.Text),
        sa.Column("version_id", sa.Text),
        sa.Column("meter_h", sa.Float),
        sa.Column("meter_segment", sa.Integer, nullable=False),
        sa.Column("voids", sa.Text),
        sa.Column("row_hash", sa.Text, nullable=False),
        sa.Column("doc", sa.JSON, nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_entry"),
        sa.UniqueConstraint("id", name="uq_entry_id"),
        sa.UniqueConstraint("voids", name="uq_entry_voids"),
        sa.UniqueConstraint("save_id", "i", name="uq_entry_save_id_i"),
        sa.CheckConstraint("(kind = 'void') = (voids IS NOT NULL)", name=op.f("ck_entry_voids")),
        sa.ForeignKeyConstraint(["save_id"], ["save.id"], name="fk_entry_save_id"),
        sa.ForeignKeyConstraint(["machine_id"], ["subject.id"], name="fk_entry_machine_id"),
        sa.ForeignKeyConstraint(["version_id"], ["version.id"], name="fk_entry_version_id"),
        sa.ForeignKeyConstraint(["voids"], ["entry.id"], name="fk_entry_voids"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_entry_machine_id_at_utc_seq", "entry", ["machine_id", "at_utc", "seq"])
    op.create_index("ix_entry_at_utc_seq", "entry", ["at_utc", "seq"])
    op.create_index("ix_entry_kind_at_utc", "entry", ["kind", "at_utc"])
    op.create_index("ix_entry_row_hash", "entry", ["row_hash"])
    op.create_table(
        "reading",
        sa.Column("entry_id", sa.Text, nullable=False),
        sa.Column("node", sa.Text, nullable=False),
        sa.Column("gauge", sa.Text),
        sa.Column("level_mm", sa.Float),
        sa.Column("bound", sa.Text, nullable=False),
        sa.Column("temp_c", sa.Float),
        sa.Column("pitch_deg", sa.Float),
        sa.Column("roll_deg", sa.Float),
        sa.Column("swing_deg", sa.Float, nullable=False),
        sa.PrimaryKeyConstraint("entry_id", name="pk_reading"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_reading_entry_id"),
        sa.CheckConstraint("bound IN ('exact', 'at most', 'at least')", name=op.f("ck_reading_bound")),
    )
    op.create_index("ix_reading_node", "reading", ["node"])
    op.create_table(
        "movement",
        sa.Column("entry_id", sa.Text, nullable=False),
        sa.Column("i", sa.Integer, nullable=False),
        sa.Column("from_node", sa.Text, nullable=False),
        sa.Column("to_node", sa.Text, nullable=False),
        sa.Column("product_id", sa.Text),
        sa.Column("volume_l", sa.Float),
        sa.Column("mass_kg", sa.Float),
        sa.Column("u", sa.Float),
        sa.Column("temp_c", sa.Float),
        sa.Column("purpose", sa.Text, nullable=False),
        sa.Column("price", sa.Float),
        sa.Column("currency", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("entry_id", "i", name="pk_movement"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_movement_entry_id"),
        sa.ForeignKeyConstraint(["product_id"], ["subject.id"], name="fk_movement_product_id"),
        sa.CheckConstraint("volume_l > 0 OR mass_kg > 0", name=op.f("ck_movement_amount")),
        sa.CheckConstraint("from_node <> to_node", name=op.f("ck_movement_somewhere_else")),
    )
    op.create_index("ix_movement_from_node", "movement", ["from_node"])
    op.create_index("ix_movement_to_node", "movement", ["to_node"])
    op.create_index("ix_movement_product_id", "movement", ["product_id"])
    op.create_table(
        "shot",
        sa.Column("entry_id", sa.Text, nullable=False),
        sa.Column("i", sa.Integer, nullable=False),
        sa.Column("point", sa.Text, nullable=False),
        sa.Column("nipple", sa.Integer, nullable=False),
        sa.Column("swing_deg", sa.Float),
        sa.Column("strokes", sa.Float),
        sa.Column("mass_g", sa.Float),
        sa.Column("purge_seen", sa.Boolean),
        sa.PrimaryKeyConstraint("entry_id", "i", name="pk_shot"),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name="fk_shot_entry_id"),
    )
    op.create_index("ix_shot_point", "shot", ["point"])
