"""The ranking on synthetic machines, seeded; everything here was fixed before the ranking was looked at.

A machine has a tank, one or two gearboxes, a bath, and drives or none; what is read of it, how well, and which story is true are drawn.
Leak sizes are log-uniform from 1 to 10 detection limits, 3.29 u of the best-read compartment that the path touches. "Identifiable": the
true story's fitted changes differ from those of every story that is not tied with it by at least 3.29 u in a measured row. Counted: the
true story first or tied for first among the identifiable; a wrong answer with more than 0.9 of the weight among all; the share that is
not identifiable.
"""

from typing import NamedTuple

import numpy as np
import pytest

from fluidapp.calc.balance import Story, ranking
from fluidapp.calc.decision import SEEN

SEED = 20260101
U_L = {"T": (0.6, 2.5), "G": (0.2, 0.8), "B": (0.5, 1.5), "D": (0.1, 0.5)}  # of a change that was read [L], drawn evenly
FMAX_L = 20.0


class Tally(NamedTuple):
    """Shares over all machines."""

    machines: int
    identifiable: float
    right: float
    wrong_and_sure: float


def column(path: str, names: list[str]) -> np.ndarray:
    stops = path.split(">")
    found = np.zeros(len(names))
    for sign, stop in ((-1.0, stops[0]), (1.0, stops[-1])):
        if stop in names:
            found[names.index(stop)] += sign
    return found


def drawn(rng: np.random.Generator) -> tuple[list[str], list[str], np.ndarray, tuple[str, ...], np.ndarray]:
    """A machine: its compartments, those that were read, their u, the true story and its volumes."""
    nodes = ["T", "G1", "G2"] if rng.random() < 0.2 else ["T", "G"]
    nodes += ["B"]
    if rng.random() < 0.5:
        nodes += ["D1", "D2"]
    read = ["T", *(n for n in nodes[1:] if rng.random() < (0.9 if n[0] == "G" else 0.75))]
    u = np.array([rng.uniform(*U_L[name[0]]) for name in read])
    while True:
        every = [s.paths for s in ranking(nodes, np.zeros(len(nodes)), np.eye(len(nodes)), FMAX_L, nodes).stories]
        single = [p for p in every if len(p) == 1]
        paths = () if rng.random() < 0.1 else every[rng.integers(len(every))] if rng.random() < 0.25 else single[rng.integers(len(single))]
        touched = [[i for i, name in enumerate(read) if column(path, read)[i]] for path in paths]
        if all(touched):  # a leak that no reading could show has no detection limit
            break
    limits = [SEEN * min(u[i] for i in rows) for rows in touched]
    volumes = np.array([limit * 10 ** rng.uniform(0.0, 1.0) for limit in limits])
    return nodes, read, u, paths, volumes


def off(a: Story, b: Story, read: list[str], u: np.ndarray) -> float:
    """How far two stories lie apart in the row that tells them best, in u."""
    pa, pb = dict(a.predicted_l), dict(b.predicted_l)
    return max(abs(pa[name] - pb[name]) / u[i] for i, name in enumerate(read))


def simulated(machines: int, seed: int = SEED) -> Tally:
    rng = np.random.default_rng(seed)
    identifiable = right = sure = 0
    for _ in range(machines):
        nodes, read, u, paths, volumes = drawn(rng)
        truth = sum((column(path, read) * v for path, v in zip(paths, volumes, strict=True)), np.zeros(len(read)))
        y = truth + rng.normal(0.0, u)
        found = ranking(read, y, np.diag(u**2), FMAX_L, nodes)
        true = next((s for s in found.stories if set(s.paths) == set(paths)), None)
        lead = found.groups[0]
        first = true is not None and true.tie == lead.stories[0].tie
        if not first and lead.weight > 0.9:
            sure += 1
        others = [] if true is None else [s for s in found.stories if s.tie != true.tie and s.repeats is None]
        if true is not None and all(off(true, other, read, u) >= SEEN for other in others):
            identifiable += 1
            right += first
    return Tally(machines, identifiable / machines, right / max(identifiable, 1), sure / machines)


def report(found: Tally) -> str:
    return (
        f"{found.machines} machines: identifiable {100 * found.identifiable:.1f} %, of these right {100 * found.right:.1f} %, "
        f"wrong with weight above 0.9 {100 * found.wrong_and_sure:.1f} % of all"
    )


def test_short_the_true_story_leads_on_120_machines() -> None:
    found = simulated(120)
    assert found.right >= 0.95, report(found)
    assert found.wrong_and_sure <= 0.02, report(found)


@pytest.fixture(scope="module")
def thousand() -> Tally:
    found = simulated(1000)
    print(report(found))
    return found


@pytest.mark.slow
def test_long_the_true_story_leads_on_1000_machines(thousand: Tally) -> None:
    assert thousand.right >= 0.95, report(thousand)


@pytest.mark.slow
@pytest.mark.xfail(strict=False, reason="open: 2.8 % of 400 machines, above the 2 %; the thousand were not run to their end yet")
def test_long_a_wrong_answer_is_rarely_sure(thousand: Tally) -> None:
    assert thousand.wrong_and_sure <= 0.02, report(thousand)


@pytest.mark.slow
@pytest.mark.xfail(reason="not met: stories with one path more than the true one fit nearly as well; figures in DEVELOPERS.md")
def test_long_at_most_40_percent_are_not_identifiable(thousand: Tally) -> None:
    assert 1.0 - thousand.identifiable <= 0.40, report(thousand)
