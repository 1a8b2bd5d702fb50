"""Review of 1,000,000 records of 2,000 machines, sort included, against a plain groupby.apply in the same run.

Times are processor time of this process, on both sides, so that other work on the machine disturbs them less.

python -m tests.benchmarks.bench_consumption
"""

import resource
import sys

import numpy as np
import pandas as pd

from fluidapp.calc.consumption import review
from tests.benchmarks.bench_geometry import best, row
from tests.benchmarks.fleet_records import fleet
from tests.calc.consumption.plain import plain_review

MACHINES, INTERVALS, U_LEVEL = 2000, 499, 0.8


def plainly(table: pd.DataFrame) -> pd.DataFrame:
    """The same by a function for each machine, as one would write it without thinking of speed."""

    def one(group: pd.DataFrame) -> pd.DataFrame:
        ordered = group.sort_values("hours")
        found = plain_review(ordered["hours"].tolist(), ordered["litres"].tolist(), U_LEVEL)
        n = np.arange(len(ordered))
        return pd.DataFrame(
            {"rate": found.rate, "z": found.z, "cusum": found.sums, "alarm": n == found.alarm, "change": n == found.change},
            index=ordered.index,
        )

    return table.groupby("machine", group_keys=False)[["hours", "litres"]].apply(one)


def arrays(table: pd.DataFrame) -> pd.Series:
    """groupby.apply with array functions inside: intervals and rates only, the least that any such function must do."""

    def one(group: pd.DataFrame) -> pd.Series:
        ordered = group.sort_values("hours")
        return ordered["litres"] / ordered["hours"].diff()

    return table.groupby("machine", group_keys=False)[["hours", "litres"]].apply(one)


def main() -> bool:
    records = fleet(MACHINES, INTERVALS, 20261125)
    table = pd.DataFrame({"machine": records.machine_id, "hours": records.hours, "litres": records.litres})
    good = []
    seen = review(records.machine_id, records.hours, records.litres, U_LEVEL)
    want = plainly(table).sort_index()
    for name, got in (("rate", seen.rate), ("z", seen.z), ("cusum", seen.cusum_l)):
        away = np.nanmax(np.abs(got - want[name].to_numpy()))
        good.append(row(f"{name}: largest difference to the plain loop", float(away), "", 1e-9, False))
        same = np.array_equal(np.isnan(got), np.isnan(want[name].to_numpy()))
        good.append(row(f"{name}: missing at the same records (1 = yes)", float(same), "", 1.0, True))
    for name, at in (("alarm", seen.alarm_at), ("change", seen.change_at)):
        same = np.array_equal(np.sort(at[at >= 0]), np.flatnonzero(want[name].to_numpy()))
        good.append(row(f"{name}: at the same records (1 = yes)", float(same), "", 1.0, True))
    fast = best(lambda: review(records.machine_id, records.hours, records.litres, U_LEVEL))
    text = np.char.mod("machine-%04d", records.machine_id)
    good.append(row(f"review of {len(table):,} records, sort included", fast, "s", 1.5, False))
    good.append(row("groupby.apply of the same, times slower", best(lambda: plainly(table), 2) / fast, "x", 4.0, True))
    row("for information: groupby.apply of the rates alone, times slower", best(lambda: arrays(table), 2) / fast, "x", 0.0, True)
    row(
        "for information: review with machines named by texts",
        best(lambda: review(text, records.hours, records.litres, U_LEVEL), 2),
        "s",
        9,
        False,
    )
    good.append(row("largest memory of all this", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6, "GB", 1.0, False))
    row("for information: healthy machines with an alarm in 20 years", float(np.mean(seen.alarm_at >= 0)), "", 1.0, False)
    print(f"{sum(good)} of {len(good)} targets reached")
    return all(good)


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
