"""The dangers that `accept` can name: numbers that stay the same, each with a short plain title."""

from collections.abc import Mapping
from types import MappingProxyType

TITLES: Mapping[str, str] = MappingProxyType(
    {
        "H01": "switching the guard on while the model is on the ground starts the motor",
        "H02": "the switch holds back the action, but what is remembered goes on behind it",
        "H03": "a sensor reads 0 before its first frame has come",
        "H04": "what is remembered, or a switch already on, acts at power-up",
        "H05": "an old reading of a silent sensor arms the guard",
        "H06": "the sensor falls silent, and the guard acts blindly or is gone unnoticed",
        "H07": "a sensor starts again from zero in flight",
        "H08": "the pressure of the air drifts, and the height with it",
        "H09": "a reading that flickers about a threshold switches on and off",
        "H10": "set and reset are true at the same time",
        "H11": "the model falls faster than the sensor reports",
        "H12": "switching off does not give the model back at once",
        "H13": "the motor jumps when the stick gets it back",
        "H14": "a guard works against the motor stop, or is left over after it",
        "H15": "a delayed action begins after the guard was switched off",
        "H16": "a time-out that begins again and again never runs out",
        "H17": "two rules drive one channel to different values",
        "H18": "the order of the entries decides, and differs on another transmitter",
        "H19": "two things read each other within one cycle",
        "H20": "up is down on this model",
        "H21": "a mix, a rate or a trim changes what a rule asked for",
        "H22": "a surface that two controls share has no travel left",
        "H23": "the knob for the strength of the guard is turned down",
        "H24": "a ramp is too fast or too slow",
        "H25": "the transmitter rounds numbers that are entered",
        "H26": "the guard is missing in one flight mode or model memory",
        "H27": "the ground is higher than the place of the take-off",
        "H28": "the guard stays engaged for too long",
        "H29": "the guard interferes with a landing approach",
        "H30": "the guard interferes with a launch",
        "H31": "the guard asks an almost empty battery for power",
        "H32": "the guard climbs through the greatest height allowed",
        "H33": "the guard flies the model towards people",
        "H34": "without a radio link the transmitter can do nothing",
        "H35": "the guard acts while instructor and pupil hand over",
        "H36": "a warning is not heard or not noticed",
        "H37": "a switch passes through its middle position",
        "H38": "a switch bounces or is knocked",
        "H39": "a number is entered in another unit",
        "H40": "a number is copied wrongly",
    }
)
