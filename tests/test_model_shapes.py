"""Shapes from a file: what does not fit is refused with file, machine, compartment, field and limit; faces must close."""

import re
from pathlib import Path
from typing import get_args

import pytest

from fluidapp.calc import bodies
from fluidapp.errors import FileProblem
from fluidapp.model import Machine, Mesh, Solid, from_toml, to_toml
from fluidapp.screens._form_words import MACHINE, SHAPE_NAMES

UPRIGHT = 'shape = "upright", diameter = 600, height = 900'
LYING = 'shape = "horizontal cylinder", diameter = 600, length = 900'
HOPPER = 'shape = "hopper", length = 900, width = 600, height = 500'
CORNERS = [[0, 0, 0], [900, 0, 0], [900, 600, 0], [0, 600, 0], [0, 0, 500], [900, 0, 500], [900, 600, 500], [0, 600, 500]]
FACES = [[1, 4, 3, 2], [5, 6, 7, 8], [1, 2, 6, 5], [2, 3, 7, 6], [3, 4, 8, 7], [4, 1, 5, 8]]


def machine(body: str) -> Machine:
    text = (
        f'key = "ex-1"\nlabel = "Excavator"\n[[compartments]]\nkey = "tank"\nlabel = "Tank"\nkind = "hydraulic tank"\nbody = {{ {body} }}\n'
    )
    return from_toml(text, "pit.toml", Machine)


def faces(corners=None, faces=None):
    return machine(f'shape = "mesh", corners = {corners or CORNERS}, faces = {faces or FACES}')


@pytest.mark.parametrize(
    "body",
    [
        f'{UPRIGHT}, bottom_head = "conical", bottom_depth = 150, top_head = "torispherical", dish = 0.8, knuckle = 0.1, at = [1, 2, 3]',
        f'{LYING}, heads = "ellipsoidal", head_depth = 90',
        'shape = "cone", bottom_diameter = 0, top_diameter = 600, height = 700, walls = 300',
        'shape = "sphere", diameter = 600, at = [1, 2, 3]',
        f"{HOPPER}, bottom_length = 300, bottom_width = 0, walls = 200",
        'shape = "sloped floor", length = 900, width = 600, height = 500, rise_forward = -100, rise_left = 400',
        f'shape = "mesh", corners = {CORNERS}, faces = {FACES}, at = [1, 2, 3]',
    ],
)
def test_a_shape_goes_into_a_file_and_comes_back_the_same(body):
    one = machine(body)
    assert from_toml(to_toml(one), "out.toml", Machine) == one


@pytest.mark.parametrize(
    ("body", "named"),
    [
        (f'{UPRIGHT}, bottom_head = "conical"', ["bottom_depth is missing", "conical"]),
        (f'{UPRIGHT}, top_head = "spherical", top_depth = 301', ["top_depth 301 mm", "half the diameter, 300 mm"]),
        (f"{UPRIGHT}, bottom_depth = 50", ["bottom_depth 50 mm", "flat"]),
        (f'{UPRIGHT}, bottom_head = "torispherical", knuckle = 0.6', ["knuckle 0.6", "at most 0.5"]),
        (f'{UPRIGHT}, top_head = "torispherical", dish = 0.4', ["dish 0.4", "at least 0.5"]),
        (f'{UPRIGHT}, top_head = "pointed"', ["top_head", "pointed", "conical"]),
        (f'{LYING}, heads = "ellipsoidal"', ["head_depth is missing", "ellipsoidal"]),
        (f'{LYING}, heads = "ellipsoidal 2:1", head_depth = 80', ["head_depth 80 mm", "ellipsoidal 2:1"]),
        ('shape = "cone", bottom_diameter = 0, top_diameter = 0, height = 700', ["both 0 mm"]),
        ('shape = "cone", bottom_diameter = 600, top_diameter = 0, height = 700, walls = 100', ["walls 100 mm", "top_diameter"]),
        ('shape = "cone", bottom_diameter = 6, top_diameter = 600, height = 700, walls = 700', ["walls 700 mm", "height 700 mm"]),
        ('shape = "cone", bottom_diameter = -6, top_diameter = 600, height = 700', ["bottom_diameter", "greater than or equal to 0", "-6"]),
        ('shape = "sphere", diameter = 0', ["diameter", "greater than 0"]),
        (f"{HOPPER}, bottom_length = 300", ["bottom_width", "missing"]),
        (f"{HOPPER}, bottom_length = 300, bottom_width = 200, walls = 600", ["walls 600 mm", "height 500 mm"]),
        (
            'shape = "sloped floor", length = 900, width = 600, height = 500, rise_forward = 300, rise_left = -201',
            ["rises by 501 mm", "height of 500 mm"],
        ),
    ],
)
def test_measures_that_make_no_tank_are_refused_with_file_machine_field_and_limit(body, named):
    with pytest.raises(FileProblem) as refused:
        machine(body)
    for name in ("pit.toml", "“ex-1”", "“tank”", "body", *named):
        assert name in str(refused.value), str(refused.value)


def replaced(faces, number, becomes):
    return [*faces[: number - 1], *becomes, *faces[number:]]


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ({"faces": replaced(FACES, 4, [])}, "face 1 has no neighbour at its edge from corner 2 to corner 3: a face is missing there"),
        ({"faces": replaced(FACES, 3, [[5, 6, 2, 1]])}, "face 3 is turned round against its neighbours"),
        ({"faces": [face[::-1] for face in FACES]}, "all faces look inwards"),
        ({"faces": replaced(FACES, 6, [[4, 1, 5, 9]])}, "face 6 names corner 9, but there are 8 corners"),
        ({"faces": replaced(FACES, 6, [[4, 1, 4, 8]])}, "face 6 names corner 4 twice"),
        ({"faces": [*FACES, [2, 3, 7, 6]]}, "faces 4 and 7 have the same corners"),
        ({"faces": [*FACES, [1, 2, 7]]}, "faces 1, 3, 7 meet at the edge from corner 1 to corner 2: two must, not 3"),
        ({"corners": [*CORNERS, [1, 1, 1]]}, "corner 9 belongs to no face"),
        ({"corners": [*CORNERS, [900, 0, 0]]}, "corners 2 and 9 are at the same place"),
        ({"corners": [*CORNERS[:6], [900, 600, 520], CORNERS[7]]}, "face 2 is not flat: corner"),
    ],
)
def test_faces_that_do_not_close_are_refused_by_their_number(given, named):
    with pytest.raises(FileProblem) as refused:
        faces(**given)
    for name in ("pit.toml", "“ex-1”", "“tank”", "body", named):
        assert name in str(refused.value), str(refused.value)


def test_an_edge_that_runs_through_a_face_is_refused():
    """A box whose roof has a dent, pressed down by a corner until it comes out through the floor."""
    corners = [*CORNERS, [450, 300, -100]]
    roof = [[5, 6, 9], [6, 7, 9], [7, 8, 9], [8, 5, 9]]
    with pytest.raises(FileProblem, match="runs through face 1"):
        faces(corners, replaced(FACES, 2, roof))
    dented = [*CORNERS, [450, 300, 100]]
    assert isinstance(faces(dented, replaced(FACES, 2, roof)).compartment("tank").body, Mesh)


def test_two_bodies_are_no_tank():
    other = [[x + 2000, y, z] for x, y, z in CORNERS]
    with pytest.raises(FileProblem, match="face 7 does not hang together with face 1"):
        faces([*CORNERS, *other], [*FACES, *([k + 8 for k in face] for face in FACES)])


def test_a_face_without_area_is_refused():
    """Its corners lie on the upper rim of one wall."""
    corners = [*CORNERS, [450, 0, 500]]
    sides = replaced(FACES, 3, [[1, 2, 6, 5], [5, 6, 9]])
    with pytest.raises(FileProblem, match="face 4 has no area"):
        faces(corners, replaced(sides, 2, [[5, 9, 6, 7, 8]]))


def test_a_taped_face_may_be_off_by_its_rounding():
    corners = [*CORNERS[:6], [900, 600, 501], CORNERS[7]]
    assert isinstance(faces(corners).compartment("tank").body, Mesh)


def guide(root: Path) -> str:
    return (root / "fluidapp" / "guide" / "15-shapes.md").read_text(encoding="utf-8")


def test_the_faces_in_the_guide_hold_what_it_says(root):
    (block,) = re.findall(r"```toml\n(.*?)```", guide(root), re.DOTALL)
    litres = float(re.findall(r": (\d+) L", block)[0])
    text = f'key = "a"\nlabel = "A"\n[[compartments]]\nkey = "t"\nlabel = "T"\nkind = "other"\n{block}'
    body = from_toml(text, "guide", Machine).compartment("t").body
    assert bodies.part(body).total == pytest.approx(litres)
    assert litres == (8 + 4) / 2 * 5 * 6  # trapezoid, by hand


def test_every_shape_has_its_name_on_the_form_its_words_and_its_line_in_the_guide(root):
    tags = [get_args(one.model_fields["shape"].annotation)[0] for one in get_args(Solid)]
    assert set(tags) == set(SHAPE_NAMES)
    for one, tag in zip(get_args(Solid), tags, strict=True):
        assert MACHINE[tag] is MACHINE[one.__name__]
        assert SHAPE_NAMES[tag].removesuffix(", from its file") in guide(root)
