"""What the screens share between runs and people: the records and the clock. The only place with a cache and a clock."""

import datetime
import os

import streamlit as st

from fluidapp.calc import oil
from fluidapp.errors import Unknown
from fluidapp.model import Machine, Product, Site
from fluidapp.screens import _due, _fleet
from fluidapp.store import Store, ledger, open_store


@st.cache_resource(max_entries=4, show_spinner=False)
def _opened(where: str | None) -> Store:
    return open_store(where)


def store() -> Store:
    """The records that FLUIDAPP_DB names, else the person's own."""
    return _opened(os.environ.get("FLUIDAPP_DB"))


def site() -> Site | None:
    """The site, if one was entered."""
    return store().site()


def now() -> datetime.datetime:
    """The time that counts as now, with its offset: the evening of the site's fixed day in a demo, else the clock."""
    here = site()
    zone = datetime.timezone(datetime.timedelta(minutes=here.utc_offset_min)) if here else None
    if here and here.today:
        day = datetime.date.fromisoformat(here.today)
        return datetime.datetime.combine(day, datetime.time(20, 0), tzinfo=zone)
    return datetime.datetime.now(zone).astimezone(zone).replace(microsecond=0)


def local(read: datetime.datetime) -> datetime.datetime:
    """A time as a clock at the site shows it, with its offset: the site's, else that of this computer's zone on that date."""
    here = site()
    if here:
        return read.replace(tzinfo=datetime.timezone(datetime.timedelta(minutes=here.utc_offset_min)))
    return read.astimezone()


def machines() -> list[Machine]:
    """All machines, by label."""
    return sorted(store().machines(), key=lambda m: m.label)


def rho15(key: str | None, typical: float = oil.RHO15_TYPICAL) -> float:
    """Density at 15 °C [kg/m3] of a product, or the ``typical`` one where the product or its density is not entered."""
    return oil.rho15_of(product(key), typical)


def product(key: str | None) -> Product | None:
    """A product, or None where none is entered or it is not listed."""
    if key is None:
        return None
    try:
        return store().product(key)
    except Unknown:
        return None


def products() -> dict[str, Product]:
    """All products by key, those off the lists too."""
    return {p.key: p for p in store().products(archived=True)}


@st.cache_resource(max_entries=4, show_spinner=False)
def _seen(where: str, stamp: tuple[int, int, int], today: float) -> _fleet.Seen:
    del where, stamp  # what is cached changes with them
    return _fleet.gather(store(), machines(), products(), today)


def fleet() -> _fleet.Seen:
    """The whole ledger reviewed, once for each state of the records and each day."""
    return _seen(store().where, ledger.stamp(store()), now().date().toordinal() + 1 - 1e-6)


@st.cache_resource(max_entries=4, show_spinner=False)
def _due_on(where: str, stamp: tuple[int, int, int], today: datetime.date) -> _due.Listed:
    del where, stamp  # what is cached changes with them
    return _due.gather(store(), machines(), store().guns(archived=True), today)


def due() -> _due.Listed:
    """What is due on every machine, worked out once for each state of the records and each day."""
    return _due_on(store().where, ledger.stamp(store()), now().date())
