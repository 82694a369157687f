"""Options of the test runs, and the worker processes that they share."""

import os
from collections.abc import Iterator

import pytest

from latchproof.prove.workers import Workers
from tests.helpers.pool import pool

os.environ["LATCHPROOF_CACHE"] = ""  # no test finds or leaves anything in the folder of whoever runs them


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the documented longer runs")
    parser.addoption("--update-goldens", action="store_true", help="write the goldens anew; read them afterwards")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    skip = pytest.mark.skip(reason="a longer run: --long")
    for item in items:
        if item.get_closest_marker("long"):
            item.add_marker(skip)


@pytest.fixture(scope="session")
def workers() -> Iterator[Workers]:
    """One pool of solver processes for the whole session."""
    with pool() as made:
        yield made
