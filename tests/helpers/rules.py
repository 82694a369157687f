"""Rule texts to rule sets and machines, for tests that want nothing but a good one."""

from pathlib import Path

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.pipeline import check_text
from latchproof.rules.model import RuleSet
from latchproof.source import Source

ROOT = Path(__file__).resolve().parents[2]


def rules_of(text: str, folder: Path = ROOT) -> RuleSet:
    checked = check_text(Source("test.latch", text), folder)
    assert checked.rules is not None, [(d.code, d.title) for d in checked.diagnostics]
    return checked.rules


def machine_of(text: str, folder: Path = ROOT) -> Machine:
    machine, problems = compile_rules(rules_of(text, folder))
    assert machine is not None, problems
    return machine


def example(path: str) -> Machine:
    """The machine of a file below `examples`."""
    file = ROOT / "examples" / path
    return machine_of(file.read_text(encoding="utf-8"), file.parent)
