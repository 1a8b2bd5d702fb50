"""The review of one machine as plain loops, for comparison: slow, and written apart from the fast one."""

import itertools
import math
from dataclasses import dataclass
from statistics import median

NOT_A_NUMBER = math.nan


@dataclass
class Plain:
    """rate, z and running sum of each record in the order of hours; alarm and change as positions in that order, -1 = none."""

    rate: list[float]
    z: list[float]
    sums: list[float]
    alarm: int
    change: int


def modified(values: list[float], floors: list[float]) -> list[float]:
    middle = median(values)
    mad = median(abs(v - middle) for v in values)
    return [0.0 if v == middle else (v - middle) / max(mad / 0.6745, floor) for v, floor in zip(values, floors, strict=True)]


def usual(q: list[float], h: list[float], u: float) -> tuple[float, float, float]:
    """Rate, its u, and phi."""
    m = median(a / b for a, b in zip(q, h, strict=True))
    z = modified([(a - m * b) / math.sqrt(b) for a, b in zip(q, h, strict=True)], [math.sqrt(2) * u / math.sqrt(b) for b in h])
    kept = [k for k in range(len(q)) if abs(z[k]) <= 3.5]
    litres, hours, n = sum(q[k] for k in kept), sum(h[k] for k in kept), len(kept)
    rate = max(litres / hours, 0.0)
    rest = sum(((q[k] - rate * h[k]) * min(1.0, 3.5 / max(abs(z[k]), 3.5))) ** 2 - 2 * u * u for k in range(len(q)))
    own = rest / (rate * (sum(h) - sum(b * b for b in h) / sum(h))) if rate > 0 else 0.0
    phi = max((n * own + 4 * 0.25) / (n + 4), 0.05)
    return rate, math.sqrt(phi * rate * hours + 2 * u * u) / hours, phi


def walk(q: list[float], h: list[float], u: float, n: int, end: int) -> tuple[list[float], int, int]:
    """Running sum over intervals n to end after a baseline of n; first alarm and its change."""
    sums = [0.0] * len(q)
    rate, u_rate, phi = usual(q[:n], h[:n], u)
    limit = max(4.5 * math.sqrt(2) * u, 12 * phi)
    allowed = rate + max(0.5 * rate, 0.25 * rate + 2.3 * u_rate)
    now, alarm, change, begun = 0.0, -1, -1, n
    for k in range(n, end):
        now = max(0.0, now + min(q[k] - allowed * h[k], 0.7 * limit))
        sums[k] = now
        if now == 0.0:
            begun = k + 1
        if alarm < 0 and now > limit:
            alarm, change = k, begun
    return sums, alarm, change


def plain_review(hours: list[float], litres: list[float], u: float) -> Plain:
    """One machine, records sorted by hours, all levels known, all hours different."""
    h = [b - a for a, b in itertools.pairwise(hours)]
    q = litres[1:]
    n = min(25, len(q))
    head = n
    for short in (12, 6, 3):
        if short < len(q):
            _, alarm, change = walk(q, h, u, short, head)
            if alarm >= 0:
                n = max(short, change)
                break
    rate, _, phi = usual(q[:n], h[:n], u)
    sums, alarm, change = walk(q, h, u, n, len(q))
    z = [(a - rate * b) / math.sqrt(phi * rate * b + 2 * u * u) for a, b in zip(q, h, strict=True)]
    each = [a / b for a, b in zip(q, h, strict=True)]
    start = [NOT_A_NUMBER]
    return Plain(start + each, start + z, start + sums, alarm + 1 if alarm >= 0 else -1, change + 1 if change >= 0 else -1)
