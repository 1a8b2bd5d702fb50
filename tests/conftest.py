"""What all tests share: published values as data, a machine from a text, and the profile of the generated examples.

A test that takes its cases from tests/published says so and asks for ``case``:

    @pytest.mark.published("oil", "printed")
    def test_x(case): ...

Each case is a table with at least ``fact``, ``want``, ``tol``, ``kind`` and ``source``.
"""

import os
import tomllib
from pathlib import Path

import hypothesis
import pytest

from fluidapp.model import Machine, from_toml

ROOT = Path(__file__).parents[1]
PUBLISHED = Path(__file__).with_name("published")
KINDS = {"published", "common practice", "from memory", "computed by us"}

hypothesis.settings.register_profile("here", deadline=None)
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "here")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long forms too (marked slow); their short forms always run")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "published(file, table): the cases of a table in tests/published, one after the other, as `case`")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    skip = pytest.mark.skip(reason="long form: add --long")
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker(skip)


def published(file: str, table: str = "case") -> list[dict]:
    """The cases of one table; a case without a source or with an unknown kind is an error."""
    cases = tomllib.loads((PUBLISHED / f"{file}.toml").read_text(encoding="utf-8"))[table]
    for case in cases:
        assert case["kind"] in KINDS, case
        assert case["source"], case
    return cases


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "case" in metafunc.fixturenames and (mark := metafunc.definition.get_closest_marker("published")):
        metafunc.parametrize("case", published(*mark.args), ids=lambda case: case["fact"])


@pytest.fixture(scope="session")
def root() -> Path:
    """The folder that holds the package, the tests and pyproject.toml."""
    return ROOT


@pytest.fixture(scope="session")
def machine_of():
    """A machine from TOML text."""
    return lambda text: from_toml(text, "machine.toml", Machine)
