"""What is wrong with a description: where it is, what it is, what to write instead."""

import random
import re

import pytest

from latchproof.diagnostics import Diagnostic
from latchproof.diagnostics.catalogue import CATALOGUE
from latchproof.source import Source
from latchproof.transmitter.generic import generic, text
from latchproof.transmitter.read import read

TYPICAL = text("typical")


def messages(description: str) -> list[tuple[str, str, str, str]]:
    """Code, the text at the place, title, first hint; of each message."""
    source = Source("t.toml", description)
    found, diagnostics = read(source)
    assert (found is None) == bool(diagnostics)
    return [(d.code, _at(source, d), d.title, d.hints[0] if d.hints else "") for d in diagnostics]


def _at(source: Source, d: Diagnostic) -> str:
    span = d.labels[0].span
    assert 0 <= span.start <= span.end <= len(source.text)
    return source.text[span.start : span.end]


def changed(key: str, value: str, section: str = "") -> str:
    """The typical description with another value for a key (or without the key), its first one under a heading."""
    head, heading, rest = TYPICAL.partition(f"\n{section}\n") if section else ("", "", TYPICAL)
    line = re.compile(rf"^{key} = (?:\[\n(?:.*\n)*?\]|.*)$", re.MULTILINE)
    assert line.search(rest)
    return head + heading + line.sub(lambda _: f"{key} = {value}" if value else "", rest, count=1)


@pytest.mark.parametrize(
    ("description", "expected"),
    [
        (
            changed("channels", "8.5"),
            ("description-kind", "8.5", "channels: a whole number should stand here",
             "write a number from 1 to 64, without quotation marks"),
        ),
        (
            changed("channels", "0"),
            ("description-value", "0", "channels: 0 is beyond reason", "write a number from 1 to 64"),
        ),
        (changed("channels", "true"), ("description-kind", "true", "channels: a whole number should stand here",
                                       "write a number from 1 to 64, without quotation marks")),
        (
            changed("channels", ""),
            ("description-missing", "", "`channels` is missing",
             "write channels = ..., how many channels reach the model"),
        ),
        (
            TYPICAL.replace("\nchannels =", "\nchanels = 8\nchannels ="),
            ("description-key", "chanels", "there is no `chanels` here", "did you mean `channels`?"),
        ),
        (
            changed("steps", '"from 0,1 s to 5 s by 0.1 s"', "[delays]"),
            ("description-number", '"from 0,1 s to 5 s by 0.1 s"', "delays.steps: a comma in a number",
             "write 0.1, with a point"),
        ),
        (
            changed("steps", '"from 0 s to 5 m by 0.1 s"', "[delays]"),
            ("description-unit", '"from 0 s to 5 m by 0.1 s"', "delays.steps: this is in metres",
             "write it in seconds, as s is shown"),
        ),
        (
            changed("steps", '"from 5 s to 0 s by 0.1 s"', "[delays]"),
            ("description-value", '"from 5 s to 0 s by 0.1 s"', "delays.steps: the smaller number comes first",
             "5 s is not below 0 s"),
        ),
        (
            changed("travel", "125", "[pulses]"),
            ("description-number", "125", "the number 125 stands without its unit",
             'write it with its unit, in quotation marks: "125 %", if that is meant'),
        ),
        (
            changed("travel", '"125 percent"', "[pulses]"),
            ("description-unit", '"125 percent"', "pulses.travel: there is no unit `percent`", "write 125 %"),
        ),
        (
            changed("travel", '"1/0 %"', "[pulses]"),
            ("description-number", '"1/0 %"', "pulses.travel: a division by zero", "write it like 10 %"),
        ),
        (
            changed("stale", '"lst"', "[telemetry]"),
            ("description-value", '"lst"', "telemetry.stale: `lst` is none of the answers", "did you mean `last`?"),
        ),
        (
            changed("inverts", '"yes"', "[gates]"),
            ("description-kind", '"yes"', "gates.inverts: yes or no should stand here", "write true"),
        ),
        (
            changed("channels", '"don\'t know"'),
            ("description-value", '"don\'t know"', "\"don't know\" is no answer here",
             "it says: how many channels reach the model; look it up on the screen"),
        ),
        (
            changed("logic", '"25 ms to 4 ms"', "[periods]"),
            ("description-value", '"25 ms to 4 ms"',
             "periods.logic: no two times above 0 and at most a minute, in order",
             "write the shorter one first, such as 4 ms to 25 ms"),
        ),
        (
            changed("absent", '["latch", "action"]', "[room]"),
            ("description-conflict", TYPICAL[TYPICAL.index('["calculation') : TYPICAL.index('["calculation') + 1],
             "a list of action entries that do not exist", "take it out of `each` or out of `absent`"),
        ),
        (
            TYPICAL + '\n[[threshold]]\nquantity = "height"\nshown = "m"\nsteps = "from 0 m to 9 m by 1 m"\n',
            ("description-twice", '"height"', "`height` comes twice", "give each its own name"),
        ),
        (
            TYPICAL
            + '\n[[hand]]\nkind = "switch"\nname = "x"\nplaces = ["away", "towards"]\nmeans = ["on is middle"]\n',
            ("description-conflict", '["on is middle"]', "this switch has no place middle", "write away or towards"),
        ),
        (
            TYPICAL + '\n[[hand]]\nkind = "switch"\nname = "x"\nplaces = ["away", "towards"]\nrests = "away"\n',
            ("description-conflict", "rests", "a place to which it goes back, of one that does not go back by itself",
             "write springs = true, or take `rests` out"),
        ),
        (
            TYPICAL + '\n[[has]]\nwhat = "mix"\nname = "x"\nchannels = [13]\n',
            ("description-conflict", "[13]", "there is no channel 13 among 12", "write the number that the model uses"),
        ),
        (
            TYPICAL.replace("[delays]", "[dealys]"),
            ("description-key", "[dealys]", "there is no `dealys` here", "did you mean `delays`?"),
        ),
        (
            changed("assumed", '["periods.logik"]'),
            ("description-key", '["periods.logik"]', "there is no `periods.logik` to be assumed",
             "did you mean `periods.logic`?"),
        ),
        (
            TYPICAL.replace("[delays]", "[delays"),
            ("description-syntax", "\n", "this cannot be read: expected ']' at the end of a table declaration", ""),
        ),
    ],
    ids=lambda x: x[2][:40] if isinstance(x, tuple) else "",
)  # fmt: skip
def test_messages(description: str, expected: tuple[str, str, str, str]) -> None:
    found = messages(description)
    if expected[0] == "description-syntax":
        assert found[0][:3] == expected[:3]
    elif expected[2].startswith("a list of action"):
        assert (found[0][0], *found[0][2:]) == (expected[0], *expected[2:])
    else:
        assert expected in found


def test_several_at_once_in_the_order_of_the_file() -> None:
    found = messages('name = ""\nchannels = "x"\nnix = 1\n[gates]\ninputs = 1\n')
    assert [code for code, *_ in found if code != "description-missing"] == [
        "description-value",
        "description-kind",
        "description-key",
        "description-value",
    ]


@pytest.mark.parametrize(
    ("text", "title"),
    [
        ("", "this is empty, no description of a transmitter"),
        ("# nothing yet\n", "this is empty, no description of a transmitter"),
        ('[project]\nname = "x"\n[tool.x]\ny = 1\n', "this is no description of a transmitter"),
        ('name = "x"\nversion = "1"\n', "this is no description of a transmitter"),
    ],
)
def test_a_file_of_another_kind_gets_one_line(text: str, title: str) -> None:
    assert [t for _, _, t, _ in messages(text)] == [title]


@pytest.mark.parametrize(("said", "meant"), [("yes", "true"), ("no", "false"), ("off  # so", "false")])
def test_yes_without_quotation_marks(said: str, meant: str) -> None:
    ((code, _, title, hint),) = messages(changed("inverts", said, "[gates]"))
    assert (code, title, hint) == (
        "description-syntax",
        f"`{said.split()[0]}` is no value here",
        f"write inverts = {meant}",
    )


def test_of_a_misspelt_key_nothing_more_is_said() -> None:
    text = TYPICAL.replace("\ninputs =", "\ninputss =").replace("assumed = [", 'assumed = ["gates.inputs",')
    assert [t for _, _, t, _ in messages(text)] == ["there is no `inputss` here"]
    text = TYPICAL.replace("\nchannels =", "\nchanels =", 1)
    assert [t for _, _, t, _ in messages(text)] == ["there is no `chanels` here"]


def test_a_hardly_begun_file_gets_a_line_a_heading() -> None:
    missing = [m for m in messages('name = "x"\norder = []') if m[0] == "description-missing"]
    assert len(missing) == 7
    assert any(title == "`low`, `middle`, `high` and `travel` are missing under [pulses]" for _, _, title, _ in missing)


def test_what_is_left_out_is_not_known() -> None:
    found, diagnostics = read(Source("t.toml", changed("longest", "", "[sounds]")))
    assert diagnostics == ()
    assert found is not None
    assert found.sounds.longest is None
    assert "sounds.longest" in found.unknown


def test_what_is_not_known_is_not_assumed() -> None:
    """One of the two is a slip."""
    title = "`telemetry.stale` is both assumed and not known"
    assert title in [t for _, _, t, _ in messages(changed("stale", '"don\'t know"', "[telemetry]"))]


@pytest.mark.parametrize("said", ['"don\'t know"', '"don’t know"', '"unknown"', '"?"', '" Don\'t know "'])
def test_ways_to_say_that_one_does_not_know(said: str) -> None:
    found, _ = read(Source("t.toml", changed("inverts", said, "[gates]")))
    assert found is not None
    assert "gates.inverts" in found.unknown
    assert found.gates.inverts is False


def test_units_of_time_and_exact_numbers() -> None:
    found, _ = read(Source("t.toml", changed("stale_after", '"100 ms"', "[telemetry]")))
    assert found is not None
    assert found.telemetry.stale_after is not None
    assert found.telemetry.stale_after * 10 == 1


BEYOND_REASON = {
    "deep": "name = " + "[" * 20_000,
    "deep inline": "name = " + "{a=" * 20_000,
    "long number": "channels = " + "9" * 20_000,
    "exponent": "channels = 1e999999999",
    "not a number": "channels = nan",
    "a date that never was": "channels = 2023-02-30",
    "long": "# " + "x" * 70_000,
    "empty": "",
    "lone half": 'name = "\ud800"',
    "zero": "name = \0",
    "many tables": "[[hand]]\n" * 6_000,
    "many dots": "a" + ".a" * 20_000 + " = 1",
    "table for value": "[channels]\nx = 1",
    "value for table": "delays = 3",
    "list for table": "delays = [1]",
    "table for list": '[hand]\nname = "x"',
    "list in list": "order = [[1], [2]]",
    "numbers for texts": "order = [1, 2.5]",
    "decimals for channels": '[[has]]\nwhat = "mix"\nname = "m"\nchannels = [1.5]',
    "same key twice": 'name = "a"\nname = "b"',
    "strange units": '[[threshold]]\nquantity = "height"\nshown = "furlong"\nsteps = "from 0 m to 9 m"\nkept = 3',
    "hidden letters": 'name = "a\\u202eb"',
}


@pytest.mark.parametrize("description", BEYOND_REASON.values(), ids=BEYOND_REASON)
def test_nothing_brings_it_down(description: str) -> None:
    found = messages(description)
    assert found
    assert all(code in CATALOGUE and title for code, _, title, _ in found)


def test_any_damage_is_told_or_harmless() -> None:
    """A piece taken out, doubled or put elsewhere: a transmitter or messages, never an exception."""
    dice = random.Random(4)
    for _ in range(150):
        a, b = sorted(dice.randrange(len(TYPICAL)) for _ in range(2))
        b = min(b, a + dice.randrange(1, 60))
        at = dice.randrange(len(TYPICAL))
        piece = dice.choice(["", TYPICAL[a:b] * 2, TYPICAL[at : at + 30], '"', "[", "]]", "=", "'''", "\n"])
        messages(TYPICAL[:a] + piece + TYPICAL[b:])


def test_no_number_is_a_float() -> None:
    assert "float" not in repr(generic("rich"))
