"""Tasks and their intervals in a machine's file, and the typical ones to begin with."""

import pytest

from fluidapp.errors import FileProblem
from fluidapp.model import Machine, from_toml, to_toml, typical

FILE = """
key = "ex"
label = "Ex"
conditions = ["dust"]

[[compartments]]
key = "slew"
label = "Slewing gearbox"
kind = "slewing gearbox"
capacities = { refill_l = 6.0 }

[[tasks]]
key = "slew-change"
label = "slewing gearbox oil change"
kind = "change"
at = "slew"
first_h = 150.0
repeat_h = 800.0
shorter = [{ condition = "dust", factor = 0.5 }]
"""


def read(text: str) -> Machine:
    return from_toml(text, "ex.toml", Machine)


def test_a_file_with_tasks_comes_back_the_same() -> None:
    machine = read(FILE)
    assert machine.tasks[0].shorter[0].source == "typical: common practice, no source"
    assert read(to_toml(machine)) == machine


@pytest.mark.parametrize(
    ("was", "becomes", "said"),
    [
        ('at = "slew"', 'at = "slow"', "the task “slew-change” is at “slow”, which is not on this machine; there are slew"),
        ('at = "slew"', "", "a change needs a place"),
        ("first_h = 150.0\nrepeat_h = 800.0", "", "give repeat_h or repeat_days, or first_h or first_days"),
        ("repeat_h = 800.0", "repeat_h = 0.0", "tasks › “slew-change” › repeat_h: input should be greater than 0"),
        ("repeat_h = 800.0", 'repeat_h = "800"', "tasks › “slew-change” › repeat_h"),
        ("repeat_h", "every_h", "tasks › “slew-change” › every_h: there is no such field"),
        ("factor = 0.5", "factor = 1.5", "factor"),
        ('kind = "change"', 'kind = "swap"', "kind"),
        ('conditions = ["dust"]', 'conditions = ["dusty"]', "the condition “dusty” shortens none of the tasks; they name dust"),
        ("factor = 0.5 }", 'factor = 0.5 }, { condition = "dust", factor = 0.4 }', "“dust” is given twice"),
    ],
)
def test_a_task_that_does_not_fit_is_refused_by_name(was: str, becomes: str, said: str) -> None:
    assert was in FILE
    with pytest.raises(FileProblem, match=r"ex\.toml") as err:
        read(FILE.replace(was, becomes))
    assert said in str(err.value)


def test_two_tasks_of_one_key_are_refused() -> None:
    with pytest.raises(FileProblem, match="two tasks have the key “slew-change”"):
        read(FILE + FILE[FILE.index("[[tasks]]") :])


def test_a_compartment_goes_with_its_tasks_and_the_conditions_that_only_they_name() -> None:
    left = read(FILE).without("slew")
    assert (left.compartments, left.tasks, left.conditions) == ((), (), ())
    assert Machine.model_validate(left.model_dump()) == left


@pytest.mark.parametrize("size", typical.SIZES)
def test_every_typical_machine_has_tasks_that_say_where_their_figures_come_from(size: str) -> None:
    machine = typical.machine(size, "ex", "Ex")
    assert Machine.model_validate(machine.model_dump()) == machine
    assert all(task.typical and all(s.source.startswith("typical") for s in task.shorter) for task in machine.tasks)
    changed = {task.at for task in machine.tasks if task.kind == "change"}
    assert changed == {c.key for c in machine.compartments if c.grease_packed_kg is None}


def test_the_slewing_gearbox_is_changed_150_h_after_a_reseal_then_every_800_h() -> None:
    task = next(t for t in typical.machine("20 t excavator", "ex", "Ex").tasks if t.key == "slew-gearbox-change")
    assert (task.first_h, task.repeat_h) == (150.0, 800.0)
    assert "common practice, no source" in task.source
