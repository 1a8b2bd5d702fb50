"""What a look or an answer does to the stories."""

import numpy as np
import pytest

from fluidapp.calc.balance import kept, ranking, single_ways

TIED = ranking(["T", "G", "B"], np.array([-6.0, 0.0, 5.5]), np.diag([1.2, 0.5, 1.5]) ** 2)


def names(found):
    return {s.paths for s in found.stories}


def test_nothing_removed_changes_nothing():
    assert kept(TIED).stories == TIED.stories
    assert [g.weight for g in kept(TIED).groups] == pytest.approx([g.weight for g in TIED.groups])


def test_a_removed_step_falls_away_inside_chains_too_and_weights_sum_to_one():
    found = kept(TIED, removed=["T>G"])
    assert not any("T>G" in path for paths in names(found) for path in paths)
    assert sum(s.weight for s in found.stories) == pytest.approx(1.0)
    assert found.groups[0].stories[0].paths == ("T>B",)
    assert len(found.groups[0].stories) == 1
    ratio = {s.paths: s.weight for s in TIED.stories}
    left = {s.paths: s.weight for s in found.stories}
    assert left[("T>B",)] / left[()] == pytest.approx(ratio[("T>B",)] / ratio[()])


def test_a_proved_step_leaves_only_stories_with_it():
    found = kept(TIED, needed=["T>G"])
    assert all(any("T>G" in path for path in paths) for paths in names(found))
    assert found.groups[0].stories[0].paths == ("T>G>B",)


def test_a_proved_step_stands_by_itself_though_it_may_not_be_claimed():
    """1.5 ± 1.2 L lost comes down to no leak; seen at the gearbox, the larger stories come down to the proved ones."""
    readings = ranking(["T", "G", "B"], np.array([-1.5, 0.5, 0.0]), np.diag([1.2, 0.5, 1.5]) ** 2)
    assert [s.paths for s in readings.groups[0].stories] == [()]
    found = kept(readings, needed=["T>G"])
    assert [[s.paths for s in g.stories] for g in found.groups] == [[("T>G>E",)], [("T>G",)], [("T>G>B",)]]
    assert sum(g.weight for g in found.groups) == pytest.approx(1.0)
    assert all(s.repeats not in names(found) for g in found.groups for s in g.stories)


def test_stars_stand_for_every_place():
    assert not any(paths and paths[0].startswith("R>") for paths in names(kept(TIED, removed=["R>*"])))
    assert not any(path.endswith(">E") for paths in names(kept(TIED, removed=["*>E"])) for path in paths)


def test_answers_that_contradict_each_other_leave_no_story():
    found = kept(TIED, removed=["T>G"], needed=["T>G"])
    assert found.stories == ()
    assert "contradicts" in found.remarks[0]


def test_letters_stand_for_all_of_a_kind():
    found = ranking(["T", "D1", "D2"], np.array([-3.0, 3.0, 0.0]), np.diag([0.5, 0.3, 0.3]) ** 2, nodes=["T", "D1", "D2"])
    assert not any(">D" in path for paths in names(kept(found, removed=["T>D", "R>D", "W>D"])) for path in paths if path[0] in "TRW")
    assert any("T>D2" in path for paths in names(kept(found, removed=["T>D1"])) for path in paths)


def test_pump_case_and_sump_have_their_ways_and_the_sump_fuel_or_coolant():
    ways = {w[0] for w in single_ways(["T", "P", "S"])}
    assert ways == {"T>E", "T>P", "T>S", "R>T", "R>P", "R>S", "F>S"}
    best = ranking(["T", "S"], np.array([0.0, 1.5]), np.diag([0.8, 0.3]) ** 2, nodes=["T", "S"]).groups[0]
    assert {s.paths for s in best.stories} == {("F>S",), ("R>S",)}
