"""What to check next."""

import numpy as np
import pytest

from fluidapp.calc.balance import advise, next_check, rank, ranking
from fluidapp.errors import BadInput, OutOfRange

TANK_ONLY = (["T"], np.array([-6.0]), np.array([[1.44]]))


def tied(*args):
    return [s for s in rank(*args) if s.tie == 0 and s.repeats is None]


def test_gearbox_before_bath_when_only_the_tank_was_read():
    """Five ties of 0.2: four pairs 6 L apart at the gearbox, six at the bath: 4 x 0.04 x 12^2 and 6 x 0.04 x 4^2 (computed by us)."""
    got = dict(next_check(tied(*TANK_ONLY), {"B": 1.5, "G": 0.5}))
    assert got["G"] == pytest.approx(4 * 0.04 * 144, rel=1e-6)
    assert got["B"] == pytest.approx(6 * 0.04 * 16, rel=1e-6)
    assert advise(ranking(*TANK_ONLY), {"B": 1.5, "G": 0.5}).node == "G"


def test_a_better_stick_makes_a_compartment_more_telling():
    stories = tied(*TANK_ONLY)
    assert dict(next_check(stories, {"G": 0.25}))["G"] == pytest.approx(4 * dict(next_check(stories, {"G": 0.5}))["G"])


def test_no_level_tells_apart_what_changes_the_same_everywhere():
    """T>G 5.1 + T>E 0.9 and T>G 6.0 + G>E 0.9."""
    all_of = rank(["T", "G", "B"], np.array([-6.0, 5.1, 0.4]), np.diag([1.2, 0.5, 1.5]) ** 2)
    same = [s for s in all_of if s.paths in {("T>G", "T>E"), ("T>G", "G>E")}]
    assert next_check(same, {"T": 1.0, "G": 0.5, "B": 1.5, "E": 0.1}) == [("T", 0.0), ("G", 0.0), ("B", 0.0), ("E", 0.0)]


@pytest.mark.parametrize(
    ("y", "words"),
    [((-6.0, 0.0, 5.5), "smelling of hydraulic oil"), ((0.0, 3.0, 0.0), "milky"), ((-8.0, 5.1, 0.4), "which joint or seal is wet")],
)
def test_a_look_is_asked_for_where_levels_cannot_tell(y, words):
    got = advise(ranking(["T", "G", "B"], np.array(y), np.diag([1.2, 0.5, 1.5]) ** 2), {"E": 0.2})
    assert any(words in look for look in got.looks)


def test_one_clear_story_asks_for_no_look():
    got = ranking(["T", "G", "B"], np.array([0.0, -8.0, 8.0]), np.diag([0.1, 0.1, 0.1]) ** 2)
    assert len(got.leading[0].stories) == 1
    assert got.leading[0].stories[0].paths == ("G>B",)


def test_nodes_that_the_machine_lacks_are_left_out_of_the_advice():
    assert dict(advise(ranking(*TANK_ONLY), {"G": 0.5, "D": 0.3}).scores).keys() == {"G"}


def test_what_cannot_be_scored_is_an_error():
    stories = tied(*TANK_ONLY)
    with pytest.raises(BadInput):
        next_check([], {"G": 0.5})
    with pytest.raises(BadInput):
        next_check(stories, {"D": 0.5})
    with pytest.raises(OutOfRange):
        next_check(stories, {"G": 0.0})
