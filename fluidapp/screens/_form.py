"""A form for a model: its inputs from a table of words, filled with what is stored, and refusals that name the field.

Every input is a widget with a key of its own below the form's key. What the words do not list stays as it was.
"""

import functools
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple, TypeVar, get_args, get_origin

import streamlit as st
from pydantic import ValidationError

from fluidapp.errors import BadInput, CannotAnswer, FluidappError
from fluidapp.model import Frozen
from fluidapp.screens import _form_inputs

M = TypeVar("M", bound=Frozen)


class Spec(NamedTuple):
    """How one field is asked for. kind : see :mod:`fluidapp.screens._form_inputs`; ``of`` : the model of a part or a list.

    when : whether it is asked for, from what stands in the fields before it; where it is not, it is left out.
    """

    label: str
    kind: str
    help: str | None = None
    of: "type[Frozen] | None" = None
    when: Callable[[Mapping[str, Any]], bool] | None = None


Words = Mapping[str, Spec]


@dataclass
class Form:
    """One form while it is drawn. token : what it was filled from; when that changes, everything is filled again."""

    key: str
    token: str
    words: Mapping[str, Words]
    problems: list[FluidappError] = field(default_factory=list)

    def draw(
        self, model: type[Frozen], start: Mapping[str, Any], at: str = "", only: Sequence[str] = (), where: str = ""
    ) -> dict[str, Any]:
        """Draws the fields of ``model`` that the words list (or those in ``only``), and returns what they hold with the rest of ``start``.

        at : below the form's key. where : the part that a refusal names first.
        """
        found = dict(start)
        listed = self.words[model.__name__]
        names = [name for name in (only or listed) if name in listed]
        # fields beside each other in one row, as long as none depends on a field in the same row
        for (wide, _), group in itertools.groupby(names, lambda n: (listed[n].kind in _form_inputs.WIDE, listed[n].when is not None)):
            asked = []
            for name in group:
                when = listed[name].when
                if when is None or when(found):
                    asked.append(name)
                else:
                    found.pop(name, None)
            if wide:
                for name in asked:
                    self._one(model, found, name, at, where)
            else:
                self._row(model, found, asked, at, where)
        return found

    def _row(self, model: type[Frozen], found: dict[str, Any], names: list[str], at: str, where: str) -> None:
        if names:
            with st.grid("auto", min_column_width=130, vertical_alignment="bottom"):
                for name in names:
                    self._one(model, found, name, at, where)

    def _one(self, model: type[Frozen], found: dict[str, Any], name: str, at: str, where: str) -> None:
        spec = self.words[model.__name__][name]
        key = f"{self.key}_{at}{name}"
        start = found.get(name, _default(model, name))
        try:
            if spec.kind == "part":
                assert spec.of is not None
                st.caption(f"**{spec.label}**" + (f": {spec.help}" if spec.help else ""))
                value: Any = self.draw(spec.of, start or {}, f"{at}{name}_", where=f"{where}{spec.label}, ")
            elif spec.kind == "list":
                assert spec.of is not None
                value = self.items(functools.partial(self.draw, spec.of), start or [], f"{at}{name}_", spec.label, where)
            else:
                value = _form_inputs.ask(spec.kind, spec.label, key, self.token, start, spec.help, choices(model, name))
        except FluidappError as err:
            self.problems.append(_placed(err, where))
            return
        if value is None or value == "":
            found.pop(name, None)
        else:
            found[name] = value

    def items(
        self, draw: Callable[..., dict[str, Any]], starts: Sequence[Mapping[str, Any]], at: str, label: str, where: str = ""
    ) -> list[dict[str, Any]]:
        """A list, each row drawn in a frame of its own by ``draw(start, at, where=)``, with buttons to add one and to take one out."""
        rows = _rows(f"{self.key}_{at}", self.token, starts)
        found = []
        for n, (number, start) in enumerate(list(rows.by_number.items())):
            with st.container(border=True):
                st.markdown(f"**{label} {n + 1}**")
                found.append(draw(start, f"{at}{number}_", where=f"{where}{label} {n + 1}, "))
                st.button(f"Take {label.lower()} {n + 1} out", key=f"{self.key}_{at}{number}_out", on_click=rows.drop, args=(number,))
        st.button(f"Add: {label.lower()}", key=f"{self.key}_{at}add", on_click=rows.add, icon=":material/add:", width="stretch")
        return found

    def made(self, model: type[M], doc: Mapping[str, Any], who: str = "") -> M:
        """The record, or the first refusal: of an input, else of the model, naming part and field in the words of the form."""
        if self.problems:
            raise self.problems[0]
        try:
            return model.model_validate(doc)
        except ValidationError as err:
            raise named(err, model, self.words, doc, who) from err


def named(
    err: ValidationError, model: type[Frozen], words: Mapping[str, Words], doc: Mapping[str, Any], who: str = ""
) -> BadInput | CannotAnswer:
    """The first fault of a record as a sentence that names part and field as the form calls them.

    Below a union the place holds its tag ("box", "stick"), which the words list as well.
    """
    first = err.errors(include_url=False)[0]
    said: list[str] = []
    at: Any = doc
    kinds = words.get(model.__name__, {})
    for step in first["loc"]:
        if isinstance(step, int):
            at = at[step] if isinstance(at, list | tuple) and step < len(at) else None
            label = at.get("label") if isinstance(at, dict) and "kind" in at else None
            said[-1:] = [label or f"{said[-1] if said else 'No.'} {step + 1}"]
            continue
        if step in kinds:
            said.append(kinds[step].label)
            inner = kinds[step].of
            kinds = words.get(inner.__name__, kinds) if inner else kinds
        else:
            kinds = words.get(str(step), kinds)
        at = at.get(step, at) if isinstance(at, dict) else at
    what = first["msg"].removeprefix("Value error, ").rstrip(".")
    where = ", ".join(filter(None, [who, *said])) or model.__name__
    if first["type"] == "missing":
        return BadInput(where, "nothing", "Enter it.")
    if not isinstance(first["input"], str | int | float):
        return CannotAnswer(where, what, "Correct what does not fit.")
    return BadInput(where, first["input"], f"{what[:1].upper()}{what[1:]}.")


def choices(model: type[Frozen], name: str) -> tuple[tuple[str, ...], bool]:
    """The listed words of a field, and whether it may stay empty."""
    note = model.model_fields[name].annotation
    several = [note] if get_origin(note) is Literal else [a for a in get_args(note) if get_origin(a) is Literal]
    optional = type(None) in get_args(note)
    return (tuple(get_args(several[0])) if several else ()), optional


def _default(model: type[Frozen], name: str) -> Any:
    known = model.model_fields[name]
    if known.is_required():
        return None
    value = known.get_default(call_default_factory=True)
    return value.model_dump(mode="json", exclude_none=True) if isinstance(value, Frozen) else value


@dataclass
class Rows:
    """The rows of a list by their number; a number is never used twice, since the inputs of a row are named by it."""

    token: str
    by_number: dict[int, Mapping[str, Any]]
    following: int

    def add(self) -> None:
        """One more, empty."""
        self.by_number[self.following] = {}
        self.following += 1

    def drop(self, number: int) -> None:
        """Takes one out."""
        self.by_number.pop(number, None)


def _rows(key: str, token: str, starts: Sequence[Mapping[str, Any]]) -> Rows:
    """The rows of a list as they are kept from run to run; made anew for each token."""
    kept = st.session_state.get(f"_rows_{key}")
    if not isinstance(kept, Rows) or kept.token != token:
        kept = Rows(token, dict(enumerate(starts)), len(starts))
        st.session_state[f"_rows_{key}"] = kept
    return kept


def _placed(err: FluidappError, where: str) -> FluidappError:
    """The same refusal, with the part in front of the field."""
    if where and isinstance(err, BadInput) and type(err) is BadInput:
        return BadInput(f"{where}{err.field[:1].lower()}{err.field[1:]}", err.value, err.fix)
    return err
