"""A closed body of flat faces, in mm, checked until it encloses something."""

from collections import defaultdict
from itertools import combinations
from typing import Annotated, Literal

from pydantic import Field, model_validator

from fluidapp.model.base import ORIGIN, Count, Frozen, Point

FLAT_MM = 1.0  # how far a corner may lie off its face: the rounding of what is taped
Face = Annotated[tuple[Count, ...], Field(min_length=3)]
Vector = tuple[float, float, float]
Edge = tuple[int, int]


class Mesh(Frozen):
    """Any closed body with flat faces. ``at`` moves the whole.

    corners : points [mm], counted from 1. faces : the numbers of each face's corners, anticlockwise as seen from outside; a face may
    have any number of corners and need not be convex, but must be flat to within 1 mm.
    Refused, naming the face: a missing face, one turned round or listed twice, one that is not flat, one that an edge runs through, faces
    that do not hang together. Not looked for: faces that lie in one another.
    """

    shape: Literal["mesh"]
    corners: Annotated[tuple[Point, ...], Field(min_length=4, max_length=200)]
    faces: Annotated[tuple[Face, ...], Field(min_length=4, max_length=200)]
    at: Point = ORIGIN

    @model_validator(mode="after")
    def _closed(self) -> "Mesh":
        self._corners_fit()
        edges = self._edges()
        self._turned(edges)
        self._one_piece(edges)
        planes = [self._plane(n, face) for n, face in enumerate(self.faces, start=1)]
        # six times the volume: every face is seen from the first corner
        origin = self.corners[0]
        volume = sum(_dot(normal, _less(point, origin)) for normal, point in planes)
        if volume < 0:
            raise ValueError("all faces look inwards: list the corners of each anticlockwise as seen from outside")
        if volume == 0:
            raise ValueError("the faces enclose nothing")
        self._not_run_through(edges, planes)
        return self

    def _corners_fit(self) -> None:
        place: dict[Point, int] = {}
        for n, corner in enumerate(self.corners, start=1):
            if corner in place:
                raise ValueError(f"corners {place[corner]} and {n} are at the same place: list it once")
            place[corner] = n
        same: dict[frozenset[int], int] = {}
        for n, face in enumerate(self.faces, start=1):
            if max(face) > len(self.corners):
                raise ValueError(f"face {n} names corner {max(face)}, but there are {len(self.corners)} corners")
            if len(set(face)) < len(face):
                twice = next(k for k in face if face.count(k) > 1)
                raise ValueError(f"face {n} names corner {twice} twice")
            if frozenset(face) in same:
                raise ValueError(f"faces {same[frozenset(face)]} and {n} have the same corners: list it once")
            same[frozenset(face)] = n
        if unused := sorted(set(place.values()).difference(*self.faces)):
            raise ValueError(f"corner {unused[0]} belongs to no face")

    def _edges(self) -> dict[Edge, list[tuple[int, bool]]]:
        """The two faces at each edge (lower corner first), with the way that each runs along it."""
        edges: dict[Edge, list[tuple[int, bool]]] = defaultdict(list)
        for n, face in enumerate(self.faces, start=1):
            for a, b in zip(face, (*face[1:], face[0]), strict=True):
                edges[min(a, b), max(a, b)].append((n, a < b))
        for (a, b), met in edges.items():
            if len(met) == 1:
                raise ValueError(f"face {met[0][0]} has no neighbour at its edge from corner {a} to corner {b}: a face is missing there")
            if len(met) > 2:
                numbers = ", ".join(str(n) for n, _ in met)
                raise ValueError(f"faces {numbers} meet at the edge from corner {a} to corner {b}: two must, not {len(met)}")
        return edges

    def _turned(self, edges: dict[Edge, list[tuple[int, bool]]]) -> None:
        wrong: dict[int, int] = defaultdict(int)
        for (one, way), (other, other_way) in edges.values():
            if way == other_way:
                wrong[one] += 1
                wrong[other] += 1
        if wrong:
            n = max(wrong, key=lambda k: wrong[k] / len(self.faces[k - 1]))
            raise ValueError(f"face {n} is turned round against its neighbours: list its corners anticlockwise as seen from outside")

    def _one_piece(self, edges: dict[Edge, list[tuple[int, bool]]]) -> None:
        neighbours: dict[int, set[int]] = defaultdict(set)
        for (one, _), (other, _) in edges.values():
            neighbours[one].add(other)
            neighbours[other].add(one)
        reached, new = {1}, {1}
        while new:
            new = set().union(*(neighbours[n] for n in new)) - reached
            reached |= new
        if apart := sorted(set(neighbours) - reached):
            raise ValueError(f"face {apart[0]} does not hang together with face 1: what stands inside is entered under minus")

    def _plane(self, n: int, face: tuple[int, ...]) -> tuple[Vector, Vector]:
        """Normal of a face, of twice its area, outwards, and the mean of its corners."""
        points = [self.corners[k - 1] for k in face]
        middle = tuple(sum(p[i] for p in points) / len(points) for i in range(3))
        point = (middle[0], middle[1], middle[2])
        normal: Vector = (0.0, 0.0, 0.0)
        for p, q in zip(points, (*points[1:], points[0]), strict=True):
            x = _cross(_less(p, point), _less(q, point))
            normal = (normal[0] + x[0], normal[1] + x[1], normal[2] + x[2])
        size = _dot(normal, normal) ** 0.5
        longest = max(_dot(_less(p, q), _less(p, q)) for p, q in combinations(points, 2))
        if size <= 1e-9 * longest:
            raise ValueError(f"face {n} has no area: its corners lie on a line")
        off = [abs(_dot(normal, _less(p, point))) / size for p in points]
        if max(off) > FLAT_MM:
            worst = face[off.index(max(off))]
            raise ValueError(f"face {n} is not flat: corner {worst} lies {max(off):.1f} mm off its plane; split the face in triangles")
        return normal, point

    def _not_run_through(self, edges: dict[Edge, list[tuple[int, bool]]], planes: list[tuple[Vector, Vector]]) -> None:
        for n, (face, (normal, point)) in enumerate(zip(self.faces, planes, strict=True), start=1):
            size = _dot(normal, normal) ** 0.5
            drop = max(range(3), key=lambda i: abs(normal[i]))
            flat = [tuple(self.corners[k - 1][i] for i in range(3) if i != drop) for k in face]
            side = [_dot(normal, _less(p, point)) / size for p in self.corners]
            for a, b in edges:
                low, high = sorted((side[a - 1], side[b - 1]))
                if a in face or b in face or not low < -FLAT_MM < FLAT_MM < high:
                    continue
                p, q = self.corners[a - 1], self.corners[b - 1]
                share = side[a - 1] / (side[a - 1] - side[b - 1])
                x, y = (p[i] + share * (q[i] - p[i]) for i in range(3) if i != drop)
                if _inside(flat, x, y):
                    raise ValueError(f"the edge from corner {a} to corner {b} runs through face {n}")


def _less(p: Vector, q: Vector) -> Vector:
    return p[0] - q[0], p[1] - q[1], p[2] - q[2]


def _dot(p: Vector, q: Vector) -> float:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


def _cross(p: Vector, q: Vector) -> Vector:
    return p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]


def _inside(ring: list[tuple[float, ...]], x: float, y: float) -> bool:
    """Whether a point lies in a polygon, by the number of edges that a ray from it meets."""
    found = False
    for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
            found = not found
    return found
