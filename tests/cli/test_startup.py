"""`latchproof check` answers at once: within four times what it takes to load the libraries it was measured against.

Both are measured in one run, as processor time of whole processes (other work on the machine counts less in it than
in the time on the wall), the least of several each; compiled modules are kept, as they are for an installed command.
"""

import os
import resource
import subprocess
import sys
from pathlib import Path

from tests.cli.commands import command, environment
from tests.layout.house import ROOT

TIMES = 7
MOST = 4


def least(argv: list[str], env: dict[str, str]) -> float:
    """Seconds of processor time."""
    found = []
    for _ in range(TIMES):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(argv, env=env, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


def test_check_starts_quickly(tmp_path: Path) -> None:
    env = {k: v for k, v in environment().items() if k != "PYTHONDONTWRITEBYTECODE"}
    env |= {"PYTHONPYCACHEPREFIX": str(tmp_path / "compiled"), "PATH": os.environ["PATH"]}
    libraries = [sys.executable, "-c", "import lark, rich"]
    check = command("check", "examples/floor_guard/mended.latch")
    for argv in (libraries, check):
        subprocess.run(argv, env=env, cwd=ROOT, capture_output=True, check=True)
    yardstick, taken = least(libraries, env), least(check, env)
    print(f"check: {taken:.3f} s, import lark, rich: {yardstick:.3f} s, ratio {taken / yardstick:.2f}")
    assert taken <= MOST * yardstick


def test_check_loads_neither_solver_nor_graph_library() -> None:
    code = "import sys; from latchproof.cli.main import main; main(['check', 'examples/floor_guard/mended.latch']); "
    code += "print([m for m in ('z3', 'networkx', 'lark', 'multiprocessing') if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment(), cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"


def test_who_starts_the_workers_loads_neither_solver_nor_graph_library() -> None:
    """Not even to look for a danger and to prove that there is none."""
    code = "import sys; from latchproof.cli.main import main; "
    code += "code = main(['hazards', 'examples/floor_guard/mended.latch', '--no-cache', '--only', 'H01', 'H19']); "
    code += "print(code, [m for m in ('z3', 'networkx', 'lark') if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment(), cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "0 []"
