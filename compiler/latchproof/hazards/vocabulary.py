"""Facts with well-known names: what a hazard asks about the model, the sensors and the place, if the file states it.

A fact counts by its name and the kind of its unit. Nothing here is a default: without the fact the hazard that needs
it cannot be checked, and says which line to add.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from latchproof.hazards.site import Site
from latchproof.rules import expressions as e
from latchproof.rules.model import Fact
from latchproof.rules.units import UNITS


@dataclass(frozen=True, slots=True)
class Word:
    """`example` is a figure to begin with, in `unit`; it is never used by itself."""

    unit: str
    meaning: str
    example: str


VOCABULARY: Mapping[str, Word] = MappingProxyType(
    {
        # heights, as the model's own sensor shows them: above the place where it was switched on
        "ground": Word("m", "the most that the sensor shows while the model stands on the ground or is held", "5 m"),
        "lowest_safe": Word("m", "the model must never get lower than this", "10 m"),
        "ceiling": Word("m", "the model must never get higher than this", "120 m"),
        "terrain": Word("m", "the highest ground within reach", "5 m"),
        "obstacles": Word("m", "how high trees and masts stand above the ground", "12 m"),
        "drift": Word("m", "how far the zero of the height moves during a flying day", "8 m"),
        # how good a sensor is, and how fast news travels
        "noise": Word("m", "how far a reading flickers to either side", "1 m"),
        "settle": Word("s", "a sensor shows nonsense for so long after its first frame", "2 s"),
        "delay": Word("s", "from the frame to the moving surface: radio, servo", "300 ms"),
        # how the model flies
        "sink": Word("m/s", "the fastest descent", "15 m/s"),
        "climb_rate": Word("m/s", "the fastest climb", "8 m/s"),
        "recovery": Word("m", "height lost between the first movement of a surface and level flight", "8 m"),
        "cruise_speed": Word("m/s", "the fastest level flight", "15 m/s"),
        "longest_engagement": Word("s", "the longest that a rule may fly the model at a stretch", "8 s"),
        "longest_in_a_minute": Word("s", "the longest that a rule may fly the model in any minute", "20 s"),
        # the place
        "line_distance": Word("m", "from the model to people, at the least", "50 m"),
        # the motor and its battery
        "ramp_rate": Word("%/s", "the fastest that a rule may raise the motor's power", "150 %/s"),
        "rise_time": Word("s", "nine tenths of what a rule asks the motor for must be there in this time", "2 s"),
        "climb_power": Word("%", "the least power with which the model does not sink", "40 %"),
        "weak_voltage": Word("V", "below this, under load, the battery is nearly empty", "10.5 V"),
        "weak_power": Word("%", "the most power that a nearly empty battery is to give", "40 %"),
    }
)


def fact(site: Site, name: str) -> Fact | None:
    """The fact, if the file states it in a unit of the right kind."""
    dimension = UNITS[VOCABULARY[name].unit].dimension
    return next((f for f in site.rules.facts if f.name == name and f.unit.dimension == dimension), None)


def number(x: Fact) -> e.Number:
    """A fact in an expression: the number itself, or (a range) whatever lies in it."""
    if x.low == x.high:
        return e.Constant(x.low, x.unit, span=x.span)
    return e.Parameter(x.name, span=x.span)


def line(name: str) -> str:
    """The line that states a fact, to be pasted and put right."""
    word = VOCABULARY[name]
    return f'fact {name} = {word.example}  assumed "{word.meaning}"'
