"""A function in a process of its own, forked: it sees what the parent sees, patches included, and can be ended."""

import multiprocessing
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import TypeVar

from latchproof.prove.workers import Workers

T = TypeVar("T")


class Forked(Workers):
    """Workers that are forked from this process, so that they run its functions as they are now."""

    def __init__(self) -> None:
        super().__init__()
        self._context = multiprocessing.get_context("fork")  # type: ignore[assignment]

    def warm_up(self) -> None:
        """There is nothing to be started."""


class ChildError(Exception):
    """The function raised something; the text is its traceback."""


def in_child(make: Callable[[], T], seconds: float) -> T:
    """What `make` gives.

    Raises TimeoutError after so many seconds, ChildError when it fails.
    """
    context = multiprocessing.get_context("fork")
    reader, writer = context.Pipe(duplex=False)
    process = context.Process(target=_send, args=(make, writer), daemon=False)
    process.start()
    writer.close()
    try:
        if not reader.poll(seconds):
            raise TimeoutError
        result, error = reader.recv()
    except EOFError:
        raise ChildError("the process ended without an answer") from None
    finally:
        process.kill()
        process.join()
        reader.close()
    if error:
        raise ChildError(error)
    return result  # type: ignore[no-any-return]


def _send(make: Callable[[], object], writer: Connection) -> None:
    try:
        answer: tuple[object, str] = (make(), "")
    except Exception:
        answer = (None, traceback.format_exc())
    writer.send(answer)
    writer.close()
