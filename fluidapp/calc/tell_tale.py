"""What each way shows besides litres: where the oil leaves, and what to look, smell or listen for.

Common practice and workshop texts without figures, no source to be named.
"""

from collections.abc import Iterable
from itertools import pairwise

SIGNS = {
    "T>G": ("the slewing motor's shaft seal", "gear oil thin, smelling of hydraulic oil, above its mark; slewing gets worse"),
    "T>B": ("the centre joint, outwards", "liquid oil in the carbody well; it leaks slowly even parked; the gear oil is still thick"),
    "T>D": ("that travel motor's shaft seal", "thin oil stands over that final drive's plug; it hisses when loosened; wet face seal"),
    "T>P": ("the main pump's shaft seal", "pump-drive case above its mark after 30 minutes, or its weep hole wet"),
    "T>S": ("the gear-driven pump's seal", "engine oil above its mark and thinner; a sample shows other additives"),
    "T>E": ("rod seals, hoses, couplers, or the breather after overfilling", "wet outside, or a loss that stops by itself at the mark"),
    "G>B": ("the pinion's lower seal", "dark grease that smells of gear oil; the gearbox empties again after a refill"),
    "G>E": ("an open drain cock, a missing plug, the housing", "it follows a service; wet below the gearbox"),
    "B>E": ("the bath's drain or outer seal", "grease or oil runs out below the ring"),
    "D>E": ("the final drive's face seal or plug", "wet round the drive"),
    "W": ("water from washing or rain", "milky, or it crackles when a drop is heated"),
    "F": ("fuel or coolant in the engine", "fuel: thin, it smells; coolant: milky"),
    "R": ("an entry that is missing", "ask who poured, drained or greased, and whether it went into the right hole"),
}


def signs(paths: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Where the oil would leave on each step of these paths, and its signs, each once."""
    found = {}
    for path in paths:
        stops = [stop[0] for stop in path.split(">")]
        for a, b in pairwise(stops):
            key = a if a in "WFR" else f"{a}>{b}"
            if key in SIGNS:
                found[key] = SIGNS[key]
    return tuple(found.values())
