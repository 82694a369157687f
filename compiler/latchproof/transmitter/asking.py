"""The questions in words, with how to find out the answer on any transmitter. Propeller off for every one of them.

From the general to the special, in groups; `questions` decides which of them come up.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Words:
    """`ask`: the question; `how`: how to find out, "" where one simply knows; `group`: under which heading."""

    group: str
    ask: str
    how: str = ""


GENERAL = "The transmitter in general"
HANDS = "What your hands move"
HAS = "What the model has already"
ROOM = "How many entries there are"
GATES = "Joining conditions"
COMPARING = "Comparing numbers"
DELAYS = "Waiting"
ACTING = "Acting on channels"
SOUNDS = "Sounds"
TELEMETRY = "Telemetry"
INSIDE = "How it works inside"

GROUPS = (GENERAL, HANDS, HAS, ROOM, GATES, COMPARING, DELAYS, ACTING, SOUNDS, TELEMETRY, INSIDE)

ABOUT: dict[str, str] = {
    HANDS: "Name those that your rules will use, or could use. For a switch that moves sideways take left as away.",
    HAS: "Everything that moves a channel or hangs on a switch already: motor cut, mixes, flight phases and so on. "
    "Something forgotten here will fight with the rules later.",
    ROOM: "An entry is one line that you fill in: a comparison, a condition made of others, a wait, an action.",
    ACTING: "TAKE THE PROPELLER OFF before you try any of these.",
    TELEMETRY: "Try these on the bench, model switched on, PROPELLER OFF.",
    INSIDE: "Hardly anybody knows these by heart. Leave them at don't know unless you have tried: then everything "
    "that may be is proved for.",
}

KEYS: dict[str, Words] = {
    "name": Words(GENERAL, "What do you call this transmitter?"),
    "channels": Words(
        GENERAL,
        "How many channels reach the model?",
        "count the channels that the model's outputs can be given, not the servos plugged in",
    ),
    "order": Words(
        GENERAL,
        "What moves on channel 1, on channel 2 and so on? Use the names of your rule file if you have one: "
        "motor, elevator, ...",
        "move one stick at a time and see on the channel display which number moves",
    ),
    "room.total": Words(
        ROOM,
        "Is there one list that holds conditions of several kinds? How many entries has it?",
        "scroll to the end of that list; if every kind has a list of its own, say none",
    ),
    "room.absent": Words(
        ROOM,
        "Which of these kinds cannot be made at all?",
        "for each one ask: is there an entry that does just this? A kept value is a number that stays as it was at "
        "one moment; an edge is true for a moment only, when something begins",
    ),
    "room.each": Words(
        ROOM,
        "Which kinds have a list of their own, and how long is it?",
        "scroll to the end of each; usually actions on channels and announcements have their own",
    ),
    "gates.inputs": Words(
        GATES,
        "How many conditions can one entry join at most?",
        "begin an entry that joins conditions and count the places where one can be chosen",
    ),
    "gates.kinds": Words(
        GATES,
        "When can a joining entry be true: when all, any, or exactly one of its conditions is?",
        "see what can be chosen for how they are joined",
    ),
    "gates.inverts": Words(
        GATES,
        "Can a condition be taken as its opposite, as in `switch is NOT on`?",
        "choose a switch as a condition and look for a way to turn it round",
    ),
    "gates.later": Words(
        GATES,
        "May an entry use one that stands further down the list?",
        "in the first entry try to choose the last one as a condition",
    ),
    "comparisons.orders": Words(
        COMPARING,
        "Which comparisons are there?",
        "make an entry that compares a height with a number and see what can be chosen between them",
    ),
    "comparisons.of_two": Words(
        COMPARING,
        "Can two things that change be compared with each other, a stick with a knob for instance?",
        "in a comparison try to choose a knob in the place of the number",
    ),
    "comparisons.difference": Words(
        COMPARING,
        "Can the difference of two changing things be compared with a number?",
        "look for a comparison that takes two sources and a number, or a mix whose result can be compared",
    ),
    "comparisons.rate": Words(
        COMPARING,
        "Can it be compared how fast a reading changes, metres a second of the height for instance?",
        "look for such a comparison, or for a reading that is a rate already",
    ),
    "comparisons.band": Words(
        COMPARING,
        "Can one entry hold two thresholds: true above one, false again only below the other?",
        "see whether a comparison has room for a second number",
    ),
    "delays.steps": Words(
        DELAYS,
        "Which times can be set for a wait? One step up and down, smallest and greatest.",
        "set a wait, turn it to the smallest time, one step up, then to the greatest",
    ),
    "delays.zero": Words(DELAYS, "Can the time be zero?", "turn it all the way down"),
    "delays.kinds": Words(
        DELAYS,
        "Which waits are there: before it goes on, before it goes off, on for a fixed time (pulse)?",
        "see which times an entry has, and try each with a switch and a watch",
    ),
    "delays.where": Words(
        DELAYS,
        "When one entry joins conditions and waits as well, does it wait before or after joining them?",
        "join two switches with a wait of 5 s; put on the first, wait 6 s, put on the second: true at once is before, "
        "true 5 s later is after",
    ),
    "delays.again": Words(
        DELAYS,
        "When the cause of a fixed time comes again while it runs, does the time begin anew?",
        "set it to 5 s, flick the switch, flick it again after 4 s: 9 s in all is yes",
    ),
    "pulses.low": Words(
        ACTING,
        "What does the channel display show at one end, at a servo pulse of 1000 us?",
        "a servo tester or the maker's table tells; most often it is what stands there with the stick at its low end "
        "and all settings as delivered",
    ),
    "pulses.middle": Words(ACTING, "And at 1500 us, with the stick in the middle?"),
    "pulses.high": Words(ACTING, "And at 2000 us, with the stick at its high end?"),
    "pulses.travel": Words(
        ACTING, "What is the greatest servo travel that can be set?", "turn the end point of a channel up to its end"
    ),
    "actions.kinds": Words(
        ACTING,
        "What can be done to a channel: set it to a value (drive), add to it (move), keep it below a value "
        "(limit most), keep it above one (limit least)?",
        "make one of each on a channel that does nothing",
    ),
    "actions.percent": Words(
        ACTING,
        "Which values can it be given, and in what steps?",
        "turn the value to both ends, then one step back",
    ),
    "actions.ramps": Words(
        ACTING,
        "Can a channel be made to change slowly? How fast, in percent a second? A setting that is a time counts too: "
        "divide 100 % by its seconds.",
        "look for a slow-down, for a channel or for an action; 2 s from 0 to 100 % is 50 %/s",
    ),
    "actions.level": Words(
        ACTING,
        "Does an action come before mixing or after it?",
        "on a model with a mix, set one stick's channel to a value and move the other stick: if the servo still "
        "moves, it is before mixing",
    ),
    "actions.trim": Words(
        ACTING,
        "Are trims added before an action, or after it?",
        "set a channel to a value, then move its trim: if the channel display moves, after",
    ),
    "actions.ends": Words(
        ACTING,
        "Do reversal and end points come before an action, or after it?",
        "set a channel to 50 %, then reverse it: if the display goes to the other side, after",
    ),
    "sounds.voice": Words(SOUNDS, "Can it speak words of your own?", "look whether a sound file of yours can be used"),
    "sounds.tone": Words(SOUNDS, "Can it play tones when a condition is true?", "tie a tone to a switch"),
    "sounds.vibration": Words(SOUNDS, "Can it shake in your hands when a condition is true?", "tie it to a switch"),
    "sounds.longest": Words(
        SOUNDS, "How long may one spoken text be?", "the manual tells, or the first file that is refused or cut off"
    ),
    "sounds.repeats": Words(
        SOUNDS,
        "Can a sound repeat itself while its condition is true? After which pauses?",
        "tie a sound to a switch, leave it on, and see which pauses can be set",
    ),
    "telemetry.stale": Words(
        TELEMETRY,
        "What is shown of a reading when no more arrives: its last value, or zero?",
        "let a battery voltage show, switch the model off, wait a minute, and look at an entry that compares it: not "
        "only at the display, which may say that it is lost",
    ),
    "telemetry.stale_after": Words(
        TELEMETRY,
        "How long does it take until a reading counts as lost?",
        "switch the model off and take the time until the display or the voice says so",
    ),
    "telemetry.height_zero": Words(
        TELEMETRY,
        "Where is height zero: where the model was switched on, where you set it to zero, or at sea level?",
        "switch the model off, carry it up some stairs, switch it on again: zero up there is power-on",
    ),
    "telemetry.cell": Words(
        TELEMETRY,
        "What is a cell voltage: of the lowest cell, the average of all, or the whole pack?",
        "compare it with a meter at the balance plug of a battery whose cells differ",
    ),
    "telemetry.quality": Words(
        TELEMETRY,
        "In what is the quality of the link shown?",
        "look at its value near the model: % or dB, dBm, or bare",
    ),
    "telemetry.worse": Words(
        TELEMETRY,
        "Which way does that number go when the link gets worse?",
        "put your hand around the antenna, or walk away with the transmitter",
    ),
    "telemetry.renamed": Words(
        TELEMETRY,
        "Does a sensor that is found a second time get a new name?",
        "search for sensors twice, and see whether any is there twice; entries go on using the old one, which is dead",
    ),
    "reads": Words(
        INSIDE,
        "When one entry uses another, does it see it as it is now (this cycle), always a moment late (last cycle), "
        "or late only when the other one stands further down (listed order)?",
        "chain five entries behind a switch that is turned round, and set a latch by: switch on AND end of chain. If "
        "flicking the switch sets it, entries see each other late. Try the five in rising and in falling order: set "
        "only in one of them is listed order",
    ),
    "starts": Words(
        INSIDE,
        "Are memories (latches, waits) always off when the transmitter is switched on (reset), or may they be as "
        "they were (any)?",
        "set a latch, switch the transmitter off and on, look; do it five times, and once by pulling its battery",
    ),
    "pulse": Words(
        INSIDE,
        "Is there a condition that is true for a short time after switching on? For how long?",
        "a timer that starts by itself and is below half a second will do; none if you know of none",
    ),
    "no_frame_before": Words(
        INSIDE,
        "How long after switching on does no telemetry arrive, for sure?",
        "switch the model on first, then the transmitter, and take the time until the first reading, ten times; "
        "take less than the shortest",
    ),
    "active_only": Words(
        INSIDE,
        "Do entries stand still while another flight phase is in use than the one they were made in?",
        "make a tone on a switch, change the flight phase, flick the switch",
    ),
    "periods.logic": Words(
        INSIDE,
        "How long does one pass over the entries take, at its shortest and its longest?",
        "the maker may say; else an entry that turns itself round, tied to a channel, can be seen on a fast recorder",
    ),
    "periods.outputs": Words(
        INSIDE,
        "How often are channels sent out, if not once in each pass?",
        "the maker tells; it depends on the link that is chosen",
    ),
    "periods.telemetry": Words(
        INSIDE, "How often are thresholds on telemetry looked at, if not once in each pass?", "only the maker tells"
    ),
}

ORDER: tuple[str, ...] = (
    "name", "channels", "order", "hand", "has", "room.total", "room.each", "room.absent", "gates.inputs",
    "gates.kinds", "gates.inverts", "gates.later", "comparisons.orders", "comparisons.of_two",
    "comparisons.difference", "comparisons.rate", "comparisons.band", "threshold", "delays.steps", "delays.zero",
    "delays.kinds", "delays.where", "delays.again", "actions.kinds", "actions.percent", "actions.ramps",
    "actions.level", "actions.trim", "actions.ends", "pulses.low", "pulses.middle", "pulses.high", "pulses.travel",
    "sounds.voice", "sounds.tone", "sounds.vibration", "sounds.longest", "sounds.repeats", "telemetry.stale",
    "telemetry.stale_after", "telemetry.height_zero", "telemetry.cell", "telemetry.quality", "telemetry.worse",
    "telemetry.renamed", "active_only", "starts", "reads", "pulse", "no_frame_before", "periods.logic",
    "periods.outputs", "periods.telemetry",
)  # fmt: skip
"""In which order they are asked; `hand`, `has` and `threshold` stand for the questions about each of them."""

LISTS: dict[str, Words] = {
    "hand.keep": Words(HANDS, "Keep the switches and sticks as they are described?"),
    "hand.name": Words(HANDS, "What do you call the next one (front left switch, say)? Nothing if there are no more."),
    "hand.name of": Words(
        HANDS, "Which {kind} shall be {input} of the rule file? What do you call it? None if there is none yet."
    ),
    "hand.means of": Words(
        HANDS,
        "Which place is which position of {input}? Say like: {example}.",
        "put it there and say what it shall mean; two places may be the same position",
    ),
    "hand.kind": Words(HANDS, "What is it?", "a button counts only if it springs back; a knob is a slider"),
    "hand.springs": Words(HANDS, "Does it go back by itself when you let go?"),
    "hand.rests": Words(HANDS, "To which place does it go back when you let go?", "put it there, let go, and look"),
    "hand.taken": Words(HANDS, "What does it do already on this model? Nothing if nothing."),
    "hand.serves": Words(HANDS, "What is it called in your rule file? Nothing if it is not in there."),
    "hand.means": Words(
        HANDS,
        "Which place is which position of the rule file? Say like: off is away, on is towards.",
        "the positions stand in the rule file behind the word positions",
    ),
    "hand.turned": Words(
        HANDS,
        "Do its numbers run the other way round?",
        "push it away from you and see whether the number shown grows; if it falls, say yes (throttle, too)",
    ),
    "has.keep": Words(HAS, "Keep what the model has as it is described?"),
    "has.what": Words(HAS, "What has the model got already? One at a time; nothing if there is no more."),
    "has.name": Words(HAS, "What do you call it?"),
    "has.channels": Words(
        HAS, "On which channels does it act? Like: 1, 4. Nothing if on none.", "watch the channel display"
    ),
    "has.uses": Words(HAS, "Which switches, buttons or sliders work it? Nothing if none does."),
    "threshold.which": Words(
        COMPARING,
        "Which kinds of reading do you want to compare? Name them all, with commas.",
        "those that your rule file has sensors for, and percent if it compares sticks or knobs",
    ),
    "threshold.shown": Words(COMPARING, "In which unit does your screen show {name}?"),
    "threshold.steps": Words(
        COMPARING,
        "Which thresholds can be set for {name}, in the unit on your screen?",
        "make a comparison with it, turn the number to both ends and one step back",
    ),
    "threshold.kept": Words(
        COMPARING,
        "Is {name} kept inside in another unit? In which steps? Say like: 1 m. None if not.",
        "change the unit of the display: numbers that come back different were kept in another unit",
    ),
}
