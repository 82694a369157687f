"""Two solvers by different people, each given the text of a question as it stands and asked for one word."""

from typing import Literal, get_args

from latchproof.prove.processes import Failed

Solver = Literal["z3", "cvc5"]
SOLVERS: tuple[Solver, ...] = get_args(Solver)

Word = Literal["unsat", "sat", "unknown"]

MEMORY_MEGABYTES = 900
"""What a solver may use before it gives up."""
ROOM_MEGABYTES = 1_000
"""The same for a process whose solver keeps no account of its own, libraries and all."""


def is_installed(solver: Solver) -> bool:
    from importlib.util import find_spec

    return find_spec(solver) is not None


def ask(solver: Solver, script: str) -> Word:
    """The answer of a fresh solver to a text that ends in one `(check-sat)`. All but "sat" and "unsat" is unknown."""
    said = (_z3 if solver == "z3" else _cvc5)(script).strip()
    if said == "unsat":
        return "unsat"
    return "sat" if said == "sat" else "unknown"


def _z3(script: str) -> str:
    import z3

    z3.set_param("memory_max_size", MEMORY_MEGABYTES)
    context = z3.Context()
    try:
        return str(z3.Z3_eval_smtlib2_string(context.ref(), script))
    except z3.Z3Exception as error:
        return str(error)


def _cvc5(script: str) -> str:
    import cvc5

    solver = cvc5.Solver(cvc5.TermManager())
    parser = cvc5.InputParser(solver)
    said = []
    try:
        parser.setStringInput(cvc5.InputLanguage.SMT_LIB_2_6, script, "question")
        symbols = parser.getSymbolManager()
        while not (command := parser.nextCommand()).isNull():
            said.append(command.invoke(solver, symbols))
    except RuntimeError as error:
        return str(error)
    return "".join(said)


def work(task: tuple[Solver, tuple[str, ...]]) -> tuple[Word, ...] | Failed:
    """The answers to several texts, in a process of their own: it is good for nothing afterwards."""
    solver, scripts = task
    _bound_memory()
    return tuple(ask(solver, script) for script in scripts)


def _bound_memory() -> None:
    """Where the system can; elsewhere the time limit has to do."""
    try:
        import resource
    except ImportError:
        return
    limit = ROOM_MEGABYTES * 1_000_000
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    if most == resource.RLIM_INFINITY or most > limit:
        resource.setrlimit(resource.RLIMIT_AS, (limit, most))
