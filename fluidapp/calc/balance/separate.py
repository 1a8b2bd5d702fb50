"""What to check next: the compartment whose level tells the leading stories apart, or a look where no level can."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from fluidapp.calc.balance.stories import Ranking, Story
from fluidapp.calc.limits import above_zero
from fluidapp.errors import BadInput

_NOTHING_L = 1e-9


@dataclass(frozen=True, slots=True)
class Advice:
    """The next check: ``node`` to read (None where no level helps), its score, all scores, and what to look at or ask."""

    node: str | None
    score: float
    scores: tuple[tuple[str, float], ...]
    looks: tuple[str, ...]


def next_check(stories: Sequence[Story], u_by_node: Mapping[str, float]) -> list[tuple[str, float]]:
    """How well a reading of each node would tell these stories apart, the best first.

    stories : the leading ones. u_by_node : standard uncertainty of a change read there [L, > 0], for every node that could be read,
    or read better. BadInput for no story or a node that the stories do not know; OutOfRange for a u not above 0.
    Score: sum over pairs of w_a w_b ((predicted_a - predicted_b) / u)^2, the weights made to sum to 1. Own rule. All scores 0 means
    that no level can tell them apart: ask for a look.

    Tank alone, -6 L: the gearbox (u 0.5 L, 12 u apart) comes before the bath (u 1.5 L, 4 u apart); computed by us.
    >>> import numpy as np
    >>> from fluidapp.calc.balance.stories import rank
    >>> tied = [s for s in rank(["T"], np.array([-6.0]), np.array([[1.44]])) if s.tie == 0]
    >>> [node for node, _ in next_check(tied, {"B": 1.5, "G": 0.5})]
    ['G', 'B']
    """
    if not stories:
        raise BadInput("stories", "none", "There must be at least one.")
    total = math.fsum(s.weight for s in stories)
    if not total > 0:
        raise BadInput("weights", total, "The stories need weights above 0.")
    known = [dict(s.predicted_l) for s in stories]
    scores = []
    for node, u in u_by_node.items():
        if not all(node in story for story in known):
            raise BadInput("compartment", node, "The stories do not know it.")
        above_zero(f"doubt of {node}", u, "L", "No reading is exact: enter a number above 0.")
        score = 0.0
        for (a, pa), (b, pb) in combinations(zip(stories, known, strict=True), 2):
            gap = pa[node] - pb[node]
            if abs(gap) > _NOTHING_L:
                score += a.weight * b.weight / total**2 * (gap / u) ** 2
        scores.append((node, score))
    return sorted(scores, key=lambda item: -item[1])


def advise(ranked: Ranking, u_by_node: Mapping[str, float]) -> Advice:
    """The next check for the leading stories of a ranking: a level to read, and what to look at where levels cannot tell.

    Arguments and errors as in :func:`next_check`; a node that the ranking does not know is left out. Looks: common practice, no
    source.
    """
    stories = [s for group in ranked.leading for s in group.stories]
    nodes = {node for node, _ in stories[0].predicted_l}
    scores = next_check(stories, {node: u for node, u in u_by_node.items() if node in nodes})
    best = scores[0] if scores and scores[0][1] > 0 else (None, 0.0)
    return Advice(best[0], best[1], tuple(scores), tuple(look for group in ranked.leading for look in _looks(group.stories)))


def _looks(tied: Sequence[Story]) -> list[str]:
    if len(tied) < 2:
        return []
    paths = {path for story in tied for path in story.paths}
    said = []
    if any(p.startswith("W>") for p in paths) and any(p.startswith("R>") for p in paths):
        said.append(
            "Look at the oil: milky or crackling when heated means water; clear means a pour that nobody wrote down, so ask for it."
        )
    through = sorted({path.split(">")[1][0] for path in paths if path.count(">") == 2})
    if "G" in through:
        said.append("Look at the gear oil: thin, or smelling of hydraulic oil, means that it passed through the gearbox.")
    if "D" in through:
        said.append("Look at the final drive's oil: thin, or standing over the plug, means that it passed through the drive.")
    if not said and all(a.predicted_l == b.predicted_l or _same_everywhere(a, b) for a, b in combinations(tied, 2)):
        said.append("No level can tell these apart: look which joint or seal is wet, or have the oil type told by a sample.")
    return said


def _same_everywhere(a: Story, b: Story) -> bool:
    return all(abs(x - y) <= 1e-6 for (_, x), (_, y) in zip(a.predicted_l, b.predicted_l, strict=True))
