"""From the entries of a listing to a test of them: the slips, the machines they make, the test, and what becomes of
each slip."""

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Literal

from latchproof.bench.can_do import Setting, Step, Way
from latchproof.bench.equal import Decided, decided, told_apart
from latchproof.bench.levels import levels
from latchproof.bench.observe import Expected, Sight, eye
from latchproof.bench.play import FINAL, bench
from latchproof.bench.position import Position, Table, shown_by
from latchproof.bench.reduce import reduced
from latchproof.bench.refused import refused
from latchproof.bench.search import search
from latchproof.bench.slips import Slip, slips
from latchproof.bench.trial_numbers import Numbers, put
from latchproof.listing.desk import Desk
from latchproof.listing.model import Entry
from latchproof.listing.motor_stop import stopped_channels
from latchproof.machine.compile import compile_rules
from latchproof.prove.workers import Workers
from latchproof.readback.raised import raised
from latchproof.rules.model import RuleSet
from latchproof.transmitter.model import Transmitter

State = Literal["shown", "nothing", "unseen", "not decided", "refused"]
"""`shown`: by the test, for certain. `nothing`: it changes nothing today, which is proved. `unseen`: it does something,
but nothing that is sure to be seen here. `refused`: these entries give nothing that works."""

Told = Callable[[str, int, int], None]
"""What is being done, how much of it is done, and how much there is."""


@dataclass(frozen=True, slots=True)
class Fate:
    """`step`: the number of the step by which it is shown, from 1. `read_back`: whether somebody who compares the
    device with the list, field by field, finds it. `why`: for what is refused."""

    slip: Slip
    state: State
    step: int | None = None
    read_back: bool = True
    why: str = ""


@dataclass(frozen=True)
class Done:
    """One step of the finished test: where everything stands after it, what is to be seen, and for each slip that can
    first be noticed here its place among the fates."""

    step: Step
    before: Setting
    after: Setting
    expected: Expected
    points_to: tuple[int, ...]


@dataclass(frozen=True)
class Trial:
    """`alone`: how many steps one test a slip would take, at most. `machines`: for each machine of the bench but the
    first, its place among the fates."""

    table: Table
    fates: tuple[Fate, ...]
    steps: tuple[Done, ...]
    alone: int
    machines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Copies:
    """Every slip with the rules that a transmitter then follows, or with why there are none. `tested`: the same with
    the numbers that are entered for the test only."""

    right: RuleSet
    slips: tuple[Slip, ...]
    rules: tuple[RuleSet | str, ...]
    right_tested: RuleSet
    tested: tuple[RuleSet | str, ...]


def copies(
    rules: RuleSet, entries: tuple[Entry, ...], t: Transmitter | None = None, numbers: Numbers | None = None
) -> Copies:
    """`rules`: those that the listing was made of, at its constants. `numbers`: test thresholds."""
    right = raised(entries, rules)
    if isinstance(right, tuple):
        raise ValueError(f"a listing that cannot be read back: {right[0].message}")
    made = slips(entries)
    followed = tuple(refused(s, t) or _followed(s.entries, s.lost, rules) for s in made)
    if not numbers:
        return Copies(right, made, followed, right, followed)
    tested = tuple(
        r if isinstance(r, str) else _followed(put(s.entries, numbers), s.lost, rules)
        for s, r in zip(made, followed, strict=True)
    )
    right_tested = _followed(put(entries, numbers), frozenset(), rules)
    if isinstance(right_tested, str):
        raise ValueError(f"test thresholds that do not fit: {right_tested}")
    return Copies(right, made, followed, right_tested, tested)


def _followed(entries: tuple[Entry, ...], lost: frozenset[str], rules: RuleSet) -> RuleSet | str:
    found = raised(entries, rules, lost=lost)
    if isinstance(found, tuple):
        return found[0].message
    machine, circle = compile_rules(found)
    return circle[0].title if machine is None else found


def trial(
    c: Copies, entries: tuple[Entry, ...], ways: Mapping[str, Way], sight: Sight, workers: Workers, *,
    seconds: float, at_once: int, told: Told = lambda what, done, of: None,
) -> Trial:  # fmt: skip
    """The whole of it. `seconds`: for each proof that a slip changes nothing."""
    working = [(n, r) for n, r in enumerate(c.tested) if not isinstance(r, str)]
    b = bench(c.right_tested, tuple(r for _, r in working), ways)
    table = Table(b, eye(b, sight), levels(b), motors=stopped_channels(Desk(c.right)))
    everyone = range(1, len(b.machines))
    found = search(table, everyone, lambda done, of: told("looking for slips", done, len(b.machines) - 1))
    shown = [k for k in everyone if k not in found.left]
    apart = _apart(c, table, found.steps, list(found.left), working)
    asked = [
        (k, real) for k in found.left if k not in apart and not isinstance(real := c.rules[working[k - 1][0]], str)
    ]
    with ThreadPoolExecutor(1) as beside:
        # The proofs run in processes of their own, while here the test is made shorter.
        proofs = beside.submit(decided, c.right, asked, workers, seconds, at_once)
        steps = reduced(table, found.steps, shown, lambda left: told("leaving out steps", len(found.steps) - left, 0))
        final = replace(table, manners=FINAL)
        sure = sorted(shown_by(final.all(steps, shown)[1], len(FINAL)))
        steps = reduced(final, steps, sure, lambda left: told("leaving out steps", 0, 0), thorough=False)
        walk, at = _walked(final, steps, [n for n, _ in working], sure)
        told("proving what changes nothing", 0, 0)
        answers: dict[int, Decided] = proofs.result()
    states: dict[Decided, State] = {"same": "nothing", "differs": "unseen", "not decided": "not decided"}
    place = {n: k for k, (n, _) in enumerate(working, 1)}
    fates = []
    for n, (slip, rules) in enumerate(zip(c.slips, c.tested, strict=True)):
        k = place.get(n, 0)
        seen = slip.entry > 0 and _printed(slip.entries) != _printed(entries)
        if isinstance(rules, str):
            fates.append(Fate(slip, "refused", None, seen, rules))
        elif k in at:
            fates.append(Fate(slip, "shown", at[k] + 1, seen))
        else:
            fates.append(Fate(slip, states[answers[k]] if k in answers else "unseen", None, seen))
    alone = sum(found.alone.get(k, at[k] + 1) if k in at else 0 for k in everyone)
    return Trial(final, tuple(fates), walk, alone, tuple(n for n, _ in working))


def _apart(
    c: Copies, table: Table, steps: tuple[Step, ...], unseen: list[int], working: list[tuple[int, RuleSet]]
) -> set[int]:
    """Of those the ones that do something, wherever the sensors may be, with the numbers that are really entered."""
    ways = table.bench.ways
    if all(w.kind in ("knob", "free") for w in ways.values()):
        return told_apart(table, steps, unseen)
    real = {k: r for k in unseen if not isinstance(r := c.rules[working[k - 1][0]], str)}
    b = bench(c.right, tuple(real.values()), {name: Way("free") for name in ways})
    found = told_apart(Table(b, eye(b, Sight()), levels(b)), steps, range(1, len(b.machines)))
    return {k for n, k in enumerate(real, 1) if n in found}


def _walked(
    table: Table, steps: tuple[Step, ...], places: list[int], sure: list[int]
) -> tuple[tuple[Done, ...], dict[int, int]]:
    """The finished test step by step, and by which step each slip is shown."""
    position: Position = table.start(sure)
    walk, found = [], []
    noticed: set[int] = set()
    for step in steps:
        want = table.right(position, step)
        after, keys = table.take(position, step, want)
        first = sorted({k for k, _ in keys} - noticed)
        noticed.update(first)
        found.append(keys)
        points = tuple(places[k - 1] for k in sorted({k for k, _ in keys}))
        walk.append(Done(step, position.setting, after.setting, want.expected, points))
        position = after
    return tuple(walk), shown_by(found, len(table.manners))


def _printed(entries: tuple[Entry, ...]) -> tuple[object, ...]:
    """What a person compares when he reads the device back to the list."""
    return tuple((x.number, x.kind, tuple((f.label, f.value) for f in x.fields)) for x in entries)
