"""The devices to prove for, and what follows from a description for a rule set."""

from dataclasses import replace
from fractions import Fraction

from latchproof.machine.compile import compile_rules
from latchproof.rules.model import RuleSet
from latchproof.transmitter.build import unsure
from latchproof.transmitter.generic import NAMES, generic
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.variants import kinds, on, to_ask
from tests.helpers.rules import ROOT, rules_of

RULES = """\
rules "Weak battery" version "1"
cycle from 4 ms to 25 ms
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor pack { from 6 V to 13 V  frame every 500 ms  stale after 2 s  once stale keeps value measured }
sensor height { from 0 m to 400 m  frame every 500 ms }
channel motor 1 { follows throttle  from 0 % to 100 % }
rule cut while (guard is on and pack is below 9 V) for 2 s { drive motor to 0 % }
rule low while height is below 20 m { drive motor to 50 % }
priority cut over low
"""


def rules(text: str = RULES) -> RuleSet:
    return rules_of(text)


def known() -> Transmitter:
    return generic("typical")


def test_what_is_known_is_one_kind() -> None:
    (device,) = kinds(known())
    assert (device.reads, device.starts) == ("listed order", "reset")


def test_what_is_not_known_is_every_kind_the_most_general_first() -> None:
    found = kinds(unsure(unsure(known(), "reads"), "starts"))
    assert len(found) == 8
    assert (found[0].reads, found[0].starts) == ("unknown order", "any")
    assert len({(d.reads, d.starts) for d in found}) == 8
    assert len(kinds(unsure(known(), "starts"))) == 2
    assert len(kinds(unsure(known(), "reads"))) == 4


def test_memory_that_is_known_to_keep_is_not_proved_reset() -> None:
    assert [d.starts for d in kinds(replace(known(), starts="any"))] == ["any"]


def test_the_cycle_is_that_of_the_transmitter() -> None:
    (there,) = on(rules(), known())
    assert (there.cycle.shortest, there.cycle.longest) == (Fraction(5, 1000), Fraction(25, 1000))
    assert there.cycle.basis.kind == "assumed"
    measured = replace(known(), assumed=frozenset())
    assert on(rules(), measured)[0].cycle.basis.kind == "measured"


def test_a_stale_reading_is_that_of_the_transmitter() -> None:
    zero = replace(known(), telemetry=replace(known().telemetry, stale="zero"))
    pack, height = on(rules(), zero)[0].sensors
    assert (pack.stale_reads, dict(pack.bases)["reads_value"].kind) == (0, "assumed")
    assert "keeps_value" not in dict(pack.bases)
    assert height.stale_after is None
    timed = replace(zero, telemetry=replace(zero.telemetry, stale_after=Fraction(3)))
    pack, height = on(rules(), timed)[0].sensors
    assert (height.stale_after, height.stale_reads) == (3, 0)
    assert pack.stale_after == 2


def test_an_unknown_stale_reading_is_proved_both_ways() -> None:
    found = on(rules(), unsure(known(), "telemetry.stale"))
    assert [r.sensors[0].stale_reads for r in found] == [None, 0]
    assert len(on(rules(), unsure(unsure(known(), "telemetry.stale"), "starts"))) == 4


def test_where_nothing_goes_stale_nothing_is_doubled() -> None:
    text = RULES.replace("  stale after 2 s  once stale keeps value measured", "")
    assert len(on(rules(text), unsure(known(), "telemetry.stale"))) == 1


def test_what_has_to_be_asked() -> None:
    """Both readings of a lost sensor with all claims; the other devices only what can happen."""
    text = RULES + "claim off: always motor is at most 100 %\nclaim works: can motor is driven then motor is free\n"
    t = unsure(unsure(unsure(known(), "telemetry.stale"), "starts"), "reads")
    found = to_ask(rules(text), t)
    assert len(found) == len(on(rules(text), t)) == 16
    whole = [r for r in found if len(r.claims) == 2]
    assert [(r.sensors[0].stale_reads, r.device.reads, r.device.starts) for r in whole] == [
        (None, "unknown order", "any"),
        (0, "unknown order", "any"),
    ]
    assert all([c.name for c in r.claims] == ["works"] for r in found if r not in whole)
    without = to_ask(rules(RULES + "claim off: always motor is at most 100 %\n"), t)
    assert len(without) == 2
    assert len(to_ask(rules(text), known())) == 1


def test_a_start_signal_gets_the_name_of_the_rules() -> None:
    text = RULES.replace("switch guard", "device { gives power_up for 300 ms }\nswitch guard", 1)
    (device,) = kinds(generic("rich"), rules(text))
    assert device.pulse is not None
    assert (device.pulse.name, device.pulse.seconds) == ("power_up", Fraction(1, 5))
    assert device.no_frame_before == Fraction(1, 2)
    (without,) = kinds(generic("rich"), rules())
    assert without.pulse is None


def test_every_example_is_a_machine_on_every_device() -> None:
    for path in sorted(ROOT.glob("examples/*/*.latch")):
        there = rules_of(path.read_text(encoding="utf-8"), path.parent)
        for name in NAMES:
            for variant in on(there, generic(name)):
                machine, problems = compile_rules(variant)
                assert machine is not None, (path, problems)
