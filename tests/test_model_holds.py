"""What cannot fit is refused by name with its limit: a pour, a depth, a shot. The limits are ours (common practice, no source)."""

import pytest

from fluidapp.errors import OutOfRange
from fluidapp.model import Bath, Capacities, Compartment, Fill, GreasePoint, Gun
from fluidapp.model.holds import check_depth, check_litres, check_shot, most_l, outer_l


def part(**fields) -> Compartment:
    return Compartment.model_validate({"key": "c", "label": "Tank", "kind": "hydraulic tank", **fields})


BOX = {"shape": "box", "length": 1000.0, "width": 400.0, "height": 600.0}  # 240 L


@pytest.mark.parametrize(
    ("fields", "most"),
    [
        ({}, None),
        ({"body": BOX}, 720.0),  # three tanks, where the system is not entered
        ({"body": BOX, "capacities": Capacities(system_l=400.0)}, 800.0),  # typical: twice
        ({"body": BOX, "capacities": Capacities(system_l=400.0, source="plate")}, 500.0),  # known: a quarter more
        ({"kind": "final drive", "body": BOX}, 240.0),
        ({"kind": "slewing gearbox", "fill": Fill(litres=6.0, reading=45.0, source="poured")}, 7.5),
        ({"kind": "gear case", "table": [[0.0, 0.0], [200.0, 20.0]]}, 25.0),
    ],
)
def test_one_pour_is_bounded_by_what_is_known_of_the_compartment(fields, most) -> None:
    assert most_l(part(**fields)) == most


def test_9999_litres_into_a_tank_of_240_are_refused_with_the_limit_and_the_fix() -> None:
    with pytest.raises(OutOfRange) as caught:
        check_litres(part(body=BOX), 9999.0, "poured")
    assert str(caught.value) == (
        "poured: 9999 L is above 720 L. No more fits in or comes out (Tank): check the litres, or correct what it holds on Machines."
    )
    assert check_litres(part(body=BOX), 720.0) == 720.0
    assert check_litres(part(), 9999.0) == 9999.0  # nothing is claimed about what was not entered


@pytest.mark.parametrize(
    ("body", "least", "most"),
    [
        ({"shape": "upright", "diameter": 1000.0, "height": 100.0, "top_head": "ellipsoidal 2:1"}, 78.5 + 130.9, 600.0),
        ({"shape": "horizontal cylinder", "diameter": 600.0, "length": 1200.0}, 339.3, 432.0),
        ({"shape": "cone", "bottom_diameter": 0.0, "top_diameter": 1000.0, "height": 1000.0}, 261.8, 1000.0),
        ({"shape": "sphere", "diameter": 1000.0}, 523.6, 1000.0),
        ({"shape": "sloped floor", "length": 1000.0, "width": 1000.0, "height": 1000.0, "rise_forward": 500.0}, 750.0, 1000.0),
        ({"shape": "hopper", "length": 1000.0, "width": 1000.0, "height": 900.0, "bottom_length": 0.0, "bottom_width": 0.0}, 300.0, 900.0),
        (
            {"shape": "section", "length": 1000.0, "outline": [{"to": [500, 0], "radius": 500.0}, {"to": [-500, 0], "radius": 500.0}]},
            785.4,
            1e4,
        ),
        ({"shape": "obround", "length": 1000.0, "width": 500.0, "height": 500.0}, 196.3, 250.0),
    ],
    ids=lambda body: body.get("shape", "") if isinstance(body, dict) else "",
)
def test_the_box_round_a_shape_never_holds_less_than_the_shape(body, least, most) -> None:
    # least: the volume of the solid by its school formula
    assert least <= outer_l(part(body=body).body) <= most


def test_a_depth_that_no_bath_has_is_refused() -> None:
    known = Bath(key="bath", label="Grease bath", area_l_per_mm=0.5, depth_max_mm=66.0)
    with pytest.raises(OutOfRange, match=r"depth: 9999 mm is above 198 mm\. So much does not fit into the bath \(Grease bath\)"):
        check_depth(known, 9999.0)
    assert check_depth(known, 120.0) == 120.0  # over the pinion is a finding, not a slip
    with pytest.raises(OutOfRange, match="is above 500 mm"):
        check_depth(Bath(key="b", label="B", area_l_per_mm=0.5), 501.0)


POINT = GreasePoint(key="ring", label="Slewing ring", kind="slew race", limit_h=100.0, dose_g=40.0, cap_g=60.0)


@pytest.mark.parametrize(
    ("given", "gun", "said"),
    [
        ({"seconds": 9999.0}, Gun(key="p", label="Power gun", feed="power", g_per_min=90.0), "seconds: 9999 s is above 400 s."),
        ({"seconds": 9999.0}, None, "seconds: 9999 s is above 3000 s."),
        ({"strokes": 601.0}, Gun(key="h", label="Hand gun", g_per_stroke=1.0), "strokes: 601 is above 600."),
        ({"strokes": 1201.0}, None, "strokes: 1201 is above 1200."),
        ({"mass_g": 600.5}, None, "grams: 600.5 g is above 600 g."),
    ],
)
def test_a_shot_of_more_than_ten_caps_is_refused_in_what_was_counted(given, gun, said) -> None:
    shot = {"strokes": None, "seconds": None, "mass_g": None} | given
    with pytest.raises(OutOfRange) as caught:
        check_shot(POINT, gun=gun, **shot)
    assert str(caught.value).startswith(said)
    assert "ten times what one nipple may get (Slewing ring)" in str(caught.value)
    check_shot(POINT, gun=gun, **{name: value and value / 30 for name, value in shot.items()})
