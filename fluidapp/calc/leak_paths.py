"""Which ways the oil may have gone on this machine, in its own names: the stories of the balance put into words."""

import math
from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.balance import FMAX_L, Account, Ranking, Story, advise, kept, ranking
from fluidapp.calc.tell_tale import signs
from fluidapp.model import Machine

U_TO_READ_L = {"T": 2.0, "G": 0.5, "B": 1.5, "D": 0.3, "P": 0.5, "S": 0.8}  # of a change read there, typical (common practice, no source)
_LETTERS = {"hydraulic tank": "T", "slewing gearbox": "G", "final drive": "D", "pump-drive case": "P", "engine sump": "S"}
_ONLY_IF_READ = "PS"  # late in the order of questions; unread they would stand beside every loss to the outside
_MOST, _SHOWN, _RULED_OUT = 6, 3, 8
Fit = Literal["fits", "fits badly", "not testable"]
_STRONG = 150.0  # "very strong" beyond it (Kass and Raftery 1995, from memory)


@dataclass(frozen=True, slots=True)
class Way:
    """One explanation, or several that these readings cannot tell apart, with its weight among all and how well it fits.

    litres : what each path of the first one carried [L ± u]. p is nan where there is nothing left to test with. signs : where the oil
    would leave, and what to look for.
    """

    texts: tuple[str, ...]
    weight: float
    chi2: float
    dof: int
    p: float
    litres: tuple[tuple[float, float], ...]
    signs: tuple[tuple[str, str], ...]
    stories: tuple[Story, ...]

    @property
    def fit(self) -> Fit:
        """ "fits badly" where one in twenty honest balances or fewer would come out so; "not testable" where no reading is left over."""
        if math.isnan(self.p):
            return "not testable"
        return "fits badly" if self.p < 0.05 else "fits"

    @property
    def tied(self) -> bool:
        """True where these readings cannot tell several apart."""
        return len(self.texts) > 1

    @property
    def shown(self) -> str:
        """The first few in one sentence; the number of those left out."""
        first = "; or ".join(self.texts[:_SHOWN])
        left = len(self.texts) - _SHOWN
        return f"{first}; or {left} more" if left > 0 else first


@dataclass(frozen=True, slots=True)
class RuledOut:
    """An explanation that the readings speak against: it expects ``expected_l`` of ``label``, which did ``read_l`` ± ``u_l``."""

    text: str
    label: str
    expected_l: float
    read_l: float
    u_l: float


@dataclass(frozen=True, slots=True)
class Ways:
    """The explanations that lead, the heaviest first; those ruled out; what to read next, what to look at.

    fmax_l : the most for one path [L]. not_told : explanations that these readings say nothing about. names : machine's names of the nodes.
    """

    ways: tuple[Way, ...]
    ruled_out: tuple[RuledOut, ...]
    not_told: tuple[str, ...]
    read_next: str | None
    looks: tuple[str, ...]
    remarks: tuple[str, ...]
    fmax_l: float
    names: tuple[tuple[str, str], ...]


def leak_paths(
    machine: Machine,
    account: Account,
    keys: Collection[str],
    fmax_l: float = FMAX_L,
    *,
    correlation: NDArray[np.float64] | None = None,
    removed: Collection[str] = (),
    needed: Collection[str] = (),
) -> Ways | None:
    """The stories of :func:`fluidapp.calc.balance.ranking` for the compartments ``keys`` behind the lines of ``account``.

    None where none of them is a hydraulic tank, slewing gearbox, final drive or grease bath; pump-drive case and engine sump come in when
    they were read. fmax_l : the most that one path may have carried [L]. correlation : of the lines, as for the account. removed, needed :
    steps that a look or an answer ruled out or proved, as in :func:`fluidapp.calc.balance.kept`. Errors as there.
    """
    names = node_names(machine, keys)
    known = [(i, names[key]) for i, key in enumerate(keys) if key in names]
    if not any(name[0] not in _ONLY_IF_READ for _, name in known):
        return None
    index = [i for i, _ in known]
    rows = [account.lines[i] for i in index]
    measured = [name for _, name in known]
    y, u = np.array([-line.gone_l for line in rows]), np.array([line.u_l for line in rows])
    r = np.eye(len(rows)) if correlation is None else correlation[np.ix_(index, index)]
    cov = r * np.outer(u, u)
    every = ranking(measured, y, cov, fmax_l, list(names.values()))
    found = kept(every, removed, needed) if removed or needed else every
    labels = node_labels(machine, names)
    if not found.stories:
        return Ways((), (), (), None, (), found.remarks, fmax_l, tuple(labels.items()))
    unread = {name: U_TO_READ_L[name[0]] for name in names.values() if name not in measured}
    advice = advise(found, unread)
    ways = tuple(_way(group.stories, group.weight, labels) for group in found.leading[:_MOST] if group.stories)
    return Ways(
        ways,
        _ruled_out(found, measured, y, u, labels),
        tuple(in_words(paths, labels) for paths in found.left_out if len(paths) == 1),
        None if advice.node is None else labels.get(advice.node, advice.node),
        advice.looks,
        found.remarks,
        fmax_l,
        tuple(labels.items()),
    )


def _way(stories: tuple[Story, ...], weight: float, labels: dict[str, str]) -> Way:
    first = stories[0]
    paths = tuple(path for story in stories for path in story.paths)
    return Way(
        tuple(in_words(story.paths, labels) for story in stories),
        weight,
        first.chi2,
        first.dof,
        first.p,
        tuple(zip(first.volumes_l, first.u_l, strict=True)),
        signs(dict.fromkeys(paths)),
        stories,
    )


def _ruled_out(
    found: Ranking, measured: list[str], y: NDArray[np.float64], u: NDArray[np.float64], labels: dict[str, str]
) -> tuple[RuledOut, ...]:
    """Single ways far behind the best one, each with the compartment that speaks loudest against it."""
    best = found.groups[0].weight
    said = []
    for group in found.groups:
        story = group.stories[0]
        if _STRONG * group.weight >= best or len(story.paths) > 1:
            continue
        expected = dict(story.predicted_l)
        off = [abs(expected[name] - y[i]) / u[i] for i, name in enumerate(measured)]
        worst = int(np.argmax(off))
        name = measured[worst]
        text = " or ".join(in_words(s.paths, labels) for s in group.stories[:_SHOWN])
        said.append(RuledOut(text, labels.get(name, name), expected[name], float(y[worst]), float(u[worst])))
    return tuple(said[:_RULED_OUT])


def node_names(machine: Machine, keys: Collection[str] = ()) -> dict[str, str]:
    """The ranking's name of each compartment and bath that it knows, by key."""
    letters = [(c.key, _LETTERS[c.kind]) for c in machine.compartments if c.kind in _LETTERS] + [(b.key, "B") for b in machine.baths]
    letters = [(key, letter) for key, letter in letters if letter not in _ONLY_IF_READ or key in keys]
    count = {letter: sum(1 for _, one in letters if one == letter) for _, letter in letters}
    found: dict[str, str] = {}
    for key, letter in letters:
        number = 1 + sum(1 for name in found.values() if name[0] == letter)
        found[key] = letter if count[letter] == 1 else f"{letter}{number}"
    return found


def node_labels(machine: Machine, names: dict[str, str]) -> dict[str, str]:
    own = {part.key: part.label for part in machine.compartments} | {bath.key: bath.label for bath in machine.baths}
    return {name: own[key] for key, name in names.items()}


def in_words(paths: tuple[str, ...], labels: dict[str, str]) -> str:
    """The paths of a story in words: "hydraulic tank → slewing gearbox → grease bath"."""
    if not paths:
        return "no leak, only the doubt of the readings"
    said = []
    outer = {"W": "water from outside", "R": "a pour that nobody wrote down", "F": "fuel or coolant"}
    for path in paths:
        first, *rest = path.split(">")
        way = " → ".join("outside" if stop == "E" else _low(labels[stop]) for stop in rest)
        said.append(f"{outer.get(first) or _low(labels[first])} → {way}")
    return ", and ".join(said)


def _low(label: str) -> str:
    return label[:1].lower() + label[1:]
