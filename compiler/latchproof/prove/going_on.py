"""Whether the facts of the world leave it a next moment in every state; asked once for each set of facts, also when
several machines have the same."""

import time
from threading import Lock

from latchproof.machine.cone import System
from latchproof.machine.flat import flatten
from latchproof.machine.model import Constraint
from latchproof.prove.facts_alone import facts_alone
from latchproof.prove.memory import described
from latchproof.prove.processes import Failed
from latchproof.prove.tasks import Progress
from latchproof.prove.workers import Workers

OUT_OF_TIME = "time ran out"
"""What the processes say of a task that was ended."""


class TimeGoesOn:
    """The question is put to the facts alone, so that it is the same whichever claim asks first."""

    def __init__(self, workers: Workers) -> None:
        self.workers = workers
        self._lock = Lock()
        self._alone: dict[frozenset[Constraint], tuple[System, str]] = {}
        self._asking: dict[str, Lock] = {}
        self._settled: dict[str, bool] = {}

    def under(self, system: System, seconds: float) -> bool | None:
        """None when the seconds were not enough; the next to ask tries again."""
        if not system.constraints:
            return True
        end = time.monotonic() + seconds
        with self._lock:
            alone, facts = self._facts(system)
            asking = self._asking.setdefault(facts, Lock())
        if not asking.acquire(timeout=max(0, seconds)):
            return None
        try:
            if facts not in self._settled:
                answer = self.workers.run(Progress(flatten(alone)), max(0, end - time.monotonic()))
                if answer == Failed(OUT_OF_TIME):
                    return None
                self._settled[facts] = answer is True
            return self._settled[facts]
        finally:
            asking.release()

    def _facts(self, system: System) -> tuple[System, str]:
        """The facts by themselves, and as a text that is the same for equal ones."""
        facts = frozenset(system.constraints)
        if facts not in self._alone:
            alone = facts_alone(system)
            self._alone[facts] = alone, "\n".join(described(alone))
        return self._alone[facts]
