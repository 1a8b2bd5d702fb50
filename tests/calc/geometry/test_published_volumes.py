"""Volumes against figures printed elsewhere; lengths are handed over in the source's unit as if they were dm."""

import numpy as np
import pytest

from fluidapp.calc import geometry as geo

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
        case "hopper":
            return geo.hopper(g["length"], g["width"], g["floor_length"], g["floor_width"], g["height"]).total
        case "cone":
            return geo.frustum(0.0, g["d"], g["height"]).total
        case "segment":
            return geo.spherical_segment(g["d"], g["height"]).total
        case "slanted":
            shell, cap = geo.upright_cylinder(g["d"], g["shell"]), geo.spherical_segment(g["d"], g["cap"], at=(0, 0, g["shell"]))
            wedge = geo.Column(np.pi / 4 * g["d"] ** 2 * g["slant"] / 2, 0.0, g["slant"])
            return geo.Tank([(1, shell), (1, cap), (-1, wedge)]).vol(g["h"], LEVEL)[0] / per
        case "lying":
            return geo.Tank([(1, geo.lying_tank(g["d"], g["length"], g["heads"], depth=g.get("depth")))]).vol(g["h"], LEVEL)[0] / per
        case "lying two":
            ends = [(1, geo.head(kind, g["d"], (x, 0, g["d"] / 2), (way, 0, 0), g["depth"])) for kind, x, way in two_ends(g["length"])]
            return geo.Tank([(1, geo.horizontal_cylinder(g["d"], g["length"])), *ends]).vol(g["h"], LEVEL)[0] / per
        case "standing":
            tank = geo.Tank([(1, geo.upright_tank(g["d"], 2 * g["d"], g["heads"], bottom_depth=g.get("depth")))])
            return tank.vol(g["h"] + tank.span(LEVEL)[0], LEVEL)[0] / per
        case "standing two":
            body = geo.upright_tank(g["d"], g["height"], "spherical", "spherical", bottom_depth=g["below"], top_depth=g["above"])
            return geo.Tank([(1, body)]).vol(g["h"] - g["below"], LEVEL)[0] / per
        case "pushed in":
            dent = geo.head(g["heads"], g["d"], (0, 0, 0), (0, 0, 1), g.get("depth"), g.get("dish", 1.0), g.get("knuckle", 0.06))
            return geo.Tank([(1, geo.upright_cylinder(g["d"], 2 * g["d"])), (-1, dent)]).vol(g["h"], LEVEL)[0] / per
    raise AssertionError(g["shape"])


def two_ends(length: float) -> list[tuple[str, float, int]]:
    return [("spherical", 0.0, -1), ("conical", length, 1)]


@pytest.mark.published("geometry")
def test_volume_agrees_with_the_printed_figure(case):
    assert volume(case["given"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)
