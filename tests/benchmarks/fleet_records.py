"""Invented top-ups of many machines, with a seed, as a store would hand them over: for the benchmark and for the simulations."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Records:
    """Columns of one length: machine, total machine hours at each top-up, litres; in no order where shuffled."""

    machine_id: NDArray[np.int64]
    hours: Array
    litres: Array


def hours_between(rng: np.random.Generator, shape: tuple[int, int]) -> Array:
    """Hours between two top-ups: lognormal(3.7, 0.9), from 4 to 400 h, mean about 60 h."""
    return np.clip(rng.lognormal(3.7, 0.9, shape), 4.0, 400.0)


def fleet(
    machines: int,
    intervals: int,
    seed: int,
    *,
    rate: float | Array = 0.05,
    phi_l: float = 0.25,
    u_level_l: float = 0.8,
    change_at: int | None = None,
    times: float = 1.0,
    shuffled: bool = True,
    hours: Array | None = None,
) -> Records:
    """Machines that use ``rate`` L/h in lumps, filled to the mark with an error of ``u_level_l`` each time.

    What is used in H hours is gamma with mean rate H and variance phi rate H; from interval ``change_at`` on ``times`` as much. What is
    poured is that, less the error before, plus the error now; it may come out below 0 (a reading, no pour).
    """
    rng = np.random.default_rng(seed)
    h = hours_between(rng, (machines, intervals)) if hours is None else hours
    mean = np.broadcast_to(np.asarray(rate, np.float64), (machines,))[:, None] * h
    if change_at is not None:
        mean[:, change_at:] *= times
    used = rng.gamma(mean / phi_l, phi_l)
    error = rng.normal(0.0, u_level_l, (machines, intervals + 1))
    litres = np.concatenate((np.zeros((machines, 1)), used + np.diff(error, axis=1)), axis=1)
    at = np.concatenate((np.zeros((machines, 1)), np.cumsum(h, axis=1)), axis=1) + rng.uniform(500.0, 9000.0, (machines, 1))
    machine = np.repeat(np.arange(machines), intervals + 1)
    order = rng.permutation(machine.size) if shuffled else np.arange(machine.size)
    return Records(machine[order], at.ravel()[order], litres.ravel()[order])
