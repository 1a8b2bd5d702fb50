"""The tables of the records, in the shape that the newest migration leaves behind.

Ids are uuid texts. Times are UTC texts "2026-05-04T06:30:00Z", which sort as they stand; the offset of the place goes beside
them. What was typed lives in ``entry.doc``; the floats in the detail tables are what is computed with. Nothing in ``save``,
``entry``, ``version`` and the details is ever updated or deleted: triggers made by the first migration refuse it.
"""

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Identity,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    false,
)

HEAD = "r0001"  # the newest migration; a test compares it with the folder of migrations
GUARDED = ("save", "entry", "version", "reading", "movement", "shot")

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)
views = MetaData()

subject = Table(
    "subject",
    metadata,
    Column("id", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("key", Text, nullable=False, unique=True),
    Column("archived", Boolean, nullable=False, server_default=false()),
)

version = Table(
    "version",
    metadata,
    Column("id", Text, primary_key=True),
    Column("subject_id", Text, ForeignKey("subject.id"), nullable=False),
    Column("n", Integer, nullable=False),
    Column("doc", JSON, nullable=False),
    Column("made_utc", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    UniqueConstraint("subject_id", "n"),
)

save = Table(
    "save",
    metadata,
    Column("id", Text, primary_key=True),
    Column("made_utc", Text, nullable=False),
    Column("by_name", Text, nullable=False),
    Column("by_login", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("file", Text, nullable=False),
    CheckConstraint("source IN ('form', 'cli', 'import')", name="source"),
)

entry = Table(
    "entry",
    metadata,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), Identity(always=False), primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("save_id", Text, ForeignKey("save.id"), nullable=False),
    Column("i", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at_utc", Text, nullable=False),
    Column("utc_offset_min", Integer, nullable=False),
    Column("machine_id", Text, ForeignKey("subject.id")),
    Column("version_id", Text, ForeignKey("version.id")),
    Column("meter_h", Float),
    Column("meter_segment", Integer, nullable=False),
    Column("voids", Text, ForeignKey("entry.id"), unique=True),
    Column("row_hash", Text, nullable=False),
    Column("doc", JSON, nullable=False),
    UniqueConstraint("save_id", "i"),
    CheckConstraint("(kind = 'void') = (voids IS NOT NULL)", name="voids"),
    Index(None, "machine_id", "at_utc", "seq"),
    Index(None, "at_utc", "seq"),
    Index(None, "kind", "at_utc"),
    Index(None, "row_hash"),
    sqlite_autoincrement=True,
)

reading = Table(
    "reading",
    metadata,
    Column("entry_id", Text, ForeignKey("entry.id"), primary_key=True),
    Column("node", Text, nullable=False),
    Column("gauge", Text),
    Column("level_mm", Float),
    Column("bound", Text, nullable=False),
    Column("temp_c", Float),
    Column("pitch_deg", Float),
    Column("roll_deg", Float),
    Column("swing_deg", Float, nullable=False),
    CheckConstraint("bound IN ('exact', 'at most', 'at least')", name="bound"),
    Index(None, "node"),
)

movement = Table(
    "movement",
    metadata,
    Column("entry_id", Text, ForeignKey("entry.id"), primary_key=True),
    Column("i", Integer, primary_key=True),
    Column("from_node", Text, nullable=False),
    Column("to_node", Text, nullable=False),
    Column("product_id", Text, ForeignKey("subject.id")),
    Column("volume_l", Float),
    Column("mass_kg", Float),
    Column("u", Float),
    Column("temp_c", Float),
    Column("purpose", Text, nullable=False),
    Column("price", Float),
    Column("currency", Text, nullable=False),
    CheckConstraint("volume_l > 0 OR mass_kg > 0", name="amount"),
    CheckConstraint("from_node <> to_node", name="somewhere_else"),
    Index(None, "from_node"),
    Index(None, "to_node"),
    Index(None, "product_id"),
)

shot = Table(
    "shot",
    metadata,
    Column("entry_id", Text, ForeignKey("entry.id"), primary_key=True),
    Column("i", Integer, primary_key=True),
    Column("point", Text, nullable=False),
    Column("nipple", Integer, nullable=False),
    Column("swing_deg", Float),
    Column("strokes", Float),
    Column("mass_g", Float),
    Column("purge_seen", Boolean),
    Index(None, "point"),
)

# neither voided nor a void itself; made by the first migration, every reader of live entries uses it
live_entry = Table("live_entry", views, *(Column(c.name, c.type) for c in entry.columns))
