"""The peer: z3's Horn engine on ordinary steps alone, given the question as SMT-LIB text."""

import multiprocessing
import time
from multiprocessing.connection import Connection

import z3

from latchproof.machine.cone import System
from latchproof.prove.export_horn import horn_clauses


def _solve(text: str, writer: Connection) -> None:
    solver = z3.SolverFor("HORN")
    solver.from_string(text)
    writer.send(str(solver.check()))


def peer_seconds(system: System, limit: float) -> tuple[str, float]:
    """The peer's answer and the seconds it took; the answer is "no answer" when the limit ended it."""
    text = horn_clauses(system)
    reader, writer = multiprocessing.get_context("spawn").Pipe(duplex=False)
    process = multiprocessing.get_context("spawn").Process(target=_solve, args=(text, writer))
    started = time.monotonic()
    process.start()
    answer = reader.recv() if reader.poll(limit) else "no answer"
    taken = time.monotonic() - started
    process.kill()
    process.join()
    return {"sat": "proved", "unsat": "refuted"}.get(answer, answer), taken
