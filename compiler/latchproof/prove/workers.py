"""The processes in which the engines run. What they are made of is loaded there, and not by whoever starts them."""

from typing import TYPE_CHECKING

from latchproof.prove.processes import Failed as Failed
from latchproof.prove.processes import Processes

if TYPE_CHECKING:
    from latchproof.prove.tasks import Result, Task

MEMORY_MEGABYTES = 900
"""What a solver may use before it gives up."""


class Workers(Processes["Task", "Result"]):
    """One process a query, each with a fresh z3."""

    def __init__(self) -> None:
        super().__init__(work, ["latchproof.prove.engines"])


def loading() -> Workers:
    """Workers that load while others do other things."""
    workers = Workers()
    workers.warm_up()
    return workers


def work(task: "Task") -> "Result | Failed":
    """Does the task in this process."""
    import z3

    from latchproof.prove.engines import perform

    z3.set_param("memory_max_size", MEMORY_MEGABYTES)
    try:
        return perform(task)
    except z3.Z3Exception as error:
        return Failed(f"the solver gave up: {error}")
