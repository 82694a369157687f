"""Whether two systems, or two machines, are the same: compared by what they are made of, not by where it is kept."""

from latchproof.machine.cone import System
from latchproof.machine.flat import FlatSystem, listed
from latchproof.machine.model import Machine
from latchproof.machine.terms import Term

Key = tuple[object, ...]


def system_key(flat: FlatSystem) -> Key:
    """Equal for two systems that are the same word for word."""
    s: System = flat.shell
    states = tuple((x.name, x.sort, x.initial is None, x.flows, x.echoes) for x in s.states)
    counts = (len(s.requires), len(s.starts), len(s.constraints))
    bounds = (s.kind, s.shortest, s.longest)
    return flat.operations, flat.roots, states, s.inputs, s.parameters, counts, bounds


def machine_key(m: Machine) -> Key:
    """Equal for two machines that do the same in every cycle, term for term."""
    named = sorted(m.definitions)
    roots: list[Term] = [s.next for s in m.states]
    roots += [s.initial for s in m.states if s.initial is not None]
    roots += [m.definitions[name] for name in named]
    roots += [p.signal for p in m.properties]
    states = tuple((s.name, s.sort) for s in m.states)
    return *listed(roots), states, tuple(named), m.inputs
