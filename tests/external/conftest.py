"""One prover for all outside checks of a session: what is proved once is not proved again."""

import pytest

from latchproof.prove.workers import Workers
from tests.external.tool import Prover


@pytest.fixture(scope="session")
def prover(workers: Workers) -> Prover:
    return Prover(workers)
