"""Where a tilted tank would keep air under its roof."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from fluidapp.calc.geometry.arrays import Array
from fluidapp.calc.geometry.extrusion import Part

Index: TypeAlias = NDArray[np.intp]


def pockets(part: Part, n: Array) -> Array:
    """High places of the roof of ``part`` that air cannot leave upwards, apart from the highest one, shape (k, 3) [dm].

    n : unit vector up, shape (3,).
    Formula: corners of the faceted surface that no neighbour tops, with the inside below them. Own formula; round parts have 48
    facets. A convex part has none.
    """
    triangles = part.facets(48)
    size = float(np.max(np.abs(triangles))) or 1.0
    points = triangles.reshape(-1, 3)
    _, first, index = np.unique(np.round(points / size, 9), axis=0, return_index=True, return_inverse=True)
    corners, faces = points[first], np.asarray(index, dtype=np.intp).reshape(-1, 3)
    heights = corners @ n / size
    group = _level_groups(faces, heights)
    outward = np.zeros(len(corners))
    turned = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]) @ n
    for i in range(3):
        np.add.at(outward, faces[:, i], turned)
    count = int(group.max()) + 1
    topped, facing = np.zeros(count, dtype=bool), np.zeros(count)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        a, b = faces[:, i], faces[:, j]
        lower = np.where(heights[a] < heights[b], a, b)
        topped[group[lower[group[a] != group[b]]]] = True
    np.add.at(facing, group, outward)
    high = [int(np.flatnonzero(group == g)[0]) for g in np.flatnonzero(~topped & (facing > 0.0))]
    highest = float(heights.max())
    found = [corners[i] for i in high if heights[i] < highest - 1e-6]
    return np.array(found).reshape(-1, 3)


def _level_groups(faces: Index, heights: Array) -> Index:
    """Number of the level patch that each corner belongs to: corners joined by level edges share one."""
    parent = np.arange(len(heights))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = int(parent[i])
        return i

    for i, j in ((0, 1), (1, 2), (2, 0)):
        for a, b in faces[:, [i, j]][np.abs(heights[faces[:, i]] - heights[faces[:, j]]) < 1e-7].tolist():
            parent[root(a)] = root(b)
    roots = np.array([root(i) for i in range(len(heights))])
    return np.asarray(np.unique(roots, return_inverse=True)[1], dtype=np.intp)
