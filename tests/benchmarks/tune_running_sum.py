"""How often the running sum cries wolf, and how soon it finds a change: the simulation from which its settings were chosen.

Invented machines with a seed (fleet_records): 0.05 L/h, 0.25 L lumps, levels good to 0.8 L, 60 h between top-ups, so that 25 intervals are
a machine-year of 1,500 h. Everything is estimated as in real use: usual rate, lumps, outliers left out.

python -m tests.benchmarks.tune_running_sum           the settings as they are, over several kinds of machines
python -m tests.benchmarks.tune_running_sum 4 4.5 5   the same with other factors of the levels in the limit
"""

import sys
from typing import NamedTuple

import numpy as np

from fluidapp.calc.consumption import review, tuned
from tests.benchmarks.fleet_records import Records, fleet

YEAR = 25  # intervals
SOON = 8  # records within which a doubling should be found
KINDS = [(rate, phi) for rate in (0.02, 0.05, 0.1, 0.2) for phi in (0.1, 0.25, 0.5, 1.0)]


class Power(NamedTuple):
    """Share of machines found within eight records of the change, within fifteen, and the median delay in records of those found."""

    soon: float
    later: float
    median: float


def alarms(records: Records, intervals: int, u_level_l: float) -> np.ndarray:
    """Number of the interval (from 1) with which each machine raises its alarm; a large number where it does not."""
    seen = review(records.machine_id, records.hours, records.litres, u_level_l)
    order = np.lexsort((records.hours, records.machine_id))
    number = np.empty(len(order), int)
    number[order] = np.tile(np.arange(intervals + 1), len(seen.ids))
    return np.where(seen.alarm_at >= 0, number[seen.alarm_at], 10**9)


def false_alarms(machines: int, intervals: int, seed: int, rate: float = 0.05, phi_l: float = 0.25, u_level_l: float = 0.8) -> float:
    """Share of healthy machines that raise an alarm within so many intervals from their first record on."""
    records = fleet(machines, intervals, seed, rate=rate, phi_l=phi_l, u_level_l=u_level_l)
    return float(np.mean(alarms(records, intervals, u_level_l) <= intervals))


def power(
    machines: int, before: int, times: float, seed: int, rate: float = 0.05, phi_l: float = 0.25, u_level_l: float = 0.8, after: int = 20
) -> Power:
    """How soon ``times`` as much is found after ``before`` healthy intervals, among machines that had raised no alarm until then."""
    n = before + after
    records = fleet(machines, n, seed, rate=rate, phi_l=phi_l, u_level_l=u_level_l, change_at=before, times=times)
    at = alarms(records, n, u_level_l)
    delay = at[at > before] - before
    found = delay[delay <= after]
    return Power(float(np.mean(delay <= SOON)), float(np.mean(delay <= 15)), float(np.median(found)) if len(found) else float("nan"))


def show(machines: int = 4000) -> None:
    print(f"factor of the levels {tuned.LEVELS:g}, of the lumps {tuned.LUMPS:g}")
    print(f"healthy machines with an alarm: first year {false_alarms(machines, YEAR, 1):.3f}, ", end="")
    print(f"first two {false_alarms(machines, 2 * YEAR, 2):.3f}, first five {false_alarms(machines, 5 * YEAR, 3):.3f}")
    for before in (12, 25, 40):
        for times in (1.5, 2.0, 3.0):
            p = power(machines, before, times, 4)
            print(f"x{times:g} after {before} intervals: within 8 {p.soon:.3f}, within 15 {p.later:.3f}, median {p.median:g}")
    print("litres an interval  lumps L  false alarms in the first year  doubling after 25 found within 8")
    for rate, phi in KINDS:
        wrong, found = false_alarms(machines // 2, YEAR, 5, rate, phi), power(machines // 2, 25, 2.0, 6, rate, phi).soon
        print(f"{60 * rate:>18.1f}{phi:>9.2f}{wrong:>32.3f}{found:>34.3f}")


if __name__ == "__main__":
    for factor in [float(a) for a in sys.argv[1:]] or [tuned.LEVELS]:
        tuned.LEVELS = factor
        show()
