"""Volumes against figures printed elsewhere; lengths are handed over in the source's unit as if they were dm."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from fluidapp.calc import geometry as geo

CASES = tomllib.loads((Path(__file__).parents[2] / "published" / "geometry.toml").read_text())["case"]
LEVEL = geo.up(0.0, 0.0)


def volume(g: dict) -> float:
    per = g.get("per", 1.0)
    match g["shape"]:
        case "horizontal":
            tank = geo.Tank([(1, geo.horizontal_cylinder(g["d"], g["length"]))])
            return tank.vol(g["h"], LEVEL)[0] / per
        case "upright":
            return geo.Tank([(1, geo.upright_cylinder(g["d"], g["height"]))]).vol(g["h"], LEVEL)[0] / per
        case "box":
            return geo.Tank([(1, geo.box(g["length"], g["width"], g["height"]))]).vol(g["h"], LEVEL)[0] / per
        case "ring":
            return geo.Tank(
                [(1, geo.upright_cylinder(g["d"], g["height"])), (-1, geo.upright_cylinder(g["inner"], g["height"]))]
            ).capacity_l
        case "cut cylinder":
            lean = np.arctan((g["high"] - g["low"]) / g["d"])
            n = np.array([np.sin(lean), 0.0, np.cos(lean)])
            c = 0.5 * (g["low"] + g["high"]) * n[2]
            return geo.Tank([(1, geo.upright_cylinder(g["d"], g["high"] + 1.0))]).vol(c, n)[0]
    raise AssertionError(g["shape"])


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["fact"])
def test_volume_agrees_with_the_printed_figure(case):
    assert volume(case["given"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)
