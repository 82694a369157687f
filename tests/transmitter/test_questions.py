"""The questions: what comes up, what an answer does, and that nothing anybody types brings them down."""

import random
from pathlib import Path

import pytest

from latchproof.rules.units import UNITS
from latchproof.source import Source
from latchproof.transmitter.answers import choices
from latchproof.transmitter.asking import ABOUT, GROUPS, KEYS, LISTS, ORDER
from latchproof.transmitter.conflicts import conflicts
from latchproof.transmitter.generic import NAMES, generic
from latchproof.transmitter.hands import serving
from latchproof.transmitter.interview import result, step
from latchproof.transmitter.needs import Input, Needs, needs_of
from latchproof.transmitter.questions import State, begin
from latchproof.transmitter.read import read
from latchproof.transmitter.schema import KEYS as SCHEMA
from latchproof.transmitter.write import write
from tests.helpers.rules import ROOT, rules_of
from tests.layout.test_words import DEVELOPERS_ONLY


def answered(state: State, *lines: str) -> State:
    for line in lines:
        state = step(state, line)
        assert state.said == (), (line, state.said)
    return state


def upto(state: State, id: str) -> State:
    """Enter, and a name where one is needed, until that question stands."""
    for _ in range(200):
        assert state.question is not None
        if state.question.id == id:
            return state
        state = step(state, "" if state.question.default is not None else "a name")
        assert state.said == ()
    raise AssertionError(id)


def finished(state: State) -> State:
    while state.question is not None:
        state = step(state, "" if state.question.default is not None else "a name")
        assert state.said == ()
    return state


def typical() -> State:
    return begin(generic("typical"), generic=True)


def at(state: State) -> str:
    assert state.question is not None
    return state.question.id


# ---------- they cover the description


def test_every_key_is_asked_for() -> None:
    assert set(KEYS) == {k.path for k in SCHEMA}
    assert set(ORDER) == set(KEYS) | {"hand", "has", "threshold"}
    assert len(ORDER) == len(set(ORDER))


def test_each_group_once_and_in_order() -> None:
    groups = [
        KEYS[i].group if i in KEYS else {"hand": GROUPS[1], "has": GROUPS[2], "threshold": GROUPS[5]}[i] for i in ORDER
    ]
    assert [g for i, g in enumerate(groups) if i == 0 or groups[i - 1] != g] == list(GROUPS)
    assert set(ABOUT) <= set(GROUPS)


@pytest.mark.parametrize("words", [*KEYS.values(), *LISTS.values()], ids=lambda w: w.ask[:30])
def test_they_are_in_a_pilots_words(words: object) -> None:
    assert not DEVELOPERS_ONLY.search(str(words))


def test_how_to_find_out_is_said_of_all_that_cannot_be_seen() -> None:
    assert [path for path, words in KEYS.items() if not words.how] == ["name", "pulses.middle", "pulses.high"]


# ---------- what an answer does


@pytest.mark.parametrize("name", NAMES)
def test_enter_all_the_way(name: str) -> None:
    """Of the transmitter at hand nothing is claimed but what had to be answered."""
    state = finished(begin(generic(name), generic=True))
    found = result(state)
    assert len(state.answers) < 60
    assert found.unknown >= {"reads", "starts", "telemetry.stale", "periods.logic", "actions.level"}
    thresholds = {f"threshold.{x.quantity}" for x in found.comparisons.thresholds}
    not_asked = set() if found.sounds.voice or found.sounds.tone or found.sounds.vibration else {"sounds.repeats"}
    every = {k.path for k in SCHEMA} - {"name", "order"} - not_asked
    assert found.assumed == (every - found.unknown) | thresholds
    assert thresholds
    assert {"gates.inverts", "gates.inputs", "sounds.tone", "actions.kinds"} <= found.assumed
    assert found.gates.inputs == generic(name).gates.inputs
    assert found.hands == found.has == ()
    assert found.name == "a name"


def test_what_shows_itself() -> None:
    """Never anything that is proved in one way or the other, or that nobody sees on the screen."""
    assert {k.path for k in SCHEMA if k.shows_itself} == {
        "gates.inputs", "gates.kinds", "gates.inverts", "gates.later", "delays.zero", "delays.kinds",
        "comparisons.of_two", "comparisons.difference", "comparisons.rate", "comparisons.band", "actions.kinds",
        "sounds.voice", "sounds.tone", "sounds.vibration",
    }  # fmt: skip


def test_its_own_description_as_start_changes_nothing() -> None:
    mine = generic("rich")
    assert result(finished(begin(mine, generic=False))) == mine


def test_dont_know_where_it_is_no_answer() -> None:
    state = step(upto(typical(), "channels"), "?")
    assert state.said[0] == "this must be known"
    assert at(state) == "channels"


def test_a_question_mark_behind_means_assumed() -> None:
    found = result(answered(upto(typical(), "telemetry.stale"), "last ?"))
    assert found.telemetry.stale == "last"
    assert "telemetry.stale" in found.assumed
    assert "telemetry.stale" not in found.unknown


def test_back_and_forth() -> None:
    state = answered(typical(), "mine", "8")
    assert answered(state, "back", "back").answers == ()
    assert step(typical(), "back").said
    assert answered(state, "back", "9", "none").by_id["channels"] == "9"


def test_hands() -> None:
    state = answered(
        upto(typical(), "hand.1.name"),
        *("left front", "switch of 3 places", "no", "nothing", "guard", "off is away, on is towards"),
        *("left stick", "stick", "yes", "motor", "nothing"),
    )
    switch, stick = result(state).hands
    assert (switch.places, switch.serves) == (("away", "middle", "towards"), "guard")
    assert switch.means == (("off", "away"), ("on", "towards"))
    assert (stick.turned, stick.taken) == (True, "motor")
    assert at(state) == "hand.3.name"
    same = step(state, "left front")
    same = step(same, "button") if not same.said else same
    assert same.said == ("`left front` comes twice", "give each its own name")


def test_to_which_place_it_springs() -> None:
    state = answered(upto(typical(), "hand.1.name"), "x", "switch of 2", "yes")
    assert at(state) == "hand.1.rests"
    assert step(state, "").said
    assert step(state, "middle").said[0] == "`middle` is none of the answers"
    (hand,) = result(answered(state, "away", "nothing", "nothing", "no more")).hands
    assert (hand.springs, hand.rests) == (True, "away")


def test_a_place_that_the_switch_has_not() -> None:
    state = answered(upto(typical(), "hand.1.name"), "x", "switch of 2", "no", "nothing", "guard")
    assert step(state, "on is middle").said[0] == "this switch has no place middle"


def test_two_places_that_mean_the_same() -> None:
    needs = Needs((Input("stop", "switch", ("run", "stop")),))
    state = upto(begin(generic("typical"), generic=True, needs=needs), "hand.1.name")
    state = answered(state, "right", "switch of 3", "", "")
    assert step(state, "stop is middle, stop is towards").said[0] == "and where is run?"
    assert step(state, "run is away, stop is towards, stop is towards").said[0] == "stop is towards is said twice"
    assert step(state, "run is away, run is towards, stop is towards").said[0].startswith("two positions at one place")
    state = answered(state, "run is away, stop is middle, stop is towards", "no more")
    assert result(state).hands[0].means == (("run", "away"), ("stop", "middle"), ("stop", "towards"))
    found, diagnostics = read(Source("t.toml", write(result(state))))
    assert (found, diagnostics) == (result(state), ())


def test_what_the_model_has() -> None:
    state = answered(upto(typical(), "has.1.what"), "throttle cut", "", "1, 3", "left front", "no more")
    (has,) = result(state).has
    assert (has.what, has.name, has.channels, has.uses) == ("throttle cut", "throttle cut", (1, 3), ("left front",))


def test_what_does_not_matter_is_not_asked() -> None:
    state = answered(upto(typical(), "delays.kinds"), "on")
    assert "delays.again" not in {q.id for q in state.open}
    state = answered(upto(typical(), "sounds.voice"), "no", "no", "no")
    assert not {"sounds.longest", "sounds.repeats"} & {q.id for q in state.open}
    assert result(state).sounds.repeats is None
    state = answered(upto(typical(), "threshold.which"), "percent")
    assert not {"telemetry.cell", "telemetry.height_zero", "telemetry.quality"} & {q.id for q in state.open}


def test_feet_kept_in_metres() -> None:
    state = answered(upto(typical(), "threshold.which"), "height", "ft", "from 0 ft to 3000 ft by 5 ft", "1 m")
    (height,) = result(state).comparisons.thresholds
    assert (height.shown, height.kept, height.kept_step) == ("ft", "m", 1)


def test_answers_that_do_not_go_together() -> None:
    state = answered(upto(typical(), "channels"), "4")
    assert step(state, "a, b, c, d, e").said == ("5 names for 4 channels", "leave out those that do not exist")
    state = answered(upto(typical(), "room.each"), "comparison 8")
    assert step(state, "comparison").said[0] == "a list of comparison entries that do not exist"


def test_half_way_the_rest_is_not_known_or_assumed() -> None:
    found = result(answered(typical(), "mine", "8"))
    assert (found.name, found.channels) == ("mine", 8)
    assert "reads" in found.unknown
    assert {"delays.steps", "room.total"} <= found.assumed
    assert "channels" not in found.assumed


# ---------- with the names of a rule file


@pytest.mark.parametrize("path", sorted(ROOT.glob("examples/*/*.latch")), ids=lambda p: p.stem)
def test_with_the_names_of_a_rule_file(path: Path) -> None:
    """Whoever names a hand for each input has served them all, with a place for each position."""
    rules = rules_of(path.read_text(encoding="utf-8"), path.parent)
    needs = needs_of(rules)
    state = begin(generic("rich"), generic=True, needs=needs)
    while (question := state.question) is not None:
        number = question.id.split(".")[1] if question.id.startswith("hand.") else ""
        need = needs.inputs[int(number) - 1] if number and int(number) <= len(needs.inputs) else None
        match question.id.rpartition(".")[2]:
            case "name" if question.id == "name" or need is not None:
                assert need is None or need.name in question.ask
                state = step(state, f"hand {number}")
            case "means" if need is not None:
                ways = ("away", "middle", "towards") if len(need.positions) > 2 else ("away", "towards")
                state = step(state, ", ".join(f"{p} is {w}" for p, w in zip(need.positions, ways, strict=False)))
            case _:
                state = step(state, "")
        assert state.said == ()
    t = result(state)
    for served in serving(t, rules):
        assert served.hand is not None
        assert all(way for _, way in served.ways)
    assert not {"not served", "none free", "wrong kind", "no place", "serves nothing"} & {
        f.subject for f in conflicts(t, rules)
    }
    units = {UNITS[x.shown].dimension for x in t.comparisons.thresholds}
    assert all(s.unit.dimension in units for s in rules.sensors)


def test_going_on_asks_for_what_is_not_served_yet() -> None:
    needs = Needs((Input("guard", "switch", ("off", "on")), Input("clear", "button")))
    state = upto(begin(generic("typical"), generic=True, needs=needs), "hand.1.name")
    half = result(answered(state, "left", "", "", "", "off is away, on is towards"))
    state = upto(begin(half, generic=False, needs=needs), "hand.1.name")
    assert state.question is not None
    assert "clear" in state.question.ask
    found = result(answered(state, "thumb", "", "", "no more")).hands
    assert [(h.name, h.serves) for h in found] == [("left", "guard"), ("thumb", "clear")]
    anew = upto(begin(half, generic=False, needs=needs), "hand.keep")
    anew = answered(anew, "no")
    assert anew.question is not None
    assert "guard" in anew.question.ask
    assert result(anew).hands == ()


def test_positions_are_those_of_the_rule_file() -> None:
    needs = Needs((Input("guard", "switch", ("off", "on")),))
    state = upto(begin(generic("typical"), generic=True, needs=needs), "hand.1.name")
    state = answered(state, "left", "", "", "")
    assert step(state, "of is away, on is towards").said == ("there is no position of", "the positions are off and on")
    assert step(state, "off is away").said[0] == "and where is on?"
    assert answered(state, "nothing").said == ()
    (hand,) = result(answered(state, "off is towards, on is away")).hands
    assert hand.means == (("off", "towards"), ("on", "away"))


def test_an_input_that_nothing_serves_yet() -> None:
    needs = Needs((Input("guard", "switch", ("off", "on")), Input("clear", "button")))
    state = upto(begin(generic("typical"), generic=True, needs=needs), "hand.1.name")
    state = answered(state, "none", "thumb", "", "nothing", "no more")
    assert [(h.name, h.kind, h.serves) for h in result(state).hands] == [("thumb", "button", "clear")]


def test_channels_are_offered_in_their_order() -> None:
    needs = Needs(channels=("motor", "rudder"))
    state = upto(begin(generic("typical"), generic=True, needs=needs), "order")
    assert state.question is not None
    assert state.question.default == "motor, rudder ?"
    found = result(answered(state, ""))
    assert found.order == ("motor", "rudder")
    assert "order" in found.assumed


def test_enter_is_assumed_of_what_is_in_a_hand_or_in_a_model() -> None:
    needs = Needs((Input("guard", "switch", ("off", "on")), Input("clear", "button")))
    state = upto(begin(generic("typical"), generic=True, needs=needs), "hand.1.name")
    state = answered(state, "left", "", "", "", "nothing", "thumb", "button", "nothing", "no more")
    state = answered(state, "mix", "", "", "", "sound", "", "none", "none", "no more")
    found = result(state)
    assert {k for k in found.assumed if k.startswith(("hand", "has"))} == {
        "hand.left.kind", "hand.left.springs", "hand.left.taken", "has.mix",
    }  # fmt: skip
    assert result(finished(begin(found, generic=False))) == found
    half = result(State(state.start, True, tuple(a for a in state.answers if a[0] != "hand.2.taken")))
    assert "hand.thumb.taken" in half.assumed


def test_what_was_looked_at_stays_so_and_what_was_not_too() -> None:
    state = answered(typical(), "mine", "8", "motor", "no more", "no more")
    state = answered(upto(state, "threshold.which"), "height, voltage", "m", "from 0 m to 9 m by 1 m")
    mine = result(finished(state))
    assert "threshold.height" not in mine.assumed
    assert {"threshold.voltage", "delays.steps", "room.total"} <= mine.assumed
    assert not {"channels", "order"} & mine.assumed
    assert result(finished(begin(mine, generic=False))) == mine
    again = result(finished(answered(upto(begin(mine, generic=False), "room.total"), "30")))
    assert again.assumed == mine.assumed - {"room.total"}


# ---------- whatever is typed

LINES = (
    "", "", "", "", "?", "back", "yes", "no", "none", "nothing", "no more", "1", "4", "99999999999", "1.5", "a b",
    "left", "x ?", "switch of 3 places", "stick", "button", "mix", "height, voltage", "ft", "m", "no unit", "1 m",
    "from 0 ft to 9 ft by 1 ft", "from 0 s to 10 s by 1 s, from 5 s by 2 s", "from 0 % to 9 % by 1 %",
    "4 ms to 20 ms", "on is away", "on is away, off is away", "all, any", "comparison 3, gate 4", "1, 2, 40",
    "\u001b[2J", "\u202e", "'\"\\", "x" * 999, "-1 %", "0/0 %", ",,,", "=", "# [x]",
)  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_anything(seed: int) -> None:
    """At every moment it can be stopped, and what is written then is a description."""
    dice = random.Random(seed)
    name = dice.choice(NAMES)
    state = begin(generic(name), generic=dice.random() < 0.5)
    for i in range(150):
        question = state.question
        if question is None:
            break
        assert question.ask
        assert choices(question.key) is not None
        state = step(state, dice.choice(LINES))
        if i % 25 == 0 or state.question is None:
            t = result(state)
            found, diagnostics = read(Source("t.toml", write(t)))
            assert [(d.code, d.title) for d in diagnostics] == []
            assert found == t


@pytest.mark.parametrize("name", NAMES)
def test_enter_gives_what_is_shown(name: str) -> None:
    """The default of every question is an answer to it."""
    state = begin(generic(name), generic=False)
    while (question := state.question) is not None:
        assert question.default is not None, question.id
        typed = step(state, question.default)
        assert typed.said == ()
        state = step(state, "")
        assert state.answers == typed.answers
