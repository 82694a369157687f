"""Options of the test runs."""

import pytest


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
