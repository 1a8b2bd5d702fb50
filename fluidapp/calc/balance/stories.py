"""Which way the oil went: every story that could explain the measured changes, weighed against all others.

Own model, no published source. Nodes are named by their first letter: T hydraulic tank, G slewing gearbox, B grease bath,
D final drive, P pump-drive case, S engine sump, E outside (measured when a drip is collected); W is water from outside, F fuel or
coolant that gets into the engine oil, R an entry that is missing.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.balance.evidence import fits
from fluidapp.calc.decision import CLAIM
from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput

Array = NDArray[np.float64]
FMAX_L = 20.0  # typical, editable, and shown: "no leak" weighs more with a larger one
_SAME = 0.01  # of u, in every measured row
_FLOWS = (("T", "G"), ("T", "B"), ("T", "E"), ("G", "B"), ("G", "E"), ("B", "E"), ("T", "D"), ("D", "E"), ("T", "P"), ("T", "S"))
_THROUGH = (("T", "G", "B"), ("T", "G", "E"), ("T", "D", "E"))
_FROM_OUTSIDE = (("W", "G"), ("W", "B"), ("W", "D"), ("R", "T"), ("R", "G"), ("R", "B"), ("R", "D"), ("R", "P"), ("R", "S"), ("F", "S"))


@dataclass(frozen=True, slots=True)
class Story:
    """One explanation: ``paths`` such as ("T>G",), () for no leak, each with its fitted volume [L, >= 0] and the u of that.

    chi2, dof, p : how well it fits; p is nan where dof is 0. weight : share among all stories that the readings can tell.
    tie : number of its group. alike : stories of one number fit equally well in every measured compartment, so that no number here can
    tell them apart. predicted_l : the change that it expects of every node, read or not. repeats : the smaller story that it comes down
    to, since one of its paths, or of a story that is alike, carries nothing that may be claimed (0 L, or not above 1.645 u); None where it
    stands for itself.
    """

    paths: tuple[str, ...]
    volumes_l: tuple[float, ...]
    u_l: tuple[float, ...]
    chi2: float
    dof: int
    weight: float
    tie: int
    alike: int
    p: float
    ln_evidence: float
    predicted_l: tuple[tuple[str, float], ...]
    repeats: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Tied:
    """Stories that these readings cannot tell apart, with the sum of their weights (repeating larger stories folded in)."""

    stories: tuple[Story, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class Ranking:
    """All stories by weight, the same in groups, and those that these readings can say nothing about."""

    stories: tuple[Story, ...]
    groups: tuple[Tied, ...]
    left_out: tuple[tuple[str, ...], ...]
    fmax_l: float
    remarks: tuple[str, ...]

    @property
    def leading(self) -> tuple[Tied, ...]:
        """The groups that the best one does not outweigh twentyfold ("strong": Kass and Raftery 1995, from memory)."""
        return tuple(g for g in self.groups if 20.0 * g.weight >= self.groups[0].weight)


def single_ways(nodes: Sequence[str], removed: Collection[str] = ()) -> list[tuple[str, ...]]:
    """Every way of one path, chain or outside source between these nodes, less those with a ``removed`` step, as in :func:`kept`."""
    every = [paths for paths in _stories([*nodes, "E"], False) if len(paths) == 1]
    return [p for p in every if not any(_fits(step, pattern) for step in _steps(p[0]) for pattern in removed)]


def rank(measured: Sequence[str], changes_l: Array, cov: Array, fmax_l: float = FMAX_L, nodes: Sequence[str] | None = None) -> list[Story]:
    """Every story that the readings can tell, the heaviest first. Arguments, errors and formulas as in :func:`ranking`.

    Tank -6.0 ± 1.2, gearbox +5.1 ± 0.5, bath +0.4 ± 1.5 L (computed by us):
    >>> best = rank(["T", "G", "B"], np.array([-6.0, 5.1, 0.4]), np.diag([1.2, 0.5, 1.5]) ** 2)[0]
    >>> best.paths, round(best.volumes_l[0], 2), round(best.weight, 2), round(best.chi2, 2), best.dof
    (('T>G',), 5.23, 0.61, 0.55, 2)
    """
    return list(ranking(measured, changes_l, cov, fmax_l, nodes).stories)


def ranking(
    measured: Sequence[str],
    changes_l: Array,
    cov: Array,
    fmax_l: float = FMAX_L,
    nodes: Sequence[str] | None = None,
    pair_sources: bool = False,
) -> Ranking:
    """Stories, groups of ties, and what cannot be told.

    measured : nodes that were read (two of a kind as "G1", "G2"). changes_l : what each did by itself [L at 15 °C]: after - before
    - poured + drained, > 0 where it gained. cov : m x m covariance [L2]. fmax_l : the most that one path may have carried [L, > 0].
    nodes : all compartments of this machine; without it T, G and B, and every one that was read. pair_sources : also stories
    with an outside source beside a path; a free gain beside every loss fits anything, so ask only when there is a reason.
    BadInput for names, shapes or a covariance that cannot be; OutOfRange for fmax.

    Stories: no leak; one or two paths; oil passed through a full gearbox or drive; one outside source. Weight: evidence
    (:func:`fluidapp.calc.balance.evidence.fits`) with the prior shared equally. Ties: same number of volumes, fitted changes equal
    within 0.01 u in every measured row. A story with a path that carries nothing to claim (not above 1.645 u, as for the loss of one
    compartment) adds its weight to the smaller story without that path: "no leak" is also "none that may be claimed".
    """
    names, y, cov = _checked(measured, changes_l, cov, fmax_l)
    all_nodes = _nodes(names, nodes)
    chol = np.asarray(np.linalg.cholesky(cov), dtype=np.float64)
    u = np.sqrt(np.diag(cov))
    told: list[Story] = []
    fitted: list[Array] = []
    left_out = []
    every = _stories(all_nodes, pair_sources)
    effects = [np.array([_column(path, all_nodes) for path in paths]).reshape(len(paths), len(all_nodes)).T for paths in every]
    measured_rows = [full[[all_nodes.index(name) for name in names]] for full in effects]
    for paths, full, rows, found in zip(every, effects, measured_rows, fits(y, chol, measured_rows, fmax_l), strict=True):
        if found is None:
            left_out.append(paths)
            continue
        carried = np.where(found.volumes > 1e-9 * fmax_l, found.volumes, 0.0)
        dof = len(names) - len(paths)
        expected = full @ carried
        told.append(
            Story(
                paths=paths,
                volumes_l=tuple(float(v) for v in carried),
                u_l=tuple(float(v) for v in found.u),
                chi2=found.chi2,
                dof=dof,
                weight=0.0,
                tie=0,
                alike=0,
                p=_p(found.chi2, dof),
                ln_evidence=found.ln_evidence,
                predicted_l=tuple((n, float(x) + 0.0) for n, x in zip(all_nodes, expected, strict=True)),
            )
        )
        fitted.append(rows @ carried / u)
    return _grouped(told, fitted, tuple(left_out), fmax_l)


def kept(found: Ranking, removed: Collection[str] = (), needed: Collection[str] = ()) -> Ranking:
    """The ranking with what was looked at or asked: stories with a ``removed`` step fall away, those without a ``needed`` step too.

    A step is "T>G", from one place to the next, also inside a chain; letters stand for every compartment of their kind, "R>*" for every
    step that begins there. Weights are made to sum to 1 again; no story is left where the answers contradict each other. Own rule.
    """

    def stays(story: Story) -> bool:
        steps = [step for path in story.paths for step in _steps(path)]
        if any(_fits(step, pattern) for step in steps for pattern in removed):
            return False
        return all(any(_fits(step, pattern) for step in steps) for pattern in needed)

    stories = [s for s in found.stories if stays(s)]
    total = math.fsum(s.weight for s in stories)
    if not stories or not total > 0:
        return Ranking((), (), found.left_out, found.fmax_l, ("No story is left: what was answered contradicts itself or the readings.",))
    return _ranked([replace(s, weight=s.weight / total) for s in stories], found.left_out, found.fmax_l)


def _steps(path: str) -> list[tuple[str, str]]:
    return list(pairwise(path.split(">")))


def _fits(step: tuple[str, str], pattern: str) -> bool:
    return all(asked in ("*", stop, stop[0]) for stop, asked in zip(step, pattern.split(">"), strict=True))


def _grouped(told: list[Story], fitted: list[Array], left_out: tuple[tuple[str, ...], ...], fmax_l: float) -> Ranking:
    ln_z = np.array([s.ln_evidence for s in told])
    weight = np.exp(ln_z - ln_z.max())
    weight /= weight.sum()
    order = sorted(range(len(told)), key=lambda i: (-round(float(ln_z[i]), 9), len(told[i].paths), i))
    size, changes = np.array([len(s.paths) for s in told]), np.array(fitted)
    stories: dict[int, Story] = {}
    for i in order:
        if i not in stories:
            same = (size == size[i]) & (np.abs(changes - changes[i]) <= _SAME).all(axis=1)
            here = [j for j in np.flatnonzero(same).tolist() if j not in stories]
            smaller = _smaller([told[j] for j in here])
            number = len({s.alike for s in stories.values()})
            stories |= {j: replace(told[j], weight=float(weight[j]), alike=number, repeats=smaller) for j in here}
    return _ranked([stories[i] for i in order], left_out, fmax_l)


def _smaller(alike: list[Story]) -> tuple[str, ...] | None:
    """What stories that are alike come down to: the one without its least path, if that one carries nothing that may be claimed."""
    less = [(s.volumes_l[i] / s.u_l[i], s.paths[:i] + s.paths[i + 1 :]) for s in alike for i in range(len(s.paths))]
    least, smaller = min(less, default=(math.inf, ()))
    return smaller if least <= CLAIM else None


def _ranked(stories: list[Story], left_out: tuple[tuple[str, ...], ...], fmax_l: float) -> Ranking:
    """These stories, the heaviest first, in groups: each with those that it is like, or under the smaller one that it comes down to."""
    by_paths = {s.paths: s for s in stories}

    def head(story: Story) -> Story:
        smaller = None if story.repeats is None else by_paths.get(story.repeats)
        return story if smaller is None else head(smaller)

    heads = [head(s) for s in stories]
    numbers = {alike: n for n, alike in enumerate(dict.fromkeys(h.alike for h in heads))}
    ordered = tuple(replace(s, tie=numbers[h.alike]) for s, h in zip(stories, heads, strict=True))
    groups = []
    for n in numbers.values():
        standing = tuple(s for s, h in zip(ordered, heads, strict=True) if s.tie == n and s.paths == h.paths)
        groups.append(Tied(standing, math.fsum(s.weight for s in ordered if s.tie == n)))
    groups.sort(key=lambda g: -g.weight)
    return Ranking(ordered, tuple(groups), left_out, fmax_l, _remarks(ordered, left_out, fmax_l))


def _remarks(stories: tuple[Story, ...], left_out: tuple[tuple[str, ...], ...], fmax_l: float) -> tuple[str, ...]:
    said = ["The weights hold only among these stories and for the most that one path may have carried; change it and see."]
    if len(stories[0].paths) and any(v > fmax_l for v in stories[0].volumes_l):
        said.append("The best story carries more than the most that was allowed for one path: raise that setting.")
    if left_out:
        said.append("Some stories cannot be told from these readings and are left out: read more compartments.")
    if stories[0].p < 0.05:
        said.append("Even the best story fits badly: look for a wrong reading or an entry that is missing.")
    return tuple(said)


def _stories(nodes: list[str], pair_sources: bool) -> list[tuple[str, ...]]:
    def named(kinds: tuple[tuple[str, ...], ...]) -> list[str]:
        found = []
        for kind in kinds:
            ways: list[list[str]] = [[]]
            for letter in kind:
                here = [letter] if letter in "WRF" else [n for n in nodes if n[0] == letter]
                ways = [[*way, node] for way in ways for node in here]
            found += [">".join(way) for way in ways]
        return found

    flows, through, sources = named(_FLOWS), named(_THROUGH), named(_FROM_OUTSIDE)
    pairs = list(combinations(flows, 2))
    if pair_sources:
        pairs += (
            [(a, b) for a in flows for b in through] + list(combinations(through, 2)) + [(a, b) for a in flows + through for b in sources]
        )
    return [(), *((path,) for path in flows), *pairs, *((path,) for path in through), *((path,) for path in sources)]


def _column(path: str, nodes: list[str]) -> Array:
    stops = path.split(">")
    column = np.zeros(len(nodes))
    if stops[0] in nodes:
        column[nodes.index(stops[0])] = -1.0
    column[nodes.index(stops[-1])] = 1.0
    return column


def _nodes(measured: list[str], nodes: Sequence[str] | None) -> list[str]:
    if nodes is None:
        read = [n for n in measured if n[0] != "E"]
        missing = [letter for letter in "TGB" if not any(n[0] == letter for n in read)]
        given = read + missing
    else:
        given = [n for n in nodes if n[0] != "E"]
        for name in measured:
            if name[0] != "E" and name not in given:
                raise BadInput("compartment", name, "It was read, but it is not among the compartments of this machine.")
    outside = next((n for n in measured if n[0] == "E"), "E")
    return [*sorted(given, key=lambda n: ("TGBDPS".index(n[0]), n)), outside]


def _checked(measured: Sequence[str], changes_l: Array, cov: Array, fmax_l: float) -> tuple[list[str], Array, Array]:
    names, y, cov = list(measured), np.asarray(changes_l, dtype=np.float64), np.asarray(cov, dtype=np.float64)
    for name in names:
        if not name or name[0] not in "TGBDPSE" or ">" in name:
            raise BadInput(
                "compartment",
                name,
                "Its name begins with T tank, G gearbox, B bath, D final drive, P pump-drive case, S sump or E outside.",
            )
    if not names or len(set(names)) != len(names) or sum(n[0] == "E" for n in names) > 1:
        raise BadInput("compartments", ", ".join(names), "Name each compartment that was read once, and outside once at most.")
    if y.shape != (len(names),) or cov.shape != (len(names), len(names)):
        raise BadInput("shapes", f"changes {y.shape}, cov {cov.shape}", "For m compartments there are m changes and an m x m covariance.")
    if not (np.all(np.isfinite(y)) and np.all(np.isfinite(cov)) and np.allclose(cov, cov.T) and np.linalg.eigvalsh(cov)[0] > 0):
        raise BadInput("covariance", "not usable", "Changes must be finite, and every change needs a doubt above 0.")
    above_zero("most that one path may have carried", fmax_l, "L", "Enter litres above 0, such as 20.")
    return names, y, cov


def _p(chi2: float, dof: int) -> float:
    if dof <= 0:
        return math.nan
    from scipy.special import chdtrc

    return float(chdtrc(dof, chi2))
