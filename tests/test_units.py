"""The door between people's units and ours."""

import math
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fluidapp import units
from fluidapp.errors import BadInput, FluidappError

KINDS = {
    "length": units.LENGTH,
    "volume": units.VOLUME,
    "mass": units.MASS,
    "temperature": units.TEMPERATURE,
    "angle": units.ANGLE,
}
LISTED = [(kind, unit) for kind, listed in KINDS.items() for unit in listed]


@pytest.mark.published("units", "definition")
def test_a_unit_agrees_with_its_published_definition(case):
    g = case["given"]
    assert units.convert("x", g["value"], g["unit"], g["to"], g["kind"]) == pytest.approx(case["want"], abs=case["tol"], rel=0)


def test_every_listed_unit_but_ours_has_a_definition_to_be_checked_against():
    cases = tomllib.loads((Path(__file__).with_name("published") / "units.toml").read_text(encoding="utf-8"))["definition"]
    checked = {case["given"]["unit"] for case in cases}
    assert checked == {unit for _, unit in LISTED} - {"mm", "L", "kg", "°C", "°"}


@given(st.sampled_from(LISTED), st.data(), st.floats(-1e6, 1e6))
def test_there_and_back_gives_the_same_number(start, data, value):
    kind, unit = start
    to = data.draw(st.sampled_from(list(KINDS[kind])))
    there = units.convert("x", value, unit, to, kind)
    assert units.convert("x", there, to, unit, kind) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(("kind", "unit"), LISTED)
def test_an_array_converts_like_its_numbers(kind, unit):
    values = np.array([0.0, 1.0, 2.5, 1000.0])
    for to in KINDS[kind]:
        many = units.convert("x", values, unit, to, kind)
        assert isinstance(many, np.ndarray)
        np.testing.assert_allclose(many, [units.convert("x", float(v), unit, to, kind) for v in values], rtol=1e-15)


@pytest.mark.parametrize("text", ["8 3/8 in", '8 3/8"', "8 3/8in", "8 3/8 inches", "8.375 in", " 8  3/8  IN "])
def test_a_tape_reading_in_fractions_is_read(text):
    assert units.length_mm("level", text) == pytest.approx(212.725, rel=1e-15)  # 8.375 x 25.4


def test_a_unit_left_out_is_the_field_s_own():
    assert units.length_mm("level", "21,2", "cm", comma=True) == 212.0
    assert units.volume_l("poured", "20") == 20.0
    assert units.temperature_c("oil", "−5") == -5.0


@pytest.mark.parametrize("read", [units.length_mm, units.volume_l, units.temperature_c, units.mass_kg])
@pytest.mark.parametrize("text", ["", "  ", "\n"])
def test_an_empty_field_stays_empty(read, text):
    assert read("x", text) is None


def test_a_comma_is_read_on_screens_and_refused_elsewhere():
    assert units.number("level", "12,5", comma=True) == 12.5
    assert units.number("level", "0,125", comma=True) == 0.125
    assert units.number("level", "-8,25", comma=True) == -8.25
    with pytest.raises(BadInput, match=r"level: “12,5” cannot be used\. Use a point as the decimal mark, like 12\.5\."):
        units.number("level", "12,5")


@pytest.mark.parametrize("text", ["1,234.5", "1.234,5", "1,234,567", "1 234", "1'234", "1_234", "12,500", "1,234"])
@pytest.mark.parametrize("comma", [True, False])
def test_a_thousands_mark_is_refused(text, comma):
    with pytest.raises(BadInput):
        units.number("level", text, comma=comma)


@pytest.mark.parametrize(
    "text", ["nan", "NaN", "inf", "-inf", "∞", "1e3", "1E3", "0x10", "12..5", "--5", "5-", "abc", "1/2/3", "1/0", "+", "."]
)
@pytest.mark.parametrize("comma", [True, False])
def test_what_is_no_plain_number_is_refused(text, comma):
    with pytest.raises(BadInput, match="level: "):
        units.number("level", text, comma=comma)


@pytest.mark.parametrize("text", ["9" * 400, "9" * 400 + "/1", "9" * 5000 + "/7", "1/" + "9" * 400])
def test_a_number_without_end_is_refused_and_does_not_crash(text):
    with pytest.raises(BadInput):
        units.number("level", text)


@pytest.mark.parametrize("unit", ["gal", "Gal", "GAL", "gals", "gallon", "gallons", "qt", "Qt", "quarts", "pt", "pints", "oz", "fl oz"])
def test_a_unit_of_two_meanings_is_refused_by_name(unit):
    with pytest.raises(BadInput, match=re.escape(f"poured: “5 {unit}” cannot be used. Say which")):
        units.volume_l("poured", f"5 {unit}")


@pytest.mark.parametrize("text", ["5 m3", "5 ft", "5 K", "5 bar", "5 USgal", "5 dozen", "5 mm"])
def test_an_unlisted_unit_is_refused_with_the_list(text):
    with pytest.raises(BadInput, match=r"Use one of: L, mL, US gal, imp gal, US qt, imp qt\."):
        units.volume_l("poured", text)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_refused_and_shown(bad):
    with pytest.raises(BadInput) as refused:
        units.to_mm("level", bad, "in")
    assert repr(refused.value.value) == repr(bad)
    with pytest.raises(BadInput) as refused:
        units.to_mm("level", np.array([5.0, bad, 7.0]), "in")
    assert repr(refused.value.value) == repr(bad)


def test_a_unit_of_another_kind_is_refused():
    with pytest.raises(BadInput):
        units.to_mm("level", 5.0, "L")
    with pytest.raises(BadInput):
        units.convert("level", 5.0, "mm", "L", "length")


@pytest.mark.parametrize(("kind", "unit"), LISTED)
def test_a_whole_number_comes_back_as_a_float(kind, unit):
    for to in KINDS[kind]:
        assert type(units.convert("x", 5, unit, to, kind)) is float


@pytest.mark.parametrize(("kind", "unit"), LISTED)
def test_every_listed_unit_is_read_as_it_is_spelled(kind, unit):
    assert units.quantity("x", f"12.5 {unit}", kind, next(iter(KINDS[kind]))) == (12.5, unit)


def test_c_and_f_are_temperatures_not_coulomb_and_farad():
    assert units.temperature_c("oil", "20 C") == 20.0
    assert units.temperature_c("oil", "68 F") == pytest.approx(20.0, abs=1e-12)


@given(st.text(max_size=30) | st.from_regex(r"\d{1,3}[.,]?\d{0,2} ?(mm|in|US gal|gal|oz|°F|kg|K|Pa|dozen)", fullmatch=True), st.booleans())
def test_any_text_is_read_or_refused_and_pint_sees_only_our_spelling(text, comma):
    ours = {name for listed in KINDS.values() for name in listed.values()}
    seen, said = [], []

    class Watched:
        Quantity = staticmethod(lambda value, unit: seen.append((value, unit)) or Answer())

    class Answer:
        def m_as(self, unit):
            seen.append((0.0, unit))
            return 0.0

    real, units._registry = units._registry, Watched
    try:
        for read in (units.length_mm, units.volume_l, units.temperature_c, units.mass_kg):
            try:
                read("x", text, comma=comma)
            except FluidappError as err:
                said.append(str(err))
    finally:
        units._registry = real
    assert all(words.startswith("x: ") for words in said)
    assert all(unit in ours and not isinstance(value, str) for value, unit in seen)
