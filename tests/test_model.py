"""What is typed into a machine's file is checked, and an error says where and why."""

import math

import pydantic
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fluidapp import model
from fluidapp.errors import FileProblem, Unknown
from fluidapp.model import Machine, from_toml

GOOD = """
key = "ex-1"
label = "Excavator 1"
class_t = 20

[[cylinders]]
name = "boom"
count = 2
rod = 85
stroke = 1290

[[compartments]]
key = "tank"
label = "Hydraulic tank"
kind = "hydraulic tank"
body = { shape = "box", length = 1200, width = 700, height = 600 }
[[compartments.gauges]]
name = "glass"
kind = "sight glass"
at = [1200, 200, 80]
end_mm = 400
bands = [{ low = 150, high = 250, temp_low_c = 50, temp_high_c = 80 }]

[[compartments]]
key = "swing"
label = "Slewing gearbox"
kind = "slewing gearbox"
table = [[0, 0], [50, 2.5], [100, 5.5]]
[[compartments.gauges]]
name = "stick"
kind = "stick"
tip = [0, 0, 0]

[[baths]]
key = "bath"
label = "Grease bath"
outer_mm = 500
inner_mm = 400
linked = ["swing"]

[[grease_points]]
key = "race"
label = "Ring race"
kind = "slew race"
limit_h = 50
"""


def read(was: str = "", becomes: str = "", text: str = GOOD) -> Machine:
    assert text.count(was) == 1 or not was
    return from_toml(text.replace(was, becomes) if was else text, "pit.toml", Machine)


def test_a_plug_counts_downwards_so_a_pour_makes_its_reading_smaller():
    was = TABLE, 'kind = "stick"\ntip = [0, 0, 0]'
    for before, after in ((30, 20), (20, 30)):
        text = GOOD.replace(was[0], poured(0.5, before, after)).replace(was[1], 'kind = "level plug"')
        assert text != GOOD
        if before > after:
            assert read(text=text).compartment("swing").pours[0].after == after
        else:
            with pytest.raises(FileProblem, match="swapped"):
                read(text=text)


def test_the_good_file_reads_as_written():
    machine = read()
    glass = machine.compartment("tank").gauge()
    assert (glass.name, glass.at, glass.bands[0].aim_mm, glass.bands[0].mark_c) == ("glass", (1200.0, 200.0, 80.0), 200.0, 65.0)
    assert machine.compartment("swing").table == ((0.0, 0.0), (50.0, 2.5), (100.0, 5.5))
    assert machine.cylinders[0].count == 2
    assert machine.bath().linked == ("swing",)


TWICE = 'name = "stick"\nkind = "stick"\n[[compartments.gauges]]\nname = "stick"'
MINUS = "minus = [{ volume = 5, bottom = 1, top = 2 }]"

TABLE = "table = [[0, 0], [50, 2.5], [100, 5.5]]"


def poured(add: float, before: float, after: float, gauge: str = "stick") -> str:
    return f'pours = [{{ add = {add}, before = {before}, after = {after}, gauge = "{gauge}" }}]'


# fact, what is changed, what every such error must name
WRONG = [
    ("quoted_number", "class_t = 20", 'class_t = "20"', ["“ex-1”", "class_t", "number", "'20'"]),
    ("true_for_a_number", "class_t = 20", "class_t = true", ["“ex-1”", "class_t", "number"]),
    ("not_a_number", "class_t = 20", "class_t = nan", ["“ex-1”", "class_t", "finite"]),
    ("infinite", "class_t = 20", "class_t = inf", ["“ex-1”", "class_t", "finite"]),
    ("unknown_field", "class_t = 20", "clas_t = 20", ["“ex-1”", "clas_t", "no such field"]),
    ("negative_size", "width = 700", "width = -700", ["“ex-1”", "“tank”", "body", "width", "greater than 0", "-700"]),
    ("no_size", "width = 700, ", "", ["“ex-1”", "“tank”", "body", "width", "missing"]),
    ("corner_too_round", "width = 700", "width = 700, corner = 400", ["“tank”", "body", "corner 400 mm", "700 mm"]),
    ("rod_thicker_than_bore", "rod = 85", "rod = 85\nbore = 80", ["“ex-1”", "“boom”", "rod 85 mm", "bore 80 mm"]),
    ("ref_beyond_stroke", "rod = 85", "rod = 85\nref = 1291", ["“boom”", "ref 1291 mm", "1290 mm"]),
    ("half_a_cylinder", "count = 2", "count = 1.5", ["“boom”", "count", "integer", "1.5"]),
    ("unknown_kind_of_gauge", "sight glass", "mirror", ["“ex-1”", "“tank”", "“glass”", "kind", "mirror", "level plug"]),
    ("unknown_shape", '"box"', '"barrel"', ["“tank”", "body", "shape", "barrel", "horizontal cylinder"]),
    ("no_shape", 'shape = "box", ', "", ["“tank”", "body", "shape", "horizontal cylinder"]),
    ("place_of_two_numbers", "[1200, 200, 80]", "[1200, 200]", ["“tank”", "“glass”", "at", "no. 3"]),
    ("high_mark_below_low", "high = 250", "high = 150", ["“tank”", "“glass”", "bands", "high 150 mm", "low 150 mm"]),
    ("target_outside_marks", "high = 250", "high = 250, target = 251", ["“glass”", "251 mm", "150 to 250 mm"]),
    ("warm_below_cold", "temp_high_c = 80", "temp_high_c = 40", ["“glass”", "40", "50"]),
    ("two_gauges_of_one_name", 'name = "stick"', TWICE, ["“swing”", "two gauges"]),
    ("two_things_of_one_key", 'key = "bath"', 'key = "swing"', ["“ex-1”", "“swing”", "twice"]),
    ("key_with_a_space", 'key = "tank"', 'key = "Tank 1"', ["“ex-1”", "key", "Tank 1", "small letters"]),
    ("gauge_without_litres", "table = [[0, 0], [50, 2.5], [100, 5.5]]", "", ["“swing”", "table", "pours"]),
    ("minus_without_body", "table = [[0, 0], [50, 2.5], [100, 5.5]]", "table = [[0, 0], [9, 9]]\n" + MINUS, ["“swing”", "minus", "body"]),
    ("pour_of_nothing", TABLE, poured(0, 30, 40), ["“swing”", "pours", "0 L", "tells nothing"]),
    ("pour_that_moves_nothing", TABLE, poured(2, 30, 30), ["“swing”", "pours", "30 before and after", "did not move"]),
    ("pour_that_sinks", TABLE, poured(2, 40, 30), ["“swing”", "pour 1", "2 L", "from 40 to 30", "swapped"]),
    ("drain_that_rises", TABLE, poured(-2, 30, 40), ["“swing”", "pour 1", "-2 L", "from 30 to 40", "swapped"]),
    ("pour_on_an_unknown_gauge", TABLE, poured(2, 30, 40, "glass"), ["“swing”", "pour 1", "“glass”"]),
    ("bath_inside_out", "inner_mm = 400", "inner_mm = 600", ["“bath”", "inner_mm 600", "outer_mm 500"]),
    ("bath_of_one_radius", "inner_mm = 400", "", ["“bath”", "outer_mm and inner_mm"]),
    ("limit_of_no_hours", "limit_h = 50", "limit_h = 0", ["“race”", "limit_h", "greater than 0"]),
]  # fmt: skip


@pytest.mark.parametrize(("was", "becomes", "named"), [w[1:] for w in WRONG], ids=[w[0] for w in WRONG])
def test_an_error_in_a_file_names_file_record_field_and_limit(was, becomes, named):
    with pytest.raises(FileProblem) as refused:
        read(was, becomes)
    words = str(refused.value)
    assert refused.value.file == "pit.toml"
    for name in ("pit.toml", *named):
        assert name in words, words
    assert "\n" not in words
    assert len(words) < 300


def test_several_errors_are_counted():
    with pytest.raises(FileProblem, match=r"Correct this field\. 1 more after it\."):
        read(text=GOOD.replace("rod = 85", "rod = -85").replace("limit_h = 50", "limit_h = 0"))


@pytest.mark.parametrize("text", ["", "  \n\t\n"])
def test_an_empty_file_is_called_empty(text):
    with pytest.raises(FileProblem, match=r"pit\.toml: the file is empty"):
        read(text=text)


def test_a_decimal_comma_in_a_file_is_refused_with_its_line():
    with pytest.raises(FileProblem, match=r"pit\.toml: this is not valid TOML \(.*line 4.*\)\. Numbers take a decimal point"):
        read("class_t = 20", "class_t = 20,5")


def test_a_syntax_error_names_its_line():
    with pytest.raises(FileProblem, match="line 13"):
        read('key = "tank"', "key = ")


@pytest.mark.parametrize("depth", [200, 5000, 100_000])
def test_deep_nesting_is_refused_and_does_not_crash(depth):
    with pytest.raises(FileProblem, match=r"pit\.toml"):
        read("class_t = 20", "class_t = " + "[" * depth + "]" * depth)


def test_a_record_in_a_table_of_its_own_is_found_and_its_absence_named():
    text = '[site]\nkey = "quarry"\nlabel = "Quarry"\n'
    assert from_toml(text, "q.toml", model.Site, "site").label == "Quarry"
    with pytest.raises(FileProblem, match=r"q\.toml: there is no \[pit\]"):
        from_toml(text, "q.toml", model.Site, "pit")


@pytest.mark.parametrize("text", ["machine = 3", '[[machine]]\nkey = "a"'])
def test_something_else_in_the_place_of_a_table_is_refused(text):
    with pytest.raises(FileProblem, match=r"pit\.toml.*table"):
        from_toml(text, "pit.toml", Machine, "machine")


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(max_size=5),
        lambda x: (
            st.lists(x, max_size=3)
            | st.dictionaries(st.sampled_from(["key", "label", "kind", "compartments", "gauges", "body", "x"]), x, max_size=4)
        ),
        max_leaves=15,
    )
)
@settings(max_examples=150)
def test_any_document_is_a_machine_or_a_named_problem(doc):
    try:
        assert isinstance(model.checked(doc, "pit.toml", Machine), Machine)
    except FileProblem as err:
        words = str(err)
    else:
        words = "pit.toml"
    assert words.startswith("pit.toml")


def test_a_record_cannot_be_changed():
    machine = read()
    with pytest.raises(pydantic.ValidationError, match="frozen"):
        machine.label = "other"
    with pytest.raises(pydantic.ValidationError, match="frozen"):
        machine.compartments[0].body.length = 1.0


def test_a_machine_survives_json_and_is_equal_and_hashes_alike():
    machine = read()
    again = Machine.model_validate_json(machine.model_dump_json())
    assert again == machine
    assert hash(again.compartment("tank")) == hash(machine.compartment("tank"))


def test_every_shape_and_gauge_survives_json():
    text = """
key = "all"
label = "All"
[[compartments]]
key = "a"
label = "A"
kind = "other"
minus = [{ volume = 5, bottom = 1, top = 2 }, { shape = "upright", diameter = 10, height = 20 }]
pours = [{ add = 20, before = 0, after = 57 }]
fill = { litres = 8.5, reading = 100 }
gauges = [
  { name = "a", kind = "stick", tip = [1, 2, 3], angle = 25, toward = 90 },
  { name = "b", kind = "percent", of = "capacity" },
  { name = "c", kind = "level plug", at = [0, 0, 9] },
]
[compartments.body]
shape = "section"
length = 500
outline = [{ to = [0, 0] }, { to = [300, 0] }, { to = [300, 200], radius = 150 }, { to = [0, 200] }]
[[compartments]]
key = "b"
label = "B"
kind = "other"
body = { shape = "horizontal cylinder", diameter = 600, length = 1200, heads = "conical", head_depth = 90 }
[[compartments]]
key = "c"
label = "C"
kind = "other"
body = { shape = "obround", length = 600, width = 300, height = 200, axis = "y" }
[[compartments]]
key = "d"
label = "D"
kind = "other"
body = { shape = "elliptical", length = 600, width = 300, height = 200, axis = "z" }
"""
    machine = from_toml(text, "all.toml", Machine)
    assert Machine.model_validate_json(machine.model_dump_json()) == machine
    assert [type(g).__name__ for g in machine.compartment("a").gauges] == ["Stick", "Percent", "LevelPlug"]
    assert type(machine.compartment("a").minus[0]).__name__ == "Deadwood"


def test_a_final_drive_stays_with_the_undercarriage_unless_its_file_says_otherwise():
    text = 'key = "a"\nlabel = "A"\n[[compartments]]\nkey = "f"\nlabel = "F"\nkind = "final drive"\n'
    assert read(text=text).compartment("f").on == "undercarriage"
    assert read(text=text + 'on = "upper structure"').compartment("f").on == "upper structure"
    assert read(text=text.replace("final drive", "gear case")).compartment("f").on == "upper structure"


def test_an_unknown_name_lists_the_known_ones():
    machine = read()
    for ask in (machine.compartment, machine.bath, machine.grease_point, machine.compartment("tank").gauge):
        with pytest.raises(Unknown, match="“nowhere” is not known"):
            ask("nowhere")
    with pytest.raises(Unknown, match="tank, swing"):
        machine.compartment("x")
    with pytest.raises(Unknown, match="none yet"):
        read(text='key = "a"\nlabel = "A"').bath()


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"level": math.nan},
        {"level": "212"},
        {"level": 212.0, "temp_c": 400.0},
        {"level": 212.0, "temp_c": -70.0},
        {"level": 212.0, "pitch_deg": 46.0},
        {"level": 212.0, "bound": "about"},
        {"level": 212.0, "u_mm": 0.0},
        {"level": 212.0, "shown_mm": {"boom": "full"}},
    ],
)
def test_a_reading_that_says_nothing_usable_is_refused(fields):
    with pytest.raises(pydantic.ValidationError):
        model.Reading(**fields)


def test_a_one_sided_reading_needs_no_level():
    assert model.Reading(bound="at most").level is None
