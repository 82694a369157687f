"""Whatever stands in a listing: it is read back to rules that make a machine, or what is wrong is told."""

from dataclasses import replace
from random import Random

import pytest

from latchproof.listing import build
from latchproof.listing.model import Entry
from latchproof.machine.compile import compile_rules
from latchproof.readback.pinned import pinned
from latchproof.readback.raised import raised
from latchproof.rules import RuleSet
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules

CASES = [(case, build(pinned(case)).entries) for case in (rules(EVERYTHING), *map(load, EXAMPLES))]
VALUES = sorted({(f.kind, f.value) for _, entries in CASES for x in entries for f in x.fields})
ODD = ("", "entry 9999 true", "entry 1 true, 999 passes earlier", "(" * 300, "9" * 25 + " m", "always", "=1+1", "\x00")


def spoilt(entries: tuple[Entry, ...], chance: Random) -> tuple[Entry, ...]:
    """The entries with some of what they say taken from elsewhere."""
    made = list(entries)
    for _ in range(chance.choice((1, 1, 2, 3))):
        i = chance.randrange(len(made))
        x = made[i]
        match chance.randrange(8):
            case 0:
                del made[i]
            case 1:
                made[i] = replace(x, kind=chance.choice(made).kind)
            case 2:
                made[i] = replace(x, names=chance.choice(made).names)
            case what if x.fields:
                j = chance.randrange(len(x.fields))
                f = x.fields[j]
                same = [v for kind, v in VALUES if kind == f.kind]
                value = chance.choice(ODD) if what == 3 else chance.choice(same)
                made[i] = replace(x, fields=(*x.fields[:j], replace(f, value=value), *x.fields[j + 1 :]))
            case _:
                pass
    return tuple(made)


@pytest.mark.parametrize("seed", range(20))
def test_nothing_in_a_listing_is_a_fault_of_the_program(seed: int) -> None:
    chance = Random(seed)
    for _ in range(15):
        case, entries = chance.choice(CASES)
        found = raised(spoilt(entries, chance), case)
        if isinstance(found, RuleSet):
            assert compile_rules(found)[0] is not None
        else:
            assert found
            assert all(p.message for p in found)
