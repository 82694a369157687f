"""One process a task. The parent never runs a solver; a worker that is late, or whose parent is gone, ends.

Workers come from a fork server that has loaded the solvers' libraries and never used them, so a process costs little
and every query meets a solver in the same state. Where there is no fork server, each worker is started afresh.
"""

import multiprocessing
import os
import signal
import threading
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing import connection
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, SpawnContext
from multiprocessing.process import BaseProcess
from types import TracebackType
from typing import Generic, Self, TypeVar

T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Failed:
    """A worker that gave no answer."""

    reason: str


class FaultError(Exception):
    """A worker met a fault of this program; the text is its traceback."""


@dataclass(frozen=True, slots=True)
class Done(Generic[R]):
    """Which of the tasks of a race has ended, and how."""

    index: int
    result: R | Failed


def _context() -> ForkServerContext | SpawnContext:
    if "forkserver" in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("forkserver")
    return multiprocessing.get_context("spawn")


class Processes(Generic[T, R]):
    """Starts and ends processes that do `work`. Use as a context: leaving it ends all that still run.

    `work` is a function of a module; `modules` are loaded once for all. The first who starts a fork server in a process
    says what it loads; others only wait a little longer.
    """

    def __init__(self, work: Callable[[T], R | Failed], modules: Sequence[str]) -> None:
        self._work = work
        self._context = _context()
        self._context.set_forkserver_preload(["__main__", *modules])
        self._running: set[BaseProcess] = set()
        self._lock = threading.Lock()
        self._closed = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with self._lock:
            self._closed = True
            running = list(self._running)
        for process in running:
            self._end(process)

    def warm_up(self) -> None:
        """Starts the fork server, which loads while the parent does other things."""
        if self._context.get_start_method() == "forkserver":
            from multiprocessing import forkserver, resource_tracker

            # Ctrl-C goes to every process of the terminal. The server, and all that come from it, begin deaf to it:
            # they are ended by their parent, and would otherwise say so in a traceback. (Starting the tracker lets the
            # signal through again, so it comes first.)
            resource_tracker.ensure_running()
            heard = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
            try:
                forkserver.ensure_running()
            finally:
                signal.pthread_sigmask(signal.SIG_SETMASK, heard)

    def run(self, task: T, seconds: float) -> R | Failed:
        """The answer to one task, or `Failed` after so many seconds."""
        return next(done.result for done in self.race([task], seconds))

    def race(self, tasks: Sequence[T], seconds: float) -> Iterator[Done[R]]:
        """Answers in the order in which they come. Leaving the loop ends the workers that have not answered.

        What the loop puts at the end of `tasks` begins with the next round.
        """
        deadline = time.monotonic() + seconds
        waiting: dict[Connection, tuple[int, BaseProcess]] = {}
        try:
            count = 0
            while True:
                for index, task in enumerate(tasks[count:], count):
                    reader, process = self._start(task)
                    waiting[reader] = (index, process)
                count = len(tasks)
                if not waiting:
                    break
                ready = connection.wait(list(waiting), max(0.0, deadline - time.monotonic()))
                if not ready:
                    break
                for reader in [r for r in waiting if r in ready]:
                    index, process = waiting.pop(reader)
                    yield Done(index, self._answer(reader, process))
            for index, _ in waiting.values():
                yield Done(index, Failed("time ran out"))
        finally:
            for reader, (_, process) in waiting.items():
                self._end(process)
                reader.close()

    def _start(self, task: T) -> tuple[Connection, BaseProcess]:
        reader, writer = self._context.Pipe(duplex=False)
        process = self._context.Process(target=_work, args=(writer, self._work, task), daemon=True)
        with self._lock:
            if self._closed:
                raise RuntimeError("the workers have been sent home")
            process.start()
            self._running.add(process)
        writer.close()
        return reader, process

    def _answer(self, reader: Connection, process: BaseProcess) -> R | Failed:
        try:
            result: R | Failed | FaultError = reader.recv()
        except (EOFError, OSError):
            result = Failed("a worker process ended without an answer")
        reader.close()
        self._end(process)
        if isinstance(result, FaultError):
            raise result
        return result

    def _end(self, process: BaseProcess) -> None:
        """By process id; a worker holds nothing that could be lost."""
        process.kill()
        process.join()
        with self._lock:
            self._running.discard(process)


def _work(writer: Connection, work: Callable[[T], R | Failed], task: T) -> None:
    """The life of a worker: one task, one answer."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        result: R | Failed | FaultError = work(task)
    except (MemoryError, RecursionError) as error:
        result = Failed(f"the solver gave up: {error or type(error).__name__}")
    except Exception:
        result = FaultError(traceback.format_exc())
    writer.send(result)
    writer.close()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)
