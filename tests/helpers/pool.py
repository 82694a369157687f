"""One pool of worker processes for a whole test session."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

from latchproof.prove.workers import Workers
from tests.helpers.rules import ROOT


@contextmanager
def pool() -> Iterator[Workers]:
    """Workers whose fork server finds the package even where only the tests' own path leads to it."""
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, (str(ROOT / "compiler"), before)))
    try:
        with Workers() as workers:
            workers.warm_up()
            yield workers
    finally:
        if before is None:
            del os.environ["PYTHONPATH"]
        else:
            os.environ["PYTHONPATH"] = before
