"""The period that a supervisor looks at, kept in the address, and the one before it."""

import datetime
from dataclasses import dataclass

import streamlit as st

from fluidapp.calc import due
from fluidapp.errors import BadInput
from fluidapp.screens import _resources

DAYS = {"last 30 days": 30, "last 90 days": 90, "last 12 months": 365}
ALL, OWN = "all records", "own days"
CHOICES = (*DAYS, ALL, OWN)


@dataclass(frozen=True, slots=True)
class Span:
    """From the day ``first`` up to the day ``last``, day counts; ``words`` as people say it."""

    first: float
    last: float
    words: str

    @property
    def days(self) -> float:
        """Its length."""
        return self.last - self.first

    @property
    def before(self) -> "Span":
        """As many days before it."""
        return between(self.first - self.days, self.first)


def between(first: float, last: float) -> Span:
    """From the beginning of the day ``first`` to the beginning of the day ``last``."""
    begin, end = (datetime.date.fromordinal(int(day)) for day in (first, last - 1))
    return Span(float(int(first)), float(int(last)), f"{begin} to {end}")


def ask(first_record: float) -> Span:
    """The choice of a period; first_record : the day from which "all records" counts. BadInput for own days that are none."""
    end = _resources.now().date().toordinal() + 1.0
    chosen = st.selectbox("Period", CHOICES, index=1, key="period", persist_state="session", bind="query-params", width=166)
    if chosen == ALL:
        return between(min(first_record, end - 1), end)
    if chosen != OWN:
        return between(end - DAYS[chosen or CHOICES[1]], end)
    first, last = _day("From day", "from_day"), _day("To day", "to_day")
    first, last = first or end - 90, (last or end - 1) + 1
    if first >= last:
        raise BadInput("To day", due.on(last - 1), "It must not be before the first day.")
    return between(first, last)


def _day(label: str, key: str) -> float | None:
    text = st.text_input(
        label, key=key, autocomplete="off", placeholder="2026-05-04", persist_state="session", bind="query-params", width=140
    )  # fmt: skip
    if not (text or "").strip():
        return None
    try:
        return float(datetime.date.fromisoformat((text or "").strip()).toordinal())
    except ValueError as err:
        raise BadInput(label, text or "", "Write it like 2026-05-04.") from err
