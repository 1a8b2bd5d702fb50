"""The question guide: order, what answers remove and prove, where it stops. Order and effects: common practice, no source."""

import pytest

from fluidapp.calc import questions
from fluidapp.errors import Unknown
from fluidapp.model import Machine
from fluidapp.model.typical import machine as typical


def excavator() -> Machine:
    return typical("20 t excavator", "ex", "Excavator")


def test_the_order_is_cheapest_first_and_only_of_what_the_machine_has() -> None:
    keys = [q.key for q in questions.questions(excavator())]
    assert keys == ["state", "unwritten", "wet", "drains", "stick-slew-gearbox", "bath-bath", "plug-drive-left", "plug-drive-right"]
    packed = [q.key for q in questions.questions(typical("5 t excavator", "mini", "Mini"))]
    assert not any(key.startswith("stick") for key in packed)


def test_nothing_answered_leaves_every_way_open() -> None:
    found = questions.guide(excavator(), {})
    assert found.next is not None
    assert found.next.key == "state"
    assert any("hydraulic tank → slewing gearbox" in way for way in found.open_ways)
    assert any("water from outside" in way for way in found.open_ways)


def test_each_answer_removes_what_it_rules_out() -> None:
    answers = {"state": "yes", "unwritten": "no", "wet": "dry all round", "drains": "yes"}
    found = questions.guide(excavator(), answers)
    assert not any("nobody wrote down" in way for way in found.open_ways)
    assert not any(way.endswith("outside") for way in found.open_ways)
    more = questions.guide(excavator(), answers | {"stick-slew-gearbox": "at the mark, thick"})
    assert not any("→ slewing gearbox" in way for way in more.open_ways)
    assert any(way.endswith("grease bath") for way in more.open_ways)
    assert set(more.open_ways) < set(found.open_ways)


@pytest.mark.parametrize(
    ("key", "answer", "said"), [("state", "no", "read again"), ("unwritten", "yes", "balance again"), ("drains", "no", "balance again")]
)
def test_three_answers_stop_the_walk(key: str, answer: str, said: str) -> None:
    answers = {"state": "yes", "unwritten": "no", "wet": "dry all round", "drains": "yes"} | {key: answer}
    found = questions.guide(excavator(), answers)
    assert said in found.stopped
    assert found.next is None
    assert [q.key for q, _ in found.answered][-1] == key


def test_answers_behind_a_stop_do_not_count() -> None:
    found = questions.guide(excavator(), {"state": "no", "unwritten": "no"})
    assert found.removed == ()


def test_no_place_found_names_no_part() -> None:
    answers = {
        "state": "yes", "unwritten": "no", "wet": "dry all round", "drains": "yes", "stick-slew-gearbox": "at the mark, thick",
        "bath-bath": "nothing liquid", "plug-drive-left": "at the lip, thick", "plug-drive-right": "at the lip, thick",
    }  # fmt: skip
    found = questions.guide(excavator(), answers)
    assert found.next is None
    assert "no part is named" in found.end
    assert not any(way.startswith("hydraulic tank") for way in found.open_ways)


def test_an_answer_that_is_not_offered_is_refused_with_the_list() -> None:
    with pytest.raises(Unknown, match="dry all round"):
        questions.guide(excavator(), {"state": "yes", "unwritten": "no", "wet": "a bit"})


def test_not_looked_says_nothing() -> None:
    found = questions.guide(excavator(), {"state": "not looked", "unwritten": "not looked"})
    assert (found.removed, found.needed, found.says) == ((), (), ())
