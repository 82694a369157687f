"""Rules into a transmitter: numbers on its steps first, then only entries that it has. Pure; nothing is approximated.

Every rewriting leaves the rules exactly equal, cycle by cycle, on a transmitter whose entries read this pass's values.
Where entries read late, more entries one behind the other are later; `Change.late` says which changes add some, and the
promises are to be proved of what stands in the transmitter.
"""

from latchproof.fit import acting, comparing, counting, gates, lacking, linear, memories, mirrors, states, timing
from latchproof.fit.model import Fitted, once
from latchproof.fit.rounding import rounded
from latchproof.fit.shop import Shop, shallow
from latchproof.rules.model import RuleSet
from latchproof.transmitter.model import Transmitter


def fit(rules: RuleSet, transmitter: Transmitter) -> Fitted:
    numbers = rounded(rules, transmitter)
    shop = Shop(numbers.rules, transmitter)
    shop.rules = memories.said_earlier(shop.rules)
    shallow(shop)
    memories.sequences(shop)
    states.states(shop)
    counting.counters(shop)
    memories.bands(shop)
    linear.solved(shop)
    comparing.comparisons(shop)
    memories.latches(shop)
    timing.timing(shop)
    timing.edges(shop)
    gates.gates(shop)
    mirrors.mirrors(shop)
    acting.acting(shop)
    lacking.lacking(shop)
    return Fitted(
        numbers.rules,
        # what was only said in other words stands as it was written
        numbers.rules if shop.rules == memories.said_earlier(numbers.rules) else shop.rules,
        numbers.roundings,
        tuple(dict.fromkeys(shop.changes)),
        once((*numbers.misfits, *shop.misfits)),
    )
