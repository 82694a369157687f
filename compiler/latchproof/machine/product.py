"""Two machines in lock-step on the same inputs: the memory of the second, under names of its own, beside the first."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from latchproof.machine.model import State
from latchproof.machine.terms import Bool, Real, Term, Terms, Var, children, walk

OTHER = "other "
"""Put before the name of memory that the second machine has for itself; no name in a rule file has a space."""


def beside(
    t: Terms, states: Sequence[State], roots: Iterable[Term], known: Mapping[str, Term], mark: str = OTHER
) -> tuple[tuple[State, ...], list[Term]]:
    """The second machine's memory and some of its terms, among the terms `t` of the first.

    Its memory is renamed; a variable of it that is `known` stands for that term of the first; every other variable is
    the same in both.
    """
    meant: dict[str, Term] = {s.name: t.var(mark + s.name, s.sort) for s in states} | {**known}
    nexts = translated(t, (s.next for s in states), meant)
    firsts = translated(t, (t.zero if s.initial is None else s.initial for s in states), meant)
    made = tuple(
        replace(s, name=mark + s.name, next=after, initial=None if s.initial is None else first)
        for s, after, first in zip(states, nexts, firsts, strict=True)
    )
    return made, translated(t, roots, meant)


def translated(t: Terms, roots: Iterable[Term], meant: Mapping[str, Term]) -> list[Term]:
    """The same terms among those of `t`, some variables replaced."""
    wanted = tuple(roots)
    done: dict[int, Term] = {}
    for term in walk(wanted):
        match term:
            case Var(name, sort):
                done[id(term)] = meant[name] if name in meant else t.var(name, sort)
            case Bool(value):
                done[id(term)] = t.bool(value)
            case Real(value):
                done[id(term)] = t.real(value)
            case _:
                done[id(term)] = t.rebuild(term, tuple(done[id(c)] for c in children(term)))
    return [done[id(root)] for root in wanted]
