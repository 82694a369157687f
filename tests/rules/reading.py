"""Rules from a text, for the tests of this room."""

from latchproof.diagnostics import Diagnostic, has_errors
from latchproof.rules import RuleSet, resolve
from latchproof.rules import expressions as ex
from latchproof.source import Source, Span
from latchproof.syntax import File, parse

NOWHERE = Span("", 0, 0)


def look(text: str, **beside: str) -> tuple[RuleSet | None, tuple[Diagnostic, ...]]:
    """What comes of a text that can be parsed; `beside` are included files, by path without `.latch`."""
    sources = {"rules.latch": Source("rules.latch", text)}
    sources |= {f"{name}.latch": Source(f"{name}.latch", own) for name, own in beside.items()}
    trees: dict[str, File | None] = {}
    for name, source in sources.items():
        tree, faults = parse(source)
        assert tree is not None, faults
        trees[name] = tree
    main = trees.pop("rules.latch")
    assert main is not None
    return resolve(main, trees, sources)


def rules(text: str, **beside: str) -> RuleSet:
    """The rule set of a text without errors."""
    found, diagnostics = look(text, **beside)
    assert found is not None, diagnostics
    assert not has_errors(diagnostics)
    return found


def codes(text: str, **beside: str) -> list[str]:
    return [d.code for d in look(text, **beside)[1]]


def value(expression: str, more: str = "") -> ex.Number:
    """The resolved number of an expression over a few things that are always there."""
    found = rules(f"{COMMON}{more}\nvalue x = {expression}\nclaim c: never x is above x")
    return next(v.value for v in found.values if v.name == "x")


def signal(expression: str, more: str = "") -> ex.Signal:
    """The resolved signal of an expression over a few things that are always there."""
    found = rules(f"{COMMON}{more}\nsignal x = {expression}\nclaim c: never x")
    return next(s.signal for s in found.signals if s.name == "x")


COMMON = """
switch guard positions off, middle, on
button left
stick throttle from 0 % to 100 %
sensor height { from -20 m to 500 m  stale after 2 s  changes from -18 m/s to 8 m/s }
sensor pack { from 0 V to 14 V }
sensor link { from 0 to 100 }
channel motor { follows throttle  from 0 % to 100 % }
latch engaged { set when guard is on }
latch armed { set when guard is on }
tune floor = 40 m from 30 m to 50 m
tune share = 2 from 1 to 4 in steps of 1
claim common: never engaged and armed and height is below floor and link is above share
"""
