"""Tests that share something heavy, an app and a browser above all, stay on one worker."""

import os

import pytest


@pytest.mark.xdist_group("groups")
def test_a_group_is_known_to_the_workers(request: pytest.FixtureRequest) -> None:
    if "PYTEST_XDIST_WORKER" in os.environ:
        assert request.node.nodeid.endswith("@groups")
