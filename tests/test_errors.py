"""Errors keep their numbers, survive a pickle, and say in a sentence which field and what to do."""

import copy
import inspect
import pickle

import pytest

from fluidapp import errors

# class -> its fields, and what a person reads
EXAMPLES = {
    errors.BadInput: (
        {"field": "oil temperature", "value": "hot", "fix": "Enter a number."},
        "oil temperature: “hot” cannot be used. Enter a number.",
    ),
    errors.OutOfRange: (
        {"field": "glass", "value": 612.5, "low": 0.0, "high": 600.0, "unit": "mm", "fix": "Read again."},
        "glass: 612.5 mm is not within 0 to 600 mm. Read again.",
    ),
    errors.Unknown: (
        {"kind": "Gauge", "name": "stcik", "known": ("stick", "glass")},
        "Gauge: “stcik” is not known. Known: stick, glass.",
    ),
    errors.FileProblem: (
        {"file": "pit.toml", "where": "“ex-1”, label", "problem": "field required", "fix": "Correct this field."},
        "pit.toml, “ex-1”, label: field required. Correct this field.",
    ),
    errors.CannotAnswer: (
        {"question": "Tank", "reason": "no gauge is entered for it", "fix": "Enter one."},
        "Tank: no gauge is entered for it. Enter one.",
    ),
    errors.MissingExtra: ({"task": "save a chart", "extra": "export"}, "To save a chart, run: pip install 'fluidapp[export]'"),
    errors.RecordsProblem: (
        {"where": "/pit/records.db", "problem": "the disk is full", "fix": "Free some room."},
        "Records at /pit/records.db: the disk is full. Free some room.",
    ),
    errors.NotAllowed: (
        {"where": "/pit/records.db", "problem": "they are open for reading only", "fix": "Ask the supervisor."},
        "Records at /pit/records.db: they are open for reading only. Ask the supervisor.",
    ),
}
CASES = pytest.mark.parametrize(
    ("kind", "fields", "words"), [(k, *v) for k, v in EXAMPLES.items()], ids=lambda x: getattr(x, "__name__", "")
)


def test_every_error_has_an_example_here():
    every = {c for _, c in inspect.getmembers(errors, inspect.isclass) if issubclass(c, errors.FluidappError)}
    assert every - {errors.FluidappError} == set(EXAMPLES)


@CASES
def test_an_error_carries_its_fields_and_says_them(kind, fields, words):
    err = kind(**fields)
    assert {name: getattr(err, name) for name in fields} == fields
    assert str(err) == words


@CASES
@pytest.mark.parametrize("twin", [lambda e: pickle.loads(pickle.dumps(e)), copy.copy, copy.deepcopy])
def test_an_error_survives_pickle_and_copy(kind, fields, words, twin):
    err = twin(kind(**fields))
    assert type(err) is kind
    assert {name: getattr(err, name) for name in fields} == fields
    assert str(err) == words


@CASES
def test_an_error_is_one_line_for_a_person(kind, fields, words):
    assert isinstance(kind(**fields), errors.FluidappError)
    assert "\n" not in words
    assert "Error" not in words


def test_a_number_out_of_range_is_bad_input_and_not_allowed_is_a_problem_of_the_records():
    assert issubclass(errors.OutOfRange, errors.BadInput)
    assert issubclass(errors.NotAllowed, errors.RecordsProblem)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.0, None, "stick: -3 mm is below 0 mm. Read again."),
        (None, -5.0, "stick: -3 mm is above -5 mm. Read again."),
        (0.0, 250.0, "stick: -3 mm is not within 0 to 250 mm. Read again."),
    ],
)
def test_a_limit_on_one_side_only_is_named_as_such(low, high, words):
    assert str(errors.OutOfRange("stick", -3.0, low, high, "mm", "Read again.")) == words


@pytest.mark.parametrize(
    ("value", "low", "high", "words"),
    [
        (0.0, 0.0, None, "area: 0 L/mm is not above 0 L/mm. Measure it."),
        (-2.0, 0.0, None, "area: -2 L/mm is not above 0 L/mm. Measure it."),
        (0.0, 0.0, 4.0, "area: 0 L/mm is not above 0 and up to 4 L/mm. Measure it."),
    ],
)
def test_a_limit_that_is_itself_too_low_is_named_as_such(value, low, high, words):
    err = errors.OutOfRange("area", value, low, high, "L/mm", "Measure it.", above=True)
    assert str(err) == words
    assert pickle.loads(pickle.dumps(err)).above is True
    assert str(pickle.loads(pickle.dumps(err))) == words


def test_a_limit_on_the_high_side_that_is_itself_too_much_is_named_as_such():
    err = errors.OutOfRange("share", 1.0, 0.0, 1.0, "", "Check it.", above=True, below=True)
    assert str(err) == str(pickle.loads(pickle.dumps(err))) == "share: 1 is not above 0 and below 1. Check it."


def test_without_a_unit_no_space_is_left():
    assert str(errors.OutOfRange("share", 1.5, 0.0, 1.0, "", "Check it.")) == "share: 1.5 is not within 0 to 1. Check it."


def test_an_unknown_name_says_when_there_is_nothing_to_choose_from():
    assert str(errors.Unknown("Gauge", "stick", iter(()))) == "Gauge: “stick” is not known. Known: none yet."


def test_a_long_number_is_shown_short_and_kept_whole():
    err = errors.BadInput("level", 1 / 3, "Read again.")
    assert str(err) == "level: 0.333333 cannot be used. Read again."
    assert err.value == 1 / 3
