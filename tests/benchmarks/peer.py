"""The peer: z3's Horn engine on ordinary steps alone, given the question as SMT-LIB text."""

import multiprocessing
import time
from multiprocessing.connection import Connection

import z3

from latchproof.machine.cone import System
from latchproof.prove.encode import Encoder, constant, equal


def horn_clauses(system: System) -> str:
    """The system in SMT-LIB 2.6, logic HORN: satisfiable exactly when the goal cannot be reached."""
    encoder = Encoder(system)
    before, inputs, dt = encoder.state(""), encoder.inputs("@in"), z3.Real("@dt")
    following = {s.name: constant(f"{s.name}@next", s.sort) for s in system.states}
    tunes = list(encoder.parameters.values())
    relation = z3.Function("reached", *(x.sort() for x in (*tunes, *before.values())), z3.BoolSort())
    frame = encoder.frame(before, inputs, dt)
    here, there = relation(*tunes, *before.values()), relation(*tunes, *following.values())
    everything = [*tunes, *before.values(), *inputs.values(), *following.values(), dt]
    step = z3.And(here, encoder.ordinary(dt), frame.allowed)
    solver = z3.SolverFor("HORN")
    solver.add(z3.ForAll(everything, z3.Implies(z3.And(encoder.tuned(), encoder.initial(before)), here)))
    solver.add(z3.ForAll(everything, z3.Implies(z3.And(step, equal(following, frame.after)), there)))
    solver.add(z3.ForAll(everything, z3.Implies(z3.And(step, frame.goal), z3.BoolVal(False))))
    return solver.to_smt2()


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
