"""What statements come to."""

from fractions import Fraction

import pytest

from latchproof.rules import expressions as ex
from latchproof.rules import model
from latchproof.rules.units import UNITS
from tests.rules.reading import NOWHERE, codes, look, rules

BASE = """
switch guard positions off, on
switch stop positions run, halt
switch flaps positions clean, thermal, landing
stick throttle from 0 % to 100 %
stick pitch from -100 % to 100 %
stick roll from -100 % to 100 %
channel motor 3 { follows throttle  from 0 % to 100 % }
channel elevator { follows pitch  from -100 % to 100 %  up is negative  trim at most 15 % }
"""


def held(name: str) -> ex.Number:
    return ex.Controlled(name, span=NOWHERE)


def percent(n: int) -> ex.Constant:
    return ex.Constant(Fraction(n), UNITS["%"], span=NOWHERE)


def test_the_header() -> None:
    assert (rules('rules "Floor" version "3"').title, rules('rules "Floor" version "3"').version) == ("Floor", "3")
    assert rules('rules "Floor"').version is None
    assert rules("button left").title == "untitled rules"


def test_the_cycle() -> None:
    found = rules('cycle from 5 ms to 0.02 s measured 2025-05-03 "with a scope"').cycle
    assert (found.shortest, found.longest, found.declared) == (Fraction(1, 200), Fraction(1, 50), True)
    assert found.basis == model.Basis("measured", "2025-05-03", "with a scope")
    without = rules("button left").cycle
    assert (without.shortest, without.longest, without.declared) == (Fraction(5, 1000), Fraction(30, 1000), False)
    assert without.basis.kind == "assumed"


def test_a_sensor_with_all_its_facts() -> None:
    found = rules(
        """sensor height {
          from -20 m to 500 m  step 0.1 m  frame every 250 ms measured 2025-05-03 "log"  stale after 2 s
          once stale reads 0 ft  error 1.5 m assumed  changes from -18 m/s to 8 m/s  lag 200 ms
        }"""
    ).sensors[0]
    assert found == model.Sensor(
        "height",
        Fraction(-20),
        Fraction(500),
        UNITS["m"],
        step=Fraction(1, 10),
        frame_every=Fraction(1, 4),
        stale_after=Fraction(2),
        stale_reads=Fraction(0),
        error=Fraction(3, 2),
        change=(Fraction(-18), Fraction(8)),
        lag=Fraction(1, 5),
        bases=(("frame_every", model.Basis("measured", "2025-05-03", "log")), ("error", model.Basis("assumed"))),
        span=NOWHERE,
    )


def test_a_sensor_that_keeps_its_value() -> None:
    assert rules("sensor h { from 0 m to 9 m  stale after 2 s  once stale keeps value }").sensors[0].stale_reads is None


def test_channels() -> None:
    motor, elevator = rules(BASE).channels
    assert motor == model.Channel(
        "motor",
        3,
        held("throttle"),
        False,
        Fraction(0),
        Fraction(100),
        UNITS["%"],
        (("up", 1), ("down", -1), ("more", 1), ("less", -1)),
        span=NOWHERE,
    )
    assert (elevator.number, elevator.directions, elevator.trim) == (None, (("up", -1), ("down", 1)), Fraction(15))


def test_a_channel_at_rest() -> None:
    found = rules("channel hatch { rests at 20 %  from 0 % to 100 % }").channels[0]
    assert (found.rests, found.source) == (True, percent(20))


def test_a_channel_follows_a_table_in_the_order_of_the_switch() -> None:
    text = "channel mode { follows flaps as landing 100 %, clean 0 %, thermal throttle / 2  from 0 % to 100 % }"
    found = rules(BASE + text).channels[2]
    half = ex.Quotient(held("throttle"), ex.Constant(Fraction(2), UNITS[""], span=NOWHERE), span=NOWHERE)
    assert found.source == ex.FromTable("flaps", (percent(0), half, percent(100)), span=NOWHERE)


def test_a_mixer_gets_the_sticks_after_the_actions_on_them_however_it_is_named() -> None:
    text = "channel left { follows 0.5 * pitch + 0.5 * roll  from -100 % to 100 % }"
    plain = rules(BASE + text).channels[2].source
    named = "value half = 0.5 * roll\nvalue both = 0.5 * pitch + half\n"
    named += "channel left { follows both  from -100 % to 100 % }"
    assert rules(BASE + named + "\nclaim c: never both is above 3 %").channels[2].source == plain
    assert isinstance(plain, ex.Plus)
    assert isinstance(plain.left, ex.Product)
    assert plain.left.right == held("pitch")


def test_elsewhere_a_stick_is_what_the_pilot_holds() -> None:
    found = rules(BASE + "value half = throttle / 2\nclaim c: never half is above 3 %").values[0].value
    assert isinstance(found, ex.Quotient)
    assert found.left == ex.Held("throttle", span=NOWHERE)


def test_a_latch_with_everything() -> None:
    found = rules(
        BASE
        + """latch l { set when guard is on  reset when guard is off  reset when stop is halt  set wins
        timeout 8 s then blocked until guard is off }  claim c: never l"""
    ).latches[0]
    off = ex.AtPosition("guard", 0, span=NOWHERE)
    assert (found.sets, found.resets, found.set_wins) == (
        (ex.AtPosition("guard", 1, span=NOWHERE),),
        (off, ex.AtPosition("stop", 1, span=NOWHERE)),
        True,
    )
    eight = ex.Duration(ex.Constant(Fraction(8), UNITS["s"], span=NOWHERE), span=NOWHERE)
    assert found.timeout == model.Timeout(eight, off, None, span=NOWHERE)


def test_ramps_go_by_the_direction_that_the_channel_declares() -> None:
    speeds = "ramp up 30 %/s ramp down 20 %/s hand back 10 %/s"
    text = BASE + f"rule r while guard is on {{ move elevator up by 6 % {speeds} }}"
    action = rules(text).rules[0].actions[0]
    assert isinstance(action, model.Move)
    assert (action.channel, action.word, action.sign, action.amount) == ("elevator", "up", -1, percent(6))

    def rate(n: int) -> ex.Constant:
        return ex.Constant(Fraction(n), UNITS["%/s"], span=NOWHERE)

    assert action.modifiers == model.Modifiers(
        None, rising=rate(20), falling=rate(30), back=rate(10), words=(("up", rate(30)), ("down", rate(20)))
    )


def test_an_action_that_names_two_channels_is_one_for_each() -> None:
    text = BASE + "rule r while guard is on { drive motor, throttle to 35 % after 600 ms  announce tone every 2 s }"
    first, second, third = rules(text).rules[0].actions
    assert isinstance(first, model.Drive)
    assert isinstance(second, model.Drive)
    assert [first.channel, second.channel] == ["motor", "throttle"]
    assert first.modifiers == second.modifiers
    assert third == model.Announce(
        "tone", None, ex.Duration(ex.Constant(Fraction(2), UNITS["s"], span=NOWHERE), span=NOWHERE), span=NOWHERE
    )


def test_a_sequence() -> None:
    phases = "phase a for 2 s { drive motor to 0 % } phase b until stop is halt { } phase z { }"
    text = BASE + f"sequence s while guard is on {{ {phases} }}"
    found = rules(text).sequences[0]
    assert [p.name for p in found.phases] == ["a", "b", "z"]
    assert found.phases[0].lasts == ex.Duration(ex.Constant(Fraction(2), UNITS["s"], span=NOWHERE), span=NOWHERE)
    assert found.phases[1].until == ex.AtPosition("stop", 1, span=NOWHERE)
    assert (found.phases[2].lasts, found.phases[2].until) == (None, None)


def test_tunes_in_steps() -> None:
    found = rules("tune g = 2 from 1 to 3 in steps of 0.5\nclaim c: never g is above 3").tunes[0]
    assert found.steps == (Fraction(1), Fraction(3, 2), Fraction(2), Fraction(5, 2), Fraction(3))


def test_a_claim_quotes_itself() -> None:
    found = rules(
        BASE
        + """claim c "free":
           always motor is free   # unless
             and elevator is free
           while guard is off"""
    ).claims[0]
    assert found.text == "always motor is free and elevator is free while guard is off"
    assert found.sentence == "free"
    assert found.scope == model.Scope("while", ex.AtPosition("guard", 0, span=NOWHERE), span=NOWHERE)


def test_what_keeps_arriving() -> None:
    text = "sensor h { from 0 m to 9 m  frame every 250 ms }\nclaim c: never h is above 3 m provided h keeps arriving"
    assert rules(text).claims[0].arriving == ("h",)


def test_accepted_and_stages() -> None:
    found = rules(
        BASE
        + """rule r while guard is on { drive motor to 0 % }
        tune floor = 46 m from 30 m to 90 m  claim c: never floor is above 99 m
        accept H13 in r because "so be it"  accept H02 because "not here"
        stage a { warn only }  stage b { tune floor = 80 m }"""
    )
    assert found.accepted == (
        model.Accepted("H13", "r", "so be it", span=NOWHERE),
        model.Accepted("H02", None, "not here", span=NOWHERE),
    )
    assert found.stages == (
        model.Stage("a", True, (), span=NOWHERE),
        model.Stage("b", False, (("floor", Fraction(80)),), span=NOWHERE),
    )


@pytest.mark.parametrize("name", ["r", "q", "l", "h", "motor", "floor", "stick1"])
def test_a_hazard_is_accepted_in_whatever_it_may_be_found_in(name: str) -> None:
    found = rules(
        """switch guard positions off, on  stick stick1 from 0 % to 100 %  sensor h { from 0 m to 9 m }
        channel motor { follows stick1 from 0 % to 100 % }  tune floor = 4 m from 3 m to 9 m
        latch l { set when h is below floor  reset when guard is off }
        rule r while l { drive motor to 0 % }  sequence q while l { phase p { announce tone } }
        """
        f'accept H13 in {name} because "so be it"'
    )
    assert found.accepted == (model.Accepted("H13", name, "so be it", span=NOWHERE),)


# ---------- kill

RULES = """
rule cut while {cut} {{ drive motor to 0 % }}
rule climb while guard is on {{ drive motor to 35 % }}
rule lean while guard is on {{ drive elevator to 5 % }}
rule more while guard is on {{ move motor more by 5 % }}
sequence seq while guard is on {{ phase a for 1 s {{ }} phase b {{ drive motor to 3 % }} }}
role kill is stop is halt
"""


def pairs(text: str) -> list[tuple[str, str]]:
    return [(p.over, p.under) for p in rules(BASE + text).precedences]


@pytest.mark.parametrize(
    ("cut", "more"),
    [
        ("stop is halt", ""),
        ("(stop is halt)", ""),
        ("kill", ""),
        ("halted", "signal halted = stop is halt"),
        ("twice", "signal twice = halted\nsignal halted = kill"),
    ],
)
def test_the_kill_rule_outranks_those_that_drive_its_channels(cut: str, more: str) -> None:
    assert pairs(RULES.format(cut=cut) + more) == [("cut", "climb"), ("cut", "seq")]


def test_only_the_kill_signal_itself_does() -> None:
    assert pairs(RULES.format(cut="stop is halt and guard is on")) == []


def test_what_is_said_need_not_be_implied() -> None:
    text = RULES.format(cut="kill") + "priority cut over seq over climb"
    assert pairs(text) == [("cut", "seq"), ("seq", "climb")]


def test_what_is_said_to_the_contrary_is_an_error() -> None:
    assert codes(BASE + RULES.format(cut="kill") + "priority climb over seq over cut") == ["kill-outranked"] * 2


def test_several_chains_are_one_order() -> None:
    chains = "priority cut over climb\npriority climb over seq\npriority cut over climb"
    text = RULES.format(cut="guard is off") + chains
    assert pairs(text) == [("cut", "climb"), ("climb", "seq")]


# ---------- parts

PART = (
    "part held takes signal demand, value wait gives locked "
    "{ latch locked { set when demand for wait  reset when not demand } }\n"
)


def test_a_part_is_written_out_under_the_name_of_its_use() -> None:
    found = rules(BASE + PART + "use held as a with demand = guard is on, wait = 2 s\nclaim c: never a.locked")
    assert [x.name for x in found.latches] == ["a.locked"]
    assert [(x.name, x.signal) for x in found.signals] == [("a.demand", ex.AtPosition("guard", 1, span=NOWHERE))]
    demand = ex.NamedSignal("a.demand", span=NOWHERE)
    two = ex.Duration(ex.Constant(Fraction(2), UNITS["s"], span=NOWHERE), span=NOWHERE)
    assert found.latches[0].sets == (ex.Timed("for", demand, two, span=NOWHERE),)


def test_a_named_thing_is_handed_over_as_itself() -> None:
    text = "latch l { set when guard is on  reset when guard is off }\ntune w = 2 s from 1 s to 3 s\n"
    found = rules(BASE + text + PART + "use held as a with demand = l, wait = w\nclaim c: never a.locked")
    wait = ex.Duration(ex.Parameter("w", span=NOWHERE), span=NOWHERE)
    assert found.latches[1].sets == (ex.Timed("for", ex.NamedSignal("l", span=NOWHERE), wait, span=NOWHERE),)
    assert (found.signals, found.values) == ((), ())


def test_parts_from_another_file() -> None:
    use = "use held as a with demand = guard is on, wait = 2 s\nclaim c: never a.locked"
    text = 'include "kept.latch"\n' + BASE + use
    assert [x.name for x in rules(text, kept=PART).latches] == ["a.locked"]


def test_an_error_in_an_included_part_is_shown_there() -> None:
    use = "use held as a with demand = b is pressed, wait = 2 m\nclaim c: never a.locked"
    text = f'include "kept.latch"\nbutton b\n{use}'
    _, (found,) = look(text, kept=PART)
    assert found.code == "unit-mix"
    assert [label.span.source for label in found.labels] == ["kept.latch", "rules.latch"]


def test_parts_in_parts() -> None:
    text = """part inner takes signal x gives yes { latch yes { set when x  reset when not x } }
    part outer takes signal y gives both { use inner as a with x = y  use inner as b with x = a.yes
                                           signal both = a.yes and b.yes }
    use outer as o with y = guard is on
    claim c: never o.both"""
    found = rules(BASE + text)
    assert [x.name for x in found.latches] == ["o.a.yes", "o.b.yes"]
    assert found.latches[1].sets == (ex.NamedSignal("o.a.yes", span=NOWHERE),)


def test_an_included_file_holds_parts_only() -> None:
    main = 'include "kept.latch"\nbutton left'
    assert codes(main, kept='rules "x"\nbutton right\ninclude "more.latch"') == ["included-not-parts"] * 3


def test_an_included_file_that_could_not_be_read_is_not_reported_again() -> None:
    from latchproof.rules import resolve
    from latchproof.source import Source
    from latchproof.syntax import parse

    text = 'include "none.latch"\nbutton left\nuse held as a with demand = left is pressed\nclaim c: never a.locked'
    tree, _ = parse(Source("rules.latch", text))
    assert tree is not None
    assert resolve(tree, {"none.latch": None}, {}) == (None, ())


def test_kill_by_a_role_defined_by_a_part() -> None:
    text = PART + "use held as a with demand = stop is halt, wait = 0 s\nrole kill is a.locked\n"
    more = "rule cut while a.locked { drive motor to 0 % }\nrule climb while guard is on { drive motor to 35 % }"
    assert pairs(text + more) == [("cut", "climb")]
