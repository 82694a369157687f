"""One pool of workers for all outside checks of a session."""

from collections.abc import Iterator

import pytest

from latchproof.prove.workers import Workers
from tests.external.tool import Prover


@pytest.fixture(scope="session")
def prover() -> Iterator[Prover]:
    with Workers() as workers:
        workers.warm_up()
        yield Prover(workers)
