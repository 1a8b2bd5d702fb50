"""Readable files: TOML with a line for each simple value, CSV with only the columns that are used."""

import csv
import json
from datetime import datetime
from pathlib import Path
from typing import Any

from fluidapp.store.tables import SHEETS

BLOCKS = ("compartments", "gauges", "baths", "grease_points", "cylinders", "tasks")


def toml(doc: dict[str, Any], *, name: str = "") -> str:
    """A table as TOML; lists of tables become blocks, small tables stay on their line."""
    lines: list[str] = []
    blocks: list[str] = []
    for key, value in doc.items():
        if key in BLOCKS and isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            path = f"{name}.{key}" if name else key
            blocks += [f"\n[[{path}]]\n{toml(item, name=path)}" for item in value]
        else:
            lines.append(f"{key} = {inline(value)}")
    return "\n".join(lines) + "\n" + "".join(blocks)


def inline(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(inline(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {inline(v)}" for k, v in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


def table(rows: list[dict[str, Any]], sheet: str, file: Path) -> None:
    """Rows as one of the tables that the import knows."""
    columns = [c for c in SHEETS[sheet].columns if c in SHEETS[sheet].needs or any(row.get(c) not in (None, "") for row in rows)]
    with file.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows({c: "" if row.get(c) is None else row.get(c, "") for c in columns} for row in rows)


def entries(rows: list[dict[str, Any]], file: Path, heading: str) -> None:
    """Everything else as [[entry]] tables."""
    blocks = [f"# {heading}\n"]
    for row in rows:
        at = datetime.fromisoformat(row["time"]).isoformat()  # TOML wants the seconds
        rest = "".join(f"{key} = {inline(value)}\n" for key, value in row.items() if key != "time")
        blocks.append(f"\n[[entry]]\ntime = {at}\n{rest}")
    file.write_text("".join(blocks), encoding="utf-8")
