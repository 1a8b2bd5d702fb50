"""The ranking on synthetic machines, seeded; the set-up was settled by reasoning, then looked at with seeds 1, 2, 3, 11 to 14, 20261125.

**Machine.** Tank, one gearbox or two, bath, and in half of them two final drives. Whoever asks where the oil went has read all of
them; the doubt of each change is drawn from what gauges and sticks of that kind give. **Leak.** Three in four have one way, the others
anything that the list of stories holds. Sizes are log-uniform from 1 to 10 detection limits. The detection limit of a leak is 3.29 u of
the compartment that loses: the smallest loss that is seen 95 % of the time, which stands beside every loss on the screen. Where no
compartment loses (water, a pour that nobody wrote down) it is that of the one which gains. **Setting.** "The most for one path" stands
at its typical 20 L and is doubled for as long as the tool itself asks for more.

**Identifiable**: the changes of the true story differ from the fitted changes of every other one by at least 3.29 u in a measured row.
Three interpretations are in it, in plain words:

* It is a property of the machine and its leak, not of one day's reading errors: the others are fitted to the exact changes. Fitted to
  noisy ones, a story with one path more than the true one always lies near it, for any leak however large.
* Stories with the very same changes (0.01 u in every measured row) are one answer and shown as one; they are no "others".
* The same holds for a larger story that comes to exactly the same changes: with 0 L on its second path, which the tool folds away, or
  with as much into the gearbox as out of it, which is the chain told with two volumes. No leak, however large, tells these apart.

Counted: the true story in the group shown first, among the identifiable; a wrong answer with more than 0.9 of the weight, among all;
the share that is not identifiable. Told besides, without a limit: that share if the larger stories of the third point count as others.

**Machines without a leak** stand apart, since a leak of 1 to 10 detection limits is never none, and "no leak" differs from a small leak
by nothing. (Until the first look they made up a tenth; DEVELOPERS.md gives the figure with them.) Nobody may be sure of a leak there.
"""

from functools import cache
from typing import NamedTuple

import numpy as np
import pytest
from scipy.optimize import nnls

from fluidapp.calc.balance import FMAX_L, Ranking, ranking
from fluidapp.calc.decision import SEEN

SEED = 20261126
U_L = {"T": (0.6, 2.5), "G": (0.2, 0.8), "B": (0.5, 1.5), "D": (0.1, 0.5)}  # of a change that was read [L], drawn evenly
SAME = 0.01  # u
Paths = tuple[str, ...]


class Tally(NamedTuple):
    """Shares over all machines; ``right`` among the identifiable, ``right_of_all`` among all."""

    machines: int
    identifiable: float
    right: float
    right_of_all: float
    wrong_and_sure: float
    if_larger_count: float


@cache
def stories_of(nodes: tuple[str, ...]) -> dict[Paths, np.ndarray]:
    """Every story of a machine whose compartments were all read, with the columns of its paths."""
    found = ranking(nodes, np.zeros(len(nodes)), np.eye(len(nodes)), FMAX_L, nodes)
    assert not found.left_out
    return {s.paths: np.array([column(path, nodes) for path in s.paths]).reshape(-1, len(nodes)).T for s in found.stories}


def column(path: str, names: tuple[str, ...]) -> np.ndarray:
    stops = path.split(">")
    found = np.zeros(len(names))
    for sign, stop in ((-1.0, stops[0]), (1.0, stops[-1])):
        if stop in names:
            found[names.index(stop)] += sign
    return found


def drawn(rng: np.random.Generator, healthy: bool) -> tuple[tuple[str, ...], np.ndarray, Paths, np.ndarray]:
    """A machine: its compartments, the u of their changes, the true story and its volumes."""
    nodes = ("T", *(("G1", "G2") if rng.random() < 0.2 else ("G",)), "B", *(("D1", "D2") if rng.random() < 0.5 else ()))
    u = np.array([rng.uniform(*U_L[name[0]]) for name in nodes])
    every = [paths for paths in sorted(stories_of(nodes)) if paths]
    offered = every if rng.random() < 0.25 else [paths for paths in every if len(paths) == 1]
    paths = () if healthy else offered[rng.integers(len(offered))]
    ends = [path.split(">") for path in paths]
    limits = [SEEN * u[nodes.index(stops[0] if stops[0] in nodes else stops[-1])] for stops in ends]
    return nodes, u, paths, np.array(limits) * 10 ** rng.uniform(0.0, 1.0, len(limits))


def told(nodes: tuple[str, ...], y: np.ndarray, u: np.ndarray) -> Ranking:
    """The ranking as somebody uses it who raises the setting where the tool says so."""
    found = ranking(nodes, y, np.diag(u**2), FMAX_L, nodes)
    while any("raise that setting" in remark for remark in found.remarks):
        found = ranking(nodes, y, np.diag(u**2), 2.0 * found.fmax_l, nodes)
    return found


def nearest(nodes: tuple[str, ...], truth: np.ndarray, u: np.ndarray, paths: Paths) -> tuple[float, float]:
    """How near another story comes to the true changes, in u: those that come to the very same left out, and larger ones counted."""
    gaps = []
    for other, columns in stories_of(nodes).items():
        volumes = nnls(columns / u[:, None], truth / u)[0] if other else np.zeros(0)
        gaps.append((float(np.abs((columns @ volumes - truth) / u).max()), len(other) > len(paths) and bool(np.all(volumes > 0))))
    others, with_larger = [gap for gap, _ in gaps if gap > SAME], [gap for gap, larger in gaps if gap > SAME or larger]
    return min(others, default=np.inf), min(with_larger, default=np.inf)


def simulated(machines: int, seed: int = SEED, *, healthy: bool = False) -> Tally:
    rng = np.random.default_rng(seed)
    identifiable = right = right_of_all = sure = larger_count = 0
    for _ in range(machines):
        nodes, u, paths, volumes = drawn(rng, healthy)
        truth = stories_of(nodes)[paths] @ volumes
        lead = told(nodes, truth + rng.normal(0.0, u), u).groups[0]
        first = paths in [s.paths for s in lead.stories]
        right_of_all += first
        sure += not first and lead.weight > 0.9
        gap, with_larger = nearest(nodes, truth, u, paths)
        identifiable += gap >= SEEN
        right += first and gap >= SEEN
        larger_count += with_larger >= SEEN
    return Tally(
        machines, identifiable / machines, right / max(identifiable, 1), right_of_all / machines, sure / machines, larger_count / machines
    )


def report(found: Tally) -> str:
    return (
        f"{found.machines} machines: not identifiable {100 - 100 * found.identifiable:.1f} % "
        f"({100 - 100 * found.if_larger_count:.1f} % if larger stories with the same changes count), of the others right "
        f"{100 * found.right:.1f} %, of all right {100 * found.right_of_all:.1f} %, wrong with weight above 0.9 "
        f"{100 * found.wrong_and_sure:.1f} % of all"
    )


def test_short_the_true_story_leads_on_120_machines() -> None:
    found = simulated(120)
    assert found.right >= 0.95, report(found)
    assert found.wrong_and_sure <= 0.02, report(found)
    assert 1.0 - found.identifiable <= 0.40, report(found)


@pytest.fixture(scope="module")
def thousand() -> Tally:
    found = simulated(1000)
    print(report(found))
    return found


@pytest.mark.slow
def test_long_the_true_story_leads_on_1000_machines(thousand: Tally) -> None:
    assert thousand.right >= 0.95, report(thousand)


@pytest.mark.slow
def test_long_a_wrong_answer_is_rarely_sure(thousand: Tally) -> None:
    assert thousand.wrong_and_sure <= 0.02, report(thousand)


@pytest.mark.slow
def test_long_at_most_40_percent_are_not_identifiable(thousand: Tally) -> None:
    assert 1.0 - thousand.identifiable <= 0.40, report(thousand)


@pytest.mark.slow
def test_long_a_leak_is_rarely_sure_where_there_is_none() -> None:
    found = simulated(1000, healthy=True)
    print(report(found))
    assert found.wrong_and_sure <= 0.02, report(found)
