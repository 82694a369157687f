"""The card for the first flight: stage by stage, what is different, what to fly, what to expect, when to break off."""

from collections.abc import Iterator

from latchproof.cards.given import Given, Staged
from latchproof.cards.model import Ask, Block, Card, Part, Point, Say, Step, Table
from latchproof.cards.told import Actor, Told
from latchproof.hazards.takers import takers
from latchproof.listing import amounts, plain
from latchproof.listing.model import WayOut
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Sequence

FIRST_ON_THE_GROUND = ", on the ground with the propeller off, and in the air only if you mean to use it there"
AGAIN = "twice, each time with an ordinary flight in between"


def first_flight(g: Given) -> Card:
    return Card("first-flight", "First flight, by stages", tuple(_parts(g)))


def _parts(g: Given) -> Iterator[Part]:
    yield Part("", (
        Say("One stage after the other, never two in one flight. Each stage is entered, read back and tried on the "
            "bench, propeller off, before it is flown."),
        Say("Fly with an experienced helper beside you, high, far from people. The helper watches the height and the "
            "clock and says aloud what is due."),
        *_missing(g),
    ))  # fmt: skip
    if once := g.steps("once", "before the first flight"):
        yield Part("Before the first stage", tuple(Step(p.step + ("" if p.step.endswith(".") else ".")) for p in once))
    flown = 0
    for s in sorted(g.stages, key=lambda s: not s.stage.warn_only):
        flown += 1
        yield _stage(g, s)
    yield Part("The full rules" if flown else "The rules, for the first time", (
        *_different_full(g),
        *_fly(g.told, g.told, g.listing.way_out, warn=False),
        *_break_off(g.listing.way_out, False),
        *_record(g),
        Say("All of it as expected, twice: the rules may stay in. From now on the card for before the flight counts."),
    ), alone=flown > 0)  # fmt: skip


def _missing(g: Given) -> Iterator[Block]:
    if not any(s.stage.warn_only for s in g.stages):
        yield Say("These rules have no stage that only warns. Add the line  stage warn_only { warn only }  to the rule "
                  "file, and fly that first: it shows every wrong threshold and every missing reading, and moves "
                  "nothing.", True)  # fmt: skip
    if not any(s.stage.tunes for s in g.stages):
        numbers = ", ".join(plain.word(t.name) for t in g.rules.tunes)
        if numbers and takers(g.site):
            yield Say(f"No stage moves a number to a harmless place ({numbers}). If one of them is a height or a "
                      "time, consider such a stage before the full rules.")  # fmt: skip


# ---------- one stage


def _stage(g: Given, s: Staged) -> Part:
    warn = s.stage.warn_only
    name = plain.word(s.stage.name)
    told = Told(s.site)
    blocks: list[Block] = [*(_different_warn(g, s) if warn else ()), *_numbers(g, s)]
    if not warn:
        blocks.append(Say("Everything else is as in the full rules, also what moves. What is promised is proved for "
                          "every number in the range of a tune, so for these too."))  # fmt: skip
    blocks.append(Step(f"Enter the listing of this stage (latchproof listing --stage {s.stage.name}), not the full "
                       "one, and read it back."))  # fmt: skip
    blocks += _fly(g.told, told, s.listing.way_out, warn=warn)
    blocks += _break_off(s.listing.way_out, warn)
    blocks += _record(g)
    blocks.append(Say(f"Go on to the next stage when all of it was as expected {AGAIN}. If not, mend the rules or the "
                      "entries, and begin again with this stage."))  # fmt: skip
    head = "only warnings" if warn else "other numbers"
    return Part(f"Stage {name}: {head}", tuple(blocks), alone=True)


def _different_warn(g: Given, s: Staged) -> Iterator[Block]:
    left = s.left
    if left is None:
        yield Say("NOT PROVED YET that this stage leaves every channel to you. Do not fly it like this.", True)
    elif left.open:
        names = ", ".join(plain.word(n) for n in left.open)
        yield Say(f"NOT PROVED that this stage leaves these to you: {names}. Do not fly it.", True)
    else:
        names = ", ".join(plain.word(n) for n in left.proved)
        yield Say(f"Nothing moves: these rules only speak. PROVED: {names} {_is(left.proved)} left to you, whatever "
                  "happens.")  # fmt: skip
    stops = [x.name for x in g.site.acting if g.site.is_kill(x)]
    if stops:
        yield Say(f"THE MOTOR STOP OF THESE RULES IS OUT IN THIS STAGE (rule {', '.join(map(plain.word, stops))}), "
                  "like everything that acts. Fly it only with a motor stop that the model has outside of these "
                  "rules, and try that, propeller off, before.", True)  # fmt: skip
    resting = [plain.word(c.name) for c in g.rules.channels if c.rests]
    if resting:
        yield Say(f"Also what only these rules move stays at rest: {', '.join(resting)}.")


def _is(names: tuple[str, ...]) -> str:
    return "are" if len(names) > 1 else "is"


def _numbers(g: Given, s: Staged) -> Iterator[Block]:
    """All numbers that may be tuned: the names in the steps below stand for them."""
    here = dict(s.stage.tunes)
    rows = tuple(
        (plain.word(t.name), amounts.quantity(here.get(t.name, t.value), t.unit),
         amounts.quantity(t.value, t.unit) if here.get(t.name, t.value) != t.value else "the same")
        for t in g.rules.tunes
    )  # fmt: skip
    if rows:
        yield Table(("number", "in this stage", "in the full rules"), rows)


def _different_full(g: Given) -> Iterator[Block]:
    rows = tuple((plain.word(t.name), amounts.quantity(t.value, t.unit)) for t in g.rules.tunes)
    if rows:
        yield Table(("number", "now"), rows)
    if g.stages:
        yield Step("Enter the full listing, read every changed entry back, and do the bench test again, propeller off.")


# ---------- what to fly


def _fly(full: Told, told: Told, way: WayOut, *, warn: bool) -> Iterator[Block]:
    """`full` knows what the rules would do; `told` is the stage."""
    guards = [x for x in full.site.acting if not full.site.is_kill(x)]
    done: set[str] = set()
    used = []
    flying = takers(full.site)
    for x in guards:
        own = x.condition.name if isinstance(x.condition, e.NamedSignal) else ""
        for latch in full.latches(x):
            used += list(latch.sets)
            if latch.name not in done and latch.name != own:
                done.add(latch.name)
                yield Step(f"High up, bring it about that {plain.word(latch.name)} begins: {full.sets(latch)}.",
                           _announced(told, latch.name))  # fmt: skip
        used.append(x.condition)
        mine = next((y for y in full.latches(x) if y.name == own), None)
        when = full.when(x) if mine is None else f"{full.when(x)} begins {full.sets(mine)}"
        where = "" if warn or x in flying else FIRST_ON_THE_GROUND
        yield Step(f"Let {_called(x)} come in{where}: {when}.", _expected(full, x, warn), "break off")
    for y in full.rules.rules:
        if not full.seen(y):
            used.append(y.condition)
            yield Step(f"Let {_called(y)} speak, where that is safe to try: {full.when(y)}.", full.heard(y),
                       "break off: a warning is missing")  # fmt: skip
    for m in full.meanings(*used):
        yield Point(m)
    if flying and not warn and way.named:
        yield Step("While a rule acts, take the way out once, high up.", "the model is yours as the way out says",
                   "stop the motor, land, and find out why")  # fmt: skip


def _called(x: Actor) -> str:
    return f"{'sequence' if isinstance(x, Sequence) else 'rule'} {plain.word(x.name)}"


def _announced(told: Told, latch: str) -> str:
    """What is heard when a latch begins, if a rule's whole condition is that latch."""
    for x in told.rules.rules:
        if isinstance(x.condition, e.NamedSignal) and x.condition.name == latch and any(
            isinstance(a, Announce) for a in x.actions
        ):  # fmt: skip
            return told.heard(x)
    return "nothing is heard yet, and nothing moves"


def _expected(full: Told, x: Actor, warn: bool) -> str:
    heard = full.heard(x)
    if warn:
        return f"{heard}. Nothing moves: you fly the model out of it yourself"
    seen = "; ".join(full.seen(x))
    return f"{heard}. It {seen}. When it lets go, what it moved is yours again, or at its rest"


# ---------- when to break off, and what is written down


def _break_off(way: WayOut, warn: bool) -> Iterator[Block]:
    first = "something moves that you do not move; " if warn else "it does more, less or longer than it should; "
    yield Say(f"Break off at once when: {first}a sound is missing or comes at the wrong moment; a reading stands still "
              "or jumps; the model comes near people; you or your helper are in doubt.", True)  # fmt: skip
    if warn:
        yield Say("To break off: fly and land as always. The rules have nothing to let go of.")
    else:
        yield Say(f"To break off: {way.action}.", True)
        for text in way.still:
            yield Point(f"NOT stopped by it: {text}")


def _record(g: Given) -> Iterator[Block]:
    yield Step("The transmitter's log is running, and the clock of the log is known.")
    yield Ask("Date, place, wind, battery")
    for s in g.rules.sensors:
        yield Ask(f"{plain.word(s.name)} when each sound came, as the helper read it aloud")
    yield Ask("What was not as expected")
