"""Which ways the oil may have gone on this machine, in its own names: the stories of the balance put into words."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from fluidapp.calc.balance import FMAX_L, Account, Story, advise, ranking
from fluidapp.model import Machine

U_TO_READ_L = {"T": 2.0, "G": 0.5, "B": 1.5, "D": 0.3}  # of a change read there, typical (common practice, no source)
_LETTERS = {"hydraulic tank": "T", "slewing gearbox": "G", "final drive": "D"}
_MOST, _SHOWN = 5, 2


@dataclass(frozen=True, slots=True)
class Way:
    """One explanation, or several that these readings cannot tell apart, with its weight among all and how well it fits."""

    texts: tuple[str, ...]
    weight: float
    fits: bool

    @property
    def shown(self) -> str:
        """The first few in one sentence; the number of those left out."""
        first = " or ".join(self.texts[:_SHOWN])
        left = len(self.texts) - _SHOWN
        return f"{first}, or {left} more that these readings cannot tell apart" if left > 0 else first


@dataclass(frozen=True, slots=True)
class Ways:
    """The explanations that lead, the heaviest first; what to read next, what to look at; fmax_l : the most for one path [L]."""

    ways: tuple[Way, ...]
    read_next: str | None
    looks: tuple[str, ...]
    remarks: tuple[str, ...]
    fmax_l: float


def leak_paths(machine: Machine, account: Account, keys: Collection[str], fmax_l: float = FMAX_L) -> Ways | None:
    """The stories of :func:`fluidapp.calc.balance.ranking` for the compartments ``keys`` behind the lines of ``account``.

    None where none of them is a hydraulic tank, slewing gearbox, final drive or grease bath, which are all that it knows.
    fmax_l : the most that one path may have carried [L]. Errors as there.
    """
    names = _names(machine)
    known = [(i, names[key]) for i, key in enumerate(keys) if key in names]
    if not known:
        return None
    rows = [account.lines[i] for i, _ in known]
    measured = [name for _, name in known]
    found = ranking(
        measured, np.array([-line.gone_l for line in rows]), np.diag([line.u_l for line in rows]) ** 2, fmax_l, list(names.values())
    )
    unread = {name: U_TO_READ_L[name[0]] for name in names.values() if name not in measured}
    advice = advise(found, unread)
    labels = _labels(machine, names)
    ways = tuple(
        Way(tuple(_words(story, labels) for story in group.stories), group.weight, not group.stories[0].p < 0.05)
        for group in found.leading[:_MOST]
        if group.stories
    )
    return Ways(ways, None if advice.node is None else labels.get(advice.node, advice.node), advice.looks, found.remarks, fmax_l)


def _names(machine: Machine) -> dict[str, str]:
    """The ranking's name of each compartment and bath that it knows, by key."""
    letters = [(c.key, _LETTERS[c.kind]) for c in machine.compartments if c.kind in _LETTERS] + [(b.key, "B") for b in machine.baths]
    count = {letter: sum(1 for _, one in letters if one == letter) for _, letter in letters}
    found: dict[str, str] = {}
    for key, letter in letters:
        number = 1 + sum(1 for name in found.values() if name[0] == letter)
        found[key] = letter if count[letter] == 1 else f"{letter}{number}"
    return found


def _labels(machine: Machine, names: dict[str, str]) -> dict[str, str]:
    own = {part.key: part.label for part in machine.compartments} | {bath.key: bath.label for bath in machine.baths}
    return {name: own[key] for key, name in names.items()}


def _words(story: Story, labels: dict[str, str]) -> str:
    """The paths of a story in words: "hydraulic tank → slewing gearbox → grease bath"."""
    if not story.paths:
        return "no leak, only the doubt of the readings"
    said = []
    for path in story.paths:
        first, *rest = path.split(">")
        way = " → ".join("outside" if stop == "E" else _low(labels[stop]) for stop in rest)
        start = {"W": "water from outside", "R": "a pour that nobody wrote down"}.get(first) or _low(labels[first])
        said.append(f"{start} → {way}")
    return ", and ".join(said)


def _low(label: str) -> str:
    return label[:1].lower() + label[1:]
