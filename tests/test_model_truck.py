"""A lube truck and a setting: what may be entered, and what is refused by name."""

import pytest

from fluidapp.errors import FileProblem
from fluidapp.model import Setting, Truck, from_toml, to_toml

TRUCK = """
key = "truck-1"
label = "Lube truck 1"
lat = 55.3
lon = 5.2
shift_start = "18:00"
shift_end = "06:00"
[[compartments]]
key = "hyd"
label = "Hydraulic oil"
product = "hyd_vg46"
capacity_l = 350
rate_per_min = 40
on_board = 200
[[compartments]]
key = "grease"
label = "Grease"
product = "grease_ep2"
capacity_kg = 30
rate_per_min = 0.8
[[compartments]]
key = "used"
label = "Used oil"
product = "used_oil"
collects = true
capacity_l = 250
"""


def truck(text=TRUCK):
    return from_toml(text, "truck.toml", Truck)


def test_a_truck_s_compartments_are_found_by_key_and_by_product():
    found = truck()
    assert found.compartment("grease").capacity == 30.0
    assert found.compartment("grease").unit == "kg"
    assert found.compartment("hyd").unit == "L"
    assert found.holds("hyd_vg46") is found.compartment("hyd")
    assert found.holds("eng_15w40") is None
    assert found.compartment("used").collects


def test_what_is_on_board_without_a_word_is_all_of_a_delivered_product_and_nothing_of_a_collected_one():
    found = truck()
    assert [c.starts_with for c in found.compartments] == [200.0, 30.0, 0.0]


def test_a_shift_may_end_on_the_next_day():
    assert (truck().shift_start, truck().shift_end) == ("18:00", "06:00")


def test_a_truck_comes_back_from_its_own_file():
    assert truck(to_toml(truck())) == truck()


@pytest.mark.parametrize(
    ("was", "becomes", "words"),
    [
        ("capacity_kg = 30", "capacity_kg = 30\ncapacity_l = 30", "capacity_l or capacity_kg"),
        ("capacity_kg = 30", "", "capacity_l or capacity_kg"),
        ("on_board = 200", "on_board = 400", "on_board 400 is more than the 350 L that it holds"),
        ("on_board = 200", "on_board = -1", "on_board"),
        ("capacity_l = 350", "capacity_l = 0", "capacity_l"),
        ("rate_per_min = 40", "rate_per_min = 0", "rate_per_min"),
        ('key = "grease"', 'key = "hyd"', "the key “hyd” is used twice"),
        ('product = "grease_ep2"', 'product = "hyd_vg46"', "two compartments hold “hyd_vg46”"),
        ('shift_start = "18:00"', 'shift_start = "24:00"', "shift_start"),
        ('shift_start = "18:00"', 'shift_start = "6:00"', "shift_start"),
        ('shift_start = "18:00"', "", "a shift needs its start and its end"),
        ('shift_start = "18:00"', 'shift_start = "06:00"', "the shift starts and ends at 06:00"),
        ("lat = 55.3", "lat = 91.0", "lat"),
        ("lat = 55.3\n", "", "a home needs lat and lon"),
    ],
)
def test_what_no_truck_can_be_is_refused_by_name(was, becomes, words):
    assert TRUCK.count(was) == 1
    with pytest.raises(FileProblem, match=r"truck\.toml") as err:
        truck(TRUCK.replace(was, becomes))
    assert words in str(err.value)


def test_a_setting_keeps_numbers_words_and_yes_or_no_as_what_they_are():
    text = 'key = "costs"\nlabel = "Costs"\nvalues = { per_km = 1.2, per_hour = 60, currency = "EUR", night = false }'
    found = from_toml(text, "setting.toml", Setting)
    assert found.values == {"per_km": 1.2, "per_hour": 60.0, "currency": "EUR", "night": False}
    assert [type(value) for value in found.values.values()] == [float, float, str, bool]
    assert Setting.model_validate_json(found.model_dump_json()) == found
    assert type(Setting.model_validate_json(found.model_dump_json()).values["night"]) is bool


@pytest.mark.parametrize("value", ["nan", "inf", "[1, 2]", "{ a = 1 }", "2026-01-01"])
def test_a_setting_refuses_what_is_no_number_word_or_yes_or_no(value):
    with pytest.raises(FileProblem, match="values"):
        from_toml(f'key = "costs"\nlabel = "Costs"\nvalues = {{ per_km = {value} }}', "setting.toml", Setting)
