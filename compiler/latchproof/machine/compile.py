"""The rule set as a machine: dependency graph, order of evaluation, every element put together, every claim watched."""

from collections.abc import Mapping, Sequence
from graphlib import CycleError
from types import MappingProxyType

from latchproof.diagnostics import Diagnostic, Label
from latchproof.machine.builder import Builder
from latchproof.machine.glitches import glitches
from latchproof.machine.model import Constraint, Input, Machine, Parameter
from latchproof.machine.monitors import assumed, fight, monitor
from latchproof.machine.names import Names
from latchproof.machine.nodes import Node, announced, nodes_of, told
from latchproof.machine.ordering import lined_up
from latchproof.machine.powerup import clock, no_frame_before, pulse, with_any_start
from latchproof.machine.reading import Reading, places
from latchproof.machine.sensors import sensor
from latchproof.machine.terms import Terms
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet

NO_ALLOWANCE: Mapping[str, int] = MappingProxyType({})


def compile_rules(
    rules: RuleSet, *, allowances: Mapping[str, int] = NO_ALLOWANCE
) -> tuple[Machine | None, tuple[Diagnostic, ...]]:
    """The machine, or the loops in which nothing reads the cycle before.

    `allowances`: how many cycles claims, by name, may allow for entries that read one another late; what would empty a
    claim is not taken.
    """
    nodes = {n.name: n for n in nodes_of(rules)}
    defined_by = {name: node.name for node in nodes.values() for name in node.defines}
    needs: dict[str, list[str]] = {name: [] for name in nodes}
    places: dict[tuple[str, str], e.Located] = {}
    for node in nodes.values():
        for name, where in node.reads:
            target = defined_by.get(name)
            if target is None or (target == node.name and node.may_read_itself):
                continue
            needs[node.name].append(target)
            places.setdefault((node.name, target), where)
    position = {name: i for i, name in enumerate(nodes)}
    try:
        order = lined_up(needs, position.__getitem__)
    except CycleError:
        return None, _loops(needs, nodes, places)
    reads = {node.name: frozenset(name for name, _ in node.reads) for node in nodes.values()}
    return _assemble(rules, [nodes[name] for name in order], reads, defined_by, allowances), ()


def _loops(
    needs: Mapping[str, Sequence[str]], nodes: dict[str, Node], places: dict[tuple[str, str], e.Located]
) -> tuple[Diagnostic, ...]:
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(nodes)
    graph.add_edges_from((target, name) for name, targets in needs.items() for target in targets)
    found = []
    for component in nx.strongly_connected_components(graph):
        inner = graph.subgraph(component)
        if not inner.number_of_edges():
            continue
        path = [edge[0] for edge in nx.find_cycle(inner, min(component))]
        path.reverse()
        start = path.index(min(path, key=lambda name: (nodes[name].span.source, nodes[name].span.start)))
        path = path[start:] + path[:start]
        steps = list(zip(path, path[1:] + path[:1], strict=True))
        labels = tuple(Label(places[step].span, f"{_shown(step[0])} reads {_shown(step[1])} here") for step in steps)
        story = " reads ".join(_shown(name) for name in [*path, path[0]])
        title = f"{_shown(path[0])} depends on itself" if len(path) == 1 else f"these go round in a circle: {story}"
        hint = f"at one of these places say that the cycle before is meant: `previous of {_shown(steps[-1][1])}`"
        found.append(Diagnostic("loop", title, labels, (hint,)))
    return tuple(found)


def _shown(name: str) -> str:
    return name.partition("@")[0]


def _assemble(
    rules: RuleSet,
    order: list[Node],
    reads: dict[str, frozenset[str]],
    defined_by: dict[str, str],
    allowances: Mapping[str, int],
) -> Machine:
    b = Builder(Terms(), Names(rules))
    reading = _reading(b.t, rules, defined_by)
    b.reading = reading
    constraints: list[Constraint] = []
    starts: list[Constraint] = []
    for switch in rules.switches:
        b.inputs.extend(Input(f"{switch.name}@{k}", "bool") for k in range(1, len(switch.positions)))
    b.inputs.extend(Input(button.name, "bool") for button in rules.buttons)
    b.inputs.extend(Input(control.name, "number", control.low, control.high) for control in rules.controls)
    for s in rules.sensors:
        made = sensor(b.t, s)
        b.definitions.update(made.definitions)
        b.states.extend(made.states)
        b.inputs.extend(made.inputs)
        constraints.extend(made.constraints)
        starts.extend(made.starts)
    since = clock(b.t, rules)
    if since is not None:
        b.keep(since)
        constraints.extend(no_frame_before(b.t, rules, since.output))
        if rules.device.pulse is not None:
            b.definitions[rules.device.pulse.name] = pulse(b.t, since.output, rules.device.pulse.seconds)
    of_the_world = len(b.states)
    for node in order:
        b.owner = node.name
        with b.reading_as(node.name):
            node.build(b)
    b.owner = None
    b.finish()
    if reading is not None:
        b.states.extend(reading.states)
    if rules.device.starts == "any":
        choices = set() if reading is None else {o.cell for o in reading.orders}
        memory = [s for s in b.states[of_the_world:] if s.name not in choices]
        free, bounds = with_any_start(b.t, memory)
        b.states[of_the_world:] = free + [s for s in b.states[of_the_world:] if s.name in choices]
        starts.extend(bounds)
    b.for_claims(rules)
    requires = tuple(Constraint(b.signal(r.condition), r.text) for r in rules.requires)
    states, inputs = tuple(b.states), tuple(b.inputs)
    definitions = dict(b.definitions)
    assumptions = tuple(assumed(b, a) for a in rules.assumptions)
    claims = tuple(monitor(b, claim, allowances.get(claim.name, 0)) for claim in rules.claims)
    fights = tuple(fight(*found) for found in b.fights)
    unset, alike = ((), ()) if reading is None else glitches(b, reading, rules, order)
    starts.extend(alike)
    return Machine(
        rules,
        b.t,
        states,
        inputs,
        _parameters(rules),
        requires,
        tuple(starts),
        tuple(constraints),
        definitions,
        reads,
        tuple(b.states[len(states) :]),
        tuple(b.inputs[len(inputs) :]),
        assumptions,
        (*claims, *fights, *unset),
        () if reading is None else tuple(reading.orders),
        0 if reading is None else reading.longest_chain(),
        {**allowances},
        b.sets,
    )


def _reading(t: Terms, rules: RuleSet, defined_by: dict[str, str]) -> Reading | None:
    """How entries read one another, where that is not simply this cycle's value."""
    if rules.device.reads == "this cycle":
        return None
    belongs = {**defined_by}
    for acting in (*(r.name for r in rules.rules), *(s.name for s in rules.sequences)):
        belongs |= {name: told(acting) for name in announced(acting)}
    where = places(rules) if rules.device.reads == "listed order" else {}
    return Reading(t, rules.device.reads, belongs, where)


def _parameters(rules: RuleSet) -> tuple[Parameter, ...]:
    spans = tuple(Parameter(f.name, f.low, f.low, f.high) for f in rules.facts if f.low != f.high)
    return spans + tuple(Parameter(t.name, t.value, t.low, t.high, t.steps) for t in rules.tunes)
