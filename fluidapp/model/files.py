"""From a TOML file to a record, with errors that name file, record, field, value and limit."""

import tomllib
from collections.abc import Mapping
from typing import Any, TypeVar, get_args

from pydantic import ValidationError

from fluidapp.errors import FileProblem
from fluidapp.model.base import Frozen
from fluidapp.model.gauges import Gauge
from fluidapp.model.shapes import Shape

M = TypeVar("M", bound=Frozen)
_TAGS = {
    name: [get_args(one.model_fields[name].annotation)[0] for one in get_args(get_args(union)[0])]
    for name, union in (("kind", Gauge), ("shape", Shape))
}


def from_toml(text: str, file: str, model: type[M], table: str | None = None) -> M:
    """A ``model`` from TOML text. FileProblem names the file, the place, the value and the limit.

    table : the record stands in this table of the file; without it, it is the file.
    """
    doc = parse_toml(text, file)
    if table is not None:
        if table not in doc:
            raise FileProblem(file, "", f"there is no [{table}]", f"Add a [{table}] table.")
        doc = doc[table]
    return checked(doc, file, model)


def to_toml(record: Frozen, head: str = "") -> str:
    """A record as TOML text that :func:`from_toml` reads back to the same record; what was not entered is left out.

    head : a first line of comment.
    """
    import tomli_w

    text = tomli_w.dumps(record.model_dump(mode="json", exclude_none=True, exclude_defaults=True))
    return f"# {head}\n{text}" if head else text


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """The tables of a TOML text; FileProblem for an empty file and for a syntax error, with its line."""
    if not text.strip():
        raise FileProblem(file, "", "the file is empty", "Give it at least a key and a label.")
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as err:
        raise FileProblem(file, "", f"this is not valid TOML ({err})", "Numbers take a decimal point, texts stand in quotes.") from err


def checked(doc: Any, file: str, model: type[M]) -> M:
    """``doc`` as ``model``; FileProblem naming file, record, field, value and limit where it does not fit."""
    try:
        return model.model_validate(doc)
    except ValidationError as err:
        first = err.errors(include_url=False)[0]
        who = doc.get("key") if isinstance(doc, dict) else None
        where = (f"“{who}”, " if isinstance(who, str) else "") + _path(doc, first["loc"])
        shown = f" (it says {first['input']!r:.60})" if not isinstance(first["input"], (dict, list, tuple)) else ""
        more = f" {err.error_count() - 1} more after it." if err.error_count() > 1 else ""
        raise FileProblem(file, where.rstrip(", "), _what(first) + shown, f"Correct this field.{more}") from err


def _what(first: Mapping[str, Any]) -> str:
    """The first fault in plain words."""
    match first["type"]:
        case "extra_forbidden":
            return "there is no such field"
        case "missing":
            return "it is missing"
        case "union_tag_invalid":
            return f"{first['ctx']['discriminator']} is not one of {first['ctx']['expected_tags']}, but “{first['ctx']['tag']}”"
        case "union_tag_not_found":
            name = first["ctx"]["discriminator"].strip("'")
            known = _TAGS[name] if name == "shape" or "gauges" in first["loc"] else []
            return f"{name} is missing" + (f": one of {', '.join(map(repr, known))}" if known else "")
        case "string_pattern_mismatch":
            return "use small letters, digits, - and _, at most 60"
        case "model_type" | "model_attributes_type" | "dict_type":
            return "a table of fields belongs here"
        case "tuple_type":
            return "a list belongs here"
    what: str = first["msg"].removeprefix("Value error, ")
    return what[:1].lower() + what[1:]


def _path(doc: Any, loc: tuple[int | str, ...]) -> str:
    """The place of an error in words: list entries by their key or name, tags of unions left out."""
    words: list[str] = []
    at = doc
    for step in loc:
        if isinstance(step, int):
            at = at[step] if isinstance(at, (list, tuple)) and step < len(at) else None
            name = (at.get("key") or at.get("name")) if isinstance(at, dict) else None
            words.append(f"“{name}”" if name else f"no. {step + 1}")
        elif isinstance(at, dict) and step in at:
            at = at[step]
            words.append(step)
        elif step == loc[-1]:
            words.append(step)
    return " › ".join(words)
