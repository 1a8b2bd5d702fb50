"""The hidden stories: the same rules on every machine find each of them and clear the healthy ones, whatever the course of chance.

The rules follow from how the records are kept, not from what came out of them:

* A level is told by its rate in the last half year against its rate in the same half year before: the same season, so that warmth and
  work are alike, and all of the eighteen months that has such a twin. It changed where the difference is beyond the z at which
  one of all the levels compared would be named by chance in one quarry of twenty (Sidak).
* A balance runs from the first to the last day of the last half year on which all of its compartments were read.
* One level that is under suspicion is claimed at 1.645 u, as everywhere.

The weekly round reads in the same place, cold, so that slope and warmth repeat. What is hidden where: demo/README.md. The long form
runs the same stories in two quarries made with other seeds, which were not looked at before; the rules were tried on seeds 1 to 3.
"""

import datetime
import itertools
import math
import runpy
import shutil
from collections.abc import Collection, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
import streamlit as st
from scipy.special import ndtri

from fluidapp.calc import balance, between, greasing, level, oil
from fluidapp.calc.bath import Survey
from fluidapp.calc.leak_paths import leak_paths
from fluidapp.model import Machine
from fluidapp.screens import _past, _resources, _watch
from fluidapp.store import Store
from fluidapp.store.demo import built
from fluidapp.store.kinds import LevelReading, MeterChanged, Shot, WatchOpened

UTC = datetime.UTC
HEALTHY = {"sorrel", "tansy", "yarrow", "sedge", "thistle", "bracken"}
Half = tuple[datetime.datetime, datetime.datetime]
LAST_HALF, TWIN = ((datetime.datetime(y, 4, 1, tzinfo=UTC), datetime.datetime(y, 10, 1, tzinfo=UTC)) for y in (2026, 2025))
pytestmark = pytest.mark.xdist_group("demo stories")


class Span(NamedTuple):
    """Only the end of a closed watch."""

    at: datetime.datetime


@pytest.fixture(scope="module", params=[None, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (11, 12))])
def demo(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, root: Path) -> Iterator[Store]:
    """The demo's records, or those of another quarry; nothing is written to them, so that what is asked again is kept."""
    place = tmp_path_factory.mktemp("demo")
    made = built() if request.param is None else built(another(root, place / "quarry", request.param), place)
    shutil.copyfile(made, place / "records.db")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FLUIDAPP_DB", str(place / "records.db"))
        st.cache_resource.clear()
        store = _resources.store()
        for asked in ("meter_points", "product"):
            patch.setattr(store, asked, cache(getattr(store, asked)))
        yield store
    st.cache_resource.clear()


def another(root: Path, folder: Path, seed: int) -> Path:
    """The files of a quarry with the same machines and stories, and another course of chance."""
    if not (root / "demo" / "make_quarry.py").is_file():
        pytest.skip("the maker is not part of an installed package")
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(root / "demo"))
        runpy.run_path(str(root / "demo" / "make_quarry.py"))["main"](folder, seed)
    return folder


def followed(machine: Machine, key: str, span: Half) -> _watch.Followed | None:
    watch = _watch.Watch(None, WatchOpened(mode="working", at_nodes=(key,)), span[0], Span(span[1]))  # type: ignore[arg-type]
    return _watch.follow(machine, watch, key, same_state=True)


class Compared(NamedTuple):
    """A level whose rate is known in both halves: by how many u it loses more than a year ago, and the word for it now."""

    machine: str
    key: str
    off: float
    verdict: str


def compared(machine: Machine) -> Iterator[Compared]:
    for key in [c.key for c in machine.compartments if c.gauges] + [b.key for b in machine.baths]:
        then, now = (followed(machine, key, half) for half in (TWIN, LAST_HALF))
        if then is not None and now is not None and math.isfinite(u := math.hypot(then.found.u, now.found.u)):
            yield Compared(machine.key, key, (now.found.rate_l_h - then.found.rate_l_h) / u, now.found.verdict)


def by_chance_once_in_twenty(levels: int) -> float:
    """The z that one of so many levels, each told by itself, passes in one quarry of twenty: (1 - p)^n = 0.95."""
    return float(ndtri(0.95 ** (1.0 / levels)))


def changed_levels(levels: Collection[Compared]) -> dict[str, dict[str, float]]:
    """Levels of each machine that lose more than a year ago, or gain where they did not, with the change in u."""
    limit = by_chance_once_in_twenty(len(levels))
    found: dict[str, dict[str, float]] = {}
    for level_ in levels:
        if level_.off > limit or (level_.off < -limit and level_.verdict == "gaining"):
            found.setdefault(level_.machine, {})[level_.key] = level_.off
    return found


def over_the_lip(store: Store, machine: Machine) -> set[str]:
    """Final drives whose plug let oil run out at each of the last three looks."""
    found = set()
    for part in machine.compartments:
        if part.kind == "final drive":
            last = [e.doc for e in store.entries(machine.key, "reading", part.key, limit=3)]
            if len(last) == 3 and all(isinstance(doc, LevelReading) and doc.bound == "at least" for doc in last):
                found.add(part.key)
    return found


def overfull(store: Store, machine: Machine) -> set[str]:
    """Hydraulic tanks that stand above their high mark in the reference posture, beyond 1.645 u, at the newest reading."""
    found = set()
    for part in machine.compartments:
        if part.kind != "hydraulic tank":
            continue
        doc = store.last_reading(machine.key, part.key).doc
        assert isinstance(doc, LevelReading)
        volume = level.volume(machine, part.key, doc.reading(), doubts=between.repeated(machine))
        if volume.value_l - 1.645 * volume.u_l > level.marks(part, doc.gauge).high_l:
            found.add(part.key)
    return found


def neglected(store: Store, machine: Machine) -> set[float]:
    """Ring positions that are past due while every other one is not, at the last hour of the records."""
    found: set[float] = set()
    hours = {p.entry_id: p.total_h for p in store.meter_points(machine.key)}
    now_h = max(hours.values(), default=0.0)
    guns = {gun.key: gun for gun in store.guns()}
    for point in machine.grease_points:
        if point.ring is None:
            continue
        events = []
        for entry in reversed(store.shots(machine.key, point.key)):
            doc = entry.doc
            assert isinstance(doc, Shot)
            grams = doc.mass_g or greasing.grams(doc.strokes, doc.seconds, guns[doc.gun] if doc.gun else None)
            day = (entry.at - datetime.datetime(2025, 1, 1, tzinfo=UTC)).total_seconds() / 86400
            events.append(greasing.Shot(hours.get(entry.id, 0.0), day, doc.swing_deg, grams=grams, purge_seen=doc.purge_seen))
        today = (datetime.datetime(2026, 9, 30, 18, tzinfo=UTC) - datetime.datetime(2025, 1, 1, tzinfo=UTC)).total_seconds() / 86400
        answer = greasing.greasing_round(machine, point, events, now_h, today)
        words = {p.swing_deg: p.word for p in answer.positions}
        if "past due" in words.values() and set(words.values()) != {"past due"}:
            found |= {swing for swing, word in words.items() if word == "past due"}
    return found


@pytest.fixture(scope="module")
def signals(demo: Store) -> dict[str, dict[str, object]]:
    """What the rules say about every machine; machines about which they say nothing are left out."""
    found: dict[str, dict[str, object]] = {}
    rates = changed_levels([level_ for machine in demo.machines() for level_ in compared(machine)])
    for machine in demo.machines():
        said: dict[str, object] = {
            "rates": rates.get(machine.key),
            "over the lip": over_the_lip(demo, machine),
            "overfull": overfull(demo, machine),
            "neglected": neglected(demo, machine),
            "meters": len({p.segment for p in demo.meter_points(machine.key)}) - 1,
        }
        said = {name: value for name, value in said.items() if value}
        if said:
            found[machine.key] = said
    return found


def test_the_healthy_machines_are_cleared(signals: dict) -> None:
    assert not HEALTHY & set(signals), {key: signals[key] for key in HEALTHY & set(signals)}


def test_every_machine_with_a_story_is_found(signals: dict, demo: Store) -> None:
    assert set(signals) == {m.key for m in demo.machines()} - HEALTHY


def test_the_slow_loss_goes_nowhere_else(signals: dict) -> None:
    assert set(signals["mallow"]) == {"rates"}
    assert set(signals["mallow"]["rates"]) == {"tank"}
    assert signals["mallow"]["rates"]["tank"] > 0


def test_oil_runs_into_one_final_drive(signals: dict) -> None:
    assert signals["fennel"]["over the lip"] == {"drive-right"}
    assert set(signals["fennel"].get("rates", ())) <= {"tank"}


def test_oil_runs_into_the_gearbox(signals: dict) -> None:
    assert set(signals["teasel"]) == {"rates"}
    assert {"slew"} <= set(signals["teasel"]["rates"]) <= {"tank", "slew", "bath"}
    assert signals["teasel"]["rates"]["slew"] < 0


def test_the_wrong_posture_left_a_tank_overfull(signals: dict, demo: Store) -> None:
    assert signals["burdock"] == {"overfull": {"tank"}}
    pour = demo.entries("burdock", "movement", "tank", limit=1)[0]
    before = demo.last_reading("burdock", "tank", until=pour.at)
    assert before is not None
    assert isinstance(before.doc, LevelReading)
    assert before.doc.posture is None  # nobody confirmed the reference posture before pouring


def test_the_position_that_was_left_out_is_named(signals: dict) -> None:
    assert signals["juniper"] == {"neglected": {180.0}}


def test_hours_add_up_over_the_new_meter(signals: dict, demo: Store) -> None:
    assert signals["gorse"] == {"meters": 1}
    points = demo.meter_points("gorse")
    assert all(b.total_h >= a.total_h for a, b in itertools.pairwise(points))
    assert points[-1].meter_h < points[0].meter_h
    change = demo.entries("gorse", "meter changed")[0]
    assert isinstance(change.doc, MeterChanged)
    assert points[-1].total_h == pytest.approx(points[-1].meter_h + (change.doc.old_end_h or 0.0), abs=0.2)


def read_together(machine: Machine, keys: Collection[str]) -> tuple[datetime.date, datetime.date]:
    """The first and the last day of the last half year on which all of these were read."""
    days = []
    for key in keys:
        entries = _resources.store().entries(machine.key, "reading", key, *LAST_HALF)
        days.append({e.at_local.date() for e in entries if isinstance(e.doc, LevelReading) and e.doc.bound == "exact"})
    together = set.intersection(*days)
    return min(together), max(together)


def period(store: Store, machine: Machine, keys: Collection[str]) -> tuple[balance.Account, datetime.date, datetime.date]:
    """The balance of these compartments and baths over the last half year, and its first and last day."""
    first, last = read_together(machine, keys)
    changes = []
    for key in keys:
        if any(bath.key == key for bath in machine.baths):
            then, now = (_past.on_day(machine, key, None, day) for day in (first, last))
            assert then is not None
            assert now is not None
            surveys = [Survey(p.doc.depths_mm, p.doc.depths_at_deg) for p in (then, now)]
            changes.append(between.bath_change(machine.bath(key), *surveys)[0])
            continue
        part = machine.compartment(key)
        before, after = (_past.on_day(machine, key, part.gauges[0].name, day) for day in (first, last))
        assert before is not None
        assert after is not None
        moved = _past.moved(machine, key, before, after)
        product = store.product(part.product) if part.product else None
        change, _ = between.oil_change(
            machine, key, before.doc.reading(), after.doc.reading(), same_state=True,
            rho15=product.rho15 if product and product.rho15 else oil.RHO15_TYPICAL,
            poured_l=moved.in_l, drained_l=moved.out_l, u_poured_l=moved.u_in_l, u_drained_l=moved.u_out_l,
        )  # fmt: skip
        changes.append(change)
    return balance.account(changes), first, last


TEASEL = ("tank", "slew", "bath")


def test_the_balance_of_the_gearbox_story_leads_from_the_tank_through_the_gearbox(demo: Store) -> None:
    machine = demo.machine("teasel")
    found, *_ = period(demo, machine, TEASEL)
    assert [line.word for line in found.lines] == ["loss", "gain", "gain"]
    ways = leak_paths(machine, found, TEASEL)
    assert ways is not None
    lead = ways.ways[0].stories
    assert all(any(">G" in path for path in story.paths) for story in lead), [story.paths for story in lead]
    assert all(story.paths[0].startswith("T") for story in lead)


def test_the_gearbox_story_reaches_the_bath_once_the_seepage_is_taken_off(demo: Store) -> None:
    """What the tank lost in the half year a year ago is its known seepage."""
    machine = demo.machine("teasel")
    found, first, last = period(demo, machine, TEASEL)
    then = followed(machine, "tank", TWIN)
    assert then is not None
    hours = {p.at.date(): p.total_h for p in demo.meter_points("teasel")}
    worked = hours[last] - hours[first]
    changes = [balance.Change(line.node, -line.gone_l, line.u_l, line.dof) for line in found.lines]
    changes[0] = between.seeping(changes[0], then.found.rate_l_h * worked, then.found.u * worked)
    ways = leak_paths(machine, balance.account(changes), TEASEL)
    assert ways is not None
    best = {story.paths for story in ways.ways[0].stories}
    assert ("T>G", "G>B") in best or ("T>G", "T>B") in best, [(w.shown, round(w.weight, 2)) for w in ways.ways]


def test_healthy_excavators_gain_nothing_by_themselves(demo: Store) -> None:
    lines = []
    for key in sorted(HEALTHY - {"sedge", "thistle", "bracken"}):
        machine = demo.machine(key)
        keys = [c.key for c in machine.compartments if c.kind in ("hydraulic tank", "slewing gearbox", "final drive") and c.gauges]
        found, *_ = period(demo, machine, keys)
        assert np.isfinite(found.unaccounted_l)
        lines += [(key, line) for line in found.lines]
    limit = by_chance_once_in_twenty(len(lines))
    assert not [(key, line.node, -line.gone_l, line.u_l) for key, line in lines if -line.gone_l > limit * line.u_l]
