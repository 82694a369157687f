"""Whether anything depends on itself within one cycle, told without the graph library unless it does.

`check` asks this of every file, and loading that library takes longer than all the rest that `check` does.
"""

from graphlib import CycleError, TopologicalSorter

from latchproof.diagnostics import Diagnostic
from latchproof.machine.nodes import nodes_of
from latchproof.rules.model import RuleSet


def loops(rules: RuleSet) -> tuple[Diagnostic, ...]:
    """The loops in which nothing reads the cycle before."""
    nodes = nodes_of(rules)
    defined_by = {name: node.name for node in nodes for name in node.defines}
    needs = {
        node.name: {
            defined_by[name]
            for name, _ in node.reads
            if name in defined_by and not (defined_by[name] == node.name and node.may_read_itself)
        }
        for node in nodes
    }
    try:
        TopologicalSorter(needs).prepare()
    except CycleError:
        from latchproof.machine.compile import compile_rules

        return compile_rules(rules)[1]
    return ()
