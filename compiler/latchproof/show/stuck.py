"""Where a proof sticks, as one sentence: a state, and what happens in the next cycle."""

from collections.abc import Iterator, Mapping
from fractions import Fraction

from latchproof.prove.found import Stuck
from latchproof.rules.model import RuleSet, Sensor
from latchproof.run.program import Exact
from latchproof.show.phrases import joined
from latchproof.show.quantities import quantity, seconds

ENDING = "Nobody knows whether the rules ever come into this state."


def sentence(s: Stuck, rules: RuleSet) -> str:
    """`The proof sticks here: if ever armed is set and ..., then one cycle later it is broken.`"""
    before = joined([*_memory(s, rules), *_sensors(s.state, rules), *_waits(s.state, rules)])
    then = joined(_inputs(s.inputs, rules))
    good = f", and it was kept for {s.good} cycles before," if s.good else ""
    state = f"if ever {before}" if before else "in a state that no rule names"
    during = f" with {then}" if then else ""
    return f"The proof sticks here: {state}{good} then one cycle of {seconds(s.dt)}{during} breaks it. {ENDING}"


def _memory(s: Stuck, rules: RuleSet) -> Iterator[str]:
    for latch in rules.latches:
        if latch.name in s.state:
            yield f"{latch.name} is {'set' if s.state[latch.name] else 'not set'}"
    for counter in rules.counters:
        if counter.name in s.state:
            yield f"{counter.name} is {s.state[counter.name]}"
    for sample in rules.samples:
        if sample.name in s.state:
            yield f"{sample.name} is {quantity(Fraction(s.state[sample.name]), sample.unit)}"
    for tune in rules.tunes:
        if tune.name in s.parameters:
            yield f"{tune.name} is {quantity(s.parameters[tune.name], tune.unit)}"


def _sensors(state: Mapping[str, Exact], rules: RuleSet) -> Iterator[str]:
    for sensor in rules.sensors:
        heard, last, since = (state.get(f"{sensor.name}@{part}") for part in ("heard_before", "last", "since"))
        if heard is False:
            yield f"{sensor.name} has never been heard"
            continue
        if last is not None:
            yield f"{sensor.name} last read {_value(last, sensor)}"
        if since is not None:
            yield f"the last frame of {sensor.name} is {seconds(Fraction(since))} old"
        was = state.get(f"{sensor.name}@was")
        if was is not None:
            yield f"the true {sensor.name} is {_value(was, sensor)}"


def _waits(state: Mapping[str, Exact], rules: RuleSet) -> Iterator[str]:
    """Delays and time-outs that are running; those of the promise itself are its own affair."""
    for name, value in state.items():
        owner, _, part = name.partition("@")
        if isinstance(value, bool) or not value or owner.startswith(("claim ", "assume ")):
            continue
        if part == "on_for":
            yield f"{owner} has been set for {seconds(value)}"
        elif part.startswith("for") and part.endswith("elapsed"):
            yield f"a delay{f' in {owner}' if owner else ''} has run for {seconds(value)}"


def _inputs(inputs: Mapping[str, Exact], rules: RuleSet) -> Iterator[str]:
    for switch in rules.switches:
        bits = [f"{switch.name}@{k}" for k in range(1, len(switch.positions))]
        if any(bit in inputs for bit in bits):
            at = next((k for k in range(len(bits), 0, -1) if inputs.get(bits[k - 1])), 0)
            yield f"{switch.name} at {switch.positions[at]}"
    for button in rules.buttons:
        if button.name in inputs:
            yield f"{button.name} {'pressed' if inputs[button.name] else 'released'}"
    for control in rules.controls:
        if control.name in inputs:
            yield f"{control.name} at {quantity(Fraction(inputs[control.name]), control.unit)}"
    for sensor in rules.sensors:
        if inputs.get(f"{sensor.name}@frame") and f"{sensor.name}@reading" in inputs:
            yield f"a frame in which {sensor.name} reads {_value(inputs[f'{sensor.name}@reading'], sensor)}"


def _value(x: Exact, sensor: Sensor) -> str:
    return quantity(Fraction(x), sensor.unit)
