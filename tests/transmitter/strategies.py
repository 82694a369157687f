"""Transmitters at random, as far as a description can say them."""

from fractions import Fraction

from hypothesis import strategies as st

from latchproof.rules.units import UNITS
from latchproof.transmitter.build import rows, transmitter
from latchproof.transmitter.codecs import (
    LARGEST,
    Amount,
    Codec,
    Counts,
    Flag,
    Grid,
    Numbers,
    Pairs,
    Pick,
    Row,
    Several,
    Text,
    Texts,
    Times,
    Whole,
)
from latchproof.transmitter.model import Steps, Transmitter
from latchproof.transmitter.schema import BY_PATH, KEYS, QUANTITIES, WAYS, Key

names = st.text("aeZ0 -.'\"\\#=[]{}äß\u3042\U0001f6e9", min_size=1, max_size=12).filter(
    lambda s: s == s.strip() and s.isprintable()
)
"""With everything that could break out of quotation marks."""


def fractions(low: Fraction, high: Fraction) -> st.SearchStrategy[Fraction]:
    """Decimals as people write them, and some thirds and sevenths."""
    return st.sampled_from((1, 10, 1000, 3, 7)).flatmap(
        lambda n: (
            st.integers(-(-low * n // 1), high * n // 1).map(lambda x: Fraction(x, n))
            if -(-low * n // 1) <= high * n // 1
            else st.sampled_from((low, high))
        )
    )


@st.composite
def steps(draw: st.DrawFn) -> Steps:
    low = draw(fractions(Fraction(-(10**6)), Fraction(10**6)))
    high = low + draw(fractions(Fraction(1, 1000), Fraction(10**6)))
    step = draw(fractions(Fraction(1, 1000), Fraction(1000)))
    wider = []
    at, wide = low, step
    for _ in range(draw(st.integers(0, 2))):
        at = (at + high) / 2
        if at.denominator > 10**8 or abs(at.numerator) > 10**8:
            break
        wide += draw(fractions(Fraction(1, 1000), Fraction(1000)))
        if wide.denominator > 10**8 or wide.numerator > 10**8:
            break
        wider.append((at, wide))
    return Steps(low, high, step, tuple(wider))


def value(codec: Codec) -> st.SearchStrategy[object]:
    match codec:
        case Flag():
            return st.booleans()
        case Whole(low=low, high=high):
            return st.integers(low, high)
        case Pick(words=words):
            return st.sampled_from(words)
        case Several(words=pairs, least=least):
            return st.frozensets(st.sampled_from([v for _, v in pairs]), min_size=least)
        case Row(words=words):
            return st.lists(st.sampled_from(words), unique=True).map(tuple)
        case Amount(low=low, high=high):
            return fractions(low, min(high, LARGEST / 1000))
        case Grid():
            return steps()
        case Times():
            times = fractions(Fraction(1, 1000), Fraction(59))
            return st.tuples(times, times).map(lambda x: tuple(sorted(x)))
        case Text(empty=empty):
            return names | st.just("") if empty else names
        case Texts():
            return st.lists(names, max_size=4, unique=True).map(tuple)
        case Numbers():
            return st.frozensets(st.integers(1, 8), max_size=4).map(lambda x: tuple(sorted(x)))
        case Counts(words=words):
            return st.lists(
                st.tuples(st.sampled_from(words), st.integers(1, 999)), unique_by=lambda x: x[0], max_size=4
            ).map(tuple)
        case Pairs(words=words):
            return st.lists(st.tuples(names, st.sampled_from(words)), max_size=2).map(tuple)


def _of(key: Key) -> st.SearchStrategy[object]:
    plain = value(key.codec)
    return plain if key.nothing is None else plain | st.none()


@st.composite
def hands(draw: st.DrawFn) -> list[dict[str, object]]:
    found = []
    for name in draw(st.lists(names, unique=True, max_size=4)):
        kind = draw(st.sampled_from(("switch", "button", "stick", "slider")))
        places = draw(st.sampled_from((WAYS, ("towards", "away"), ("middle", "away")))) if kind == "switch" else ()
        ways = draw(st.permutations(places))[: draw(st.integers(0, len(places)))]
        positions = draw(st.lists(names.filter(lambda s: " is " not in s), min_size=3, max_size=3, unique=True))
        found.append(
            {
                "kind": kind,
                "name": name,
                "places": places,
                "springs": (springs := draw(st.booleans())),
                "rests": draw(st.none() | st.sampled_from(places)) if springs and places else None,
                "taken": draw(names | st.just("")),
                "serves": draw(st.just("")) if found else draw(names),
                "means": tuple(zip(positions, ways, strict=False)),
                "turned": draw(st.sampled_from((True, False, None))) if kind in ("stick", "slider") else False,
            }
        )
    return found


@st.composite
def thresholds(draw: st.DrawFn) -> list[dict[str, object]]:
    found = []
    for quantity in draw(st.lists(st.sampled_from(tuple(QUANTITIES)), unique=True, max_size=5)):
        dimension = draw(st.sampled_from(QUANTITIES[quantity]))
        units = [u for u in UNITS if UNITS[u].dimension == dimension and u not in ("cycle", "cycles")]
        kept = draw(st.none() | st.sampled_from(units))
        step = None if kept is None else draw(fractions(Fraction(1, 1000), Fraction(1000)))
        row = {"quantity": quantity, "shown": draw(st.sampled_from(units)), "steps": draw(steps())}
        found.append({**row, "kept": kept, "kept_step": step})
    return found


VALUES = st.fixed_dictionaries({key.path: _of(key) for key in KEYS})


@st.composite
def transmitters(draw: st.DrawFn) -> Transmitter:
    values = dict(draw(VALUES))
    unknown = draw(st.sets(st.sampled_from([k.path for k in KEYS if k.may_be_unsure])))
    assumed = draw(st.sets(st.sampled_from([k.path for k in KEYS]))) - unknown
    values |= {path: BY_PATH[path].unsure for path in unknown}
    values["channels"] = draw(st.integers(8, 64))
    low = draw(fractions(Fraction(-900), Fraction(0)))
    values |= {"pulses.low": low, "pulses.middle": low + 1, "pulses.high": low + 2}
    each = values["room.each"]
    assert isinstance(each, tuple)
    absent = values["room.absent"]
    assert isinstance(absent, frozenset)
    values["room.absent"] = absent - {kind for kind, _ in each}
    tables = {"hand": draw(hands()), "threshold": draw(thresholds()), "has": []}
    for name in draw(st.lists(names, unique=True, max_size=3)):
        what = draw(st.sampled_from(("throttle cut", "mix", "flight phase", "mode channel", "soft start", "other")))
        channels = draw(st.frozensets(st.integers(1, 8), max_size=3))
        uses = draw(st.lists(names, max_size=3).map(tuple))
        tables["has"].append({"what": what, "name": name, "channels": tuple(sorted(channels)), "uses": uses})
    unknown |= {f"hand.{h['name']}.turned" for h in tables["hand"] if h["turned"] is None}
    return transmitter(values, tables, frozenset(unknown), frozenset(assumed))


def again(t: Transmitter) -> Transmitter:
    """Taken apart and put together."""
    from latchproof.transmitter.build import value_at

    return transmitter({k.path: value_at(t, k.path) for k in KEYS}, rows(t), t.unknown, t.assumed)
