"""What all tests share: published values as data, a machine from a text, and the profile of the generated examples.

A test that takes its cases from tests/published says so and asks for ``case``:

    @pytest.mark.published("oil", "printed")
    def test_x(case): ...

and may choose among them: ``published("geometry", shape=("box", "upright"))`` takes those whose given shape is one of the two.
Each case is a table with at least ``fact``, ``want``, ``tol``, ``kind`` and ``source``.
"""

import os
import re
import tomllib
from pathlib import Path

import hypothesis
import pytest

from fluidapp.model import Machine, from_toml

ROOT = Path(__file__).parents[1]
PUBLISHED = Path(__file__).with_name("published")
UNTITLED = "printed, title not recorded"  # the number was read or handed on, but nobody wrote down the title: no witness to cite
KINDS = {"published", UNTITLED, "common practice", "from memory", "computed by us"}
NAMELESS = re.compile(r"(an? )?(trade (article|text|magazine|chart)|textbook|worked example|teaching notes|service bulletin)")

hypothesis.settings.register_profile("here", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True)
hypothesis.settings.register_profile(
    "brief", deadline=None, derandomize=True, database=None, max_examples=50, phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate)
)
hypothesis.settings.load_profile(os.environ.get("EXAMPLES") or ("ci" if os.environ.get("CI") else "here"))


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long forms too (marked slow); their short forms always run")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "published(file, table, **given): the cases of a table in tests/published, one by one, as `case`")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    skip = pytest.mark.skip(reason="long form: add --long")
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker(skip)


def published(file: str, table: str = "case", **given: tuple) -> list[dict]:
    """The cases of one table; a case without a source or with an unknown kind is an error, and so is none at all."""
    cases = tomllib.loads((PUBLISHED / f"{file}.toml").read_text(encoding="utf-8"))[table]
    cases = [case for case in cases if all(case["given"][name] in chosen for name, chosen in given.items())]
    assert cases, f"no case in {file}.toml, {table}, {given}"
    for case in cases:
        assert case["kind"] in KINDS, case
        assert case["source"], case
        assert (case["kind"] == UNTITLED) == ("title not recorded" in case["source"]), case
        assert case["kind"] != "published" or not NAMELESS.match(case["source"]), case
    return cases


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "case" in metafunc.fixturenames and (mark := metafunc.definition.get_closest_marker("published")):
        metafunc.parametrize("case", published(*mark.args, **mark.kwargs), ids=lambda case: case["fact"])


@pytest.fixture(scope="session")
def root() -> Path:
    """The folder that holds the package, the tests and pyproject.toml."""
    return ROOT


@pytest.fixture(scope="session")
def machine_of():
    """A machine from TOML text."""
    return lambda text: from_toml(text, "machine.toml", Machine)
