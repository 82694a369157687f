"""Input that nobody writes: refused with a code, in time, and never with an exception."""

import random
import re
import time

import pytest

from latchproof.diagnostics import Diagnostic
from latchproof.source import Source
from latchproof.syntax import characters, parse
from latchproof.syntax.build import DEPTH_MOST
from latchproof.syntax.lexing import FAULTS_MOST, NESTING_MOST, TOKENS_MOST
from latchproof.syntax.numerals import DIGITS_MOST


def found(text: str) -> tuple[Diagnostic, ...]:
    file, diagnostics = parse(Source("x.latch", text))
    assert (file is None) == bool(diagnostics)
    return diagnostics


def only(text: str) -> tuple[str, int]:
    """Code and place of the only mistake."""
    (one,) = found(text)
    return one.code, one.labels[0].span.start


@pytest.mark.parametrize("text", ["", " \n\n", "\ufeff", "# only a comment", "# one\n\n# two\n"])
def test_empty(text: str) -> None:
    assert only(text) == ("empty-file", 0)


@pytest.mark.parametrize("character", [*"\u202e\u200f\u2066\u200b\ufeff\x1b\x07\x7f\x85\xad\u2028\ue000"])
@pytest.mark.parametrize("around", ["button ab{}cd", 'rules "a{}b"\nbutton c', "button a # {}", "button a {} button b"])
def test_invisible_characters(character: str, around: str) -> None:
    before, _ = around.split("{}")
    assert only(around.format(character)) == ("control-character", len(before))


def test_a_carriage_return_stands_only_before_a_line_feed() -> None:
    assert only("button a # b\rbutton c\n") == ("control-character", 12)
    assert found("button a # b\r\nbutton c\r\n") == ()


def test_a_byte_order_mark_is_read_at_the_start_only() -> None:
    assert found("\ufeffbutton a") == ()
    assert only("button a\ufeff") == ("control-character", 8)


def test_a_run_of_invisible_characters_is_one_mistake() -> None:
    assert only("button a" + "\u200b" * 5000 + "\nbutton b") == ("control-character", 8)
    assert len(found("\u200b \u200b" * 5000)) == characters.SHOWN_MOST


def test_binary() -> None:
    assert only("\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0") == ("not-text", 8)


def test_large_files() -> None:
    assert only("button b\n" * 1_111_112) == ("file-too-large", 0)


@pytest.mark.parametrize("depth", [NESTING_MOST + 1, 10_000, 500_000])
@pytest.mark.parametrize(("opening", "inner", "closing"), [("(", "g", ")"), ("part p takes signal a {", "", "}")])
def test_too_deep(depth: int, opening: str, inner: str, closing: str) -> None:
    depth = min(depth, 1_900_000 // len(opening + closing))
    head = "signal s = " if opening == "(" else ""
    text = head + opening * depth + inner + closing * depth
    code, place = only(text)
    assert code == "too-deep"
    assert place == len(head) + (NESTING_MOST + 1) * len(opening) - 1


def test_deep_enough() -> None:
    depth = NESTING_MOST - 1
    assert found("signal s = " + "(" * depth + "g is on" + ")" * depth) == ()


@pytest.mark.parametrize("sign", ["+", "-", "*", "/"])
def test_long_sums(sign: str) -> None:
    assert found("value a = " + f" {sign} ".join(["b"] * DEPTH_MOST)) == ()
    assert only("value a = " + f" {sign} ".join(["b"] * 4_000)) == ("too-deep", 10)
    assert [d.code for d in found("value a = " + f" {sign} ".join(["(b * c)"] * (DEPTH_MOST + 2)))] == ["too-deep"]


def test_depth_adds_up() -> None:
    """Brackets and sums count together: what is built is never deeper than the limit."""
    text = "1"
    for _ in range(40):
        text = f"({text}) + 1 + 1"
    assert [d.code for d in found(f"value a = {text}")] == ["too-deep"]
    text = "1"
    for _ in range(30):
        text = f"({text}) + 1 + 1"
    assert found(f"value a = {text}") == ()


def test_long_lists_are_flat() -> None:
    assert found("signal a = " + " and ".join(["b"] * 4_000)) == ()
    assert found("latch l { reset when " + " or ".join(["b"] * 4_000) + " }") == ()
    assert found("switch a positions " + ", ".join(["b"] * 4_000)) == ()


@pytest.mark.parametrize(
    ("number", "code"),
    [
        ("9" * 300_000, "number-too-long"),
        ("0." + "3" * 300_000, "number-too-long"),
        ("9" * (DIGITS_MOST + 1), "number-too-long"),
        ("1e999999", "scientific-notation"),
        ("1e-999999", "scientific-notation"),
        ("1" * 300_000 + "e5", "scientific-notation"),
        ("1e" + "9" * 300_000, "scientific-notation"),
        ("1" * 100_000 + "," + "1" * 100_000, "decimal-comma"),
        ("1." * 100_000, "incomplete-number"),
        ("." + "1" * 300_000, "incomplete-number"),
        ("5" + "x" * 300_000, "unknown-unit"),
        ("5 " + "x" * 300_000, "unknown-unit"),
    ],
    ids=lambda v: v[:8],
)
def test_numbers(number: str, code: str) -> None:
    (one,) = found(f"fact a = {number}")
    assert one.code == code
    assert len(one.title) + sum(len(label.text) for label in one.labels) + sum(map(len, one.hints)) < 400


def test_the_longest_number() -> None:
    assert found("fact a = " + "9" * DIGITS_MOST + " m") == ()


def test_many_words() -> None:
    text = "button b\n" * (TOKENS_MOST // 2 + 1)
    assert only(text)[0] == "too-many-words"


def test_many_mistakes() -> None:
    diagnostics = found("fact 3\n" * 1000)
    assert len(diagnostics) == FAULTS_MOST
    assert "more may follow" in diagnostics[-1].hints[-1]
    assert all("more may follow" not in "".join(d.hints) for d in diagnostics[:-1])


RANDOM = random.Random(7)
WORDS = re.findall(
    r"\S+", "latch set when reset { } ( ) and or is not 5 m fact value = drive to claim : never x , . 'a' <"
)

HOSTILE = {
    "angles": "<" * 1_000_000,
    "quotes": '"' * 1_000_000,
    "closing": "}" * 1_000_000,
    "opening": "{" * 1_000_000,
    "digits": "fact a = " + ("9" * 30 + " ") * 30_000,
    "spaces": "fact a = 5" + " " * 1_900_000 + "m",
    "numbers": "fact a = " + ("5" + " " * 1000 + "q") * 1900,
    "words": "a " * 900_000,
    "starters": "signal " * 280_000,
    "dots": "a." * 500_000,
    "minus": "value a = " + "-" * 1_000_000,
    "of": "value a = " + "size of " * 100_000,
    "once": "sensor s { " + "once stale " * 45_000,
    "comments": "#\n" * 300_000,
    "and": "signal a = " + "b and " * 20_000,
    "junk": "".join(RANDOM.choice('{}()<>=;:"#,.+-*/ \nabc5%') for _ in range(1_000_000)),
    "word junk": " ".join(RANDOM.choice(WORDS) for _ in range(90_000)),
    "brace junk": " ".join(RANDOM.choice(["{", "}", "x", "}", "="]) for _ in range(90_000)),
    "rule junk": "\n".join(" ".join(RANDOM.choice(WORDS) for _ in range(8)) for _ in range(15_000)),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_in_time(name: str) -> None:
    """Seconds of processor time: a machine under load is not what is measured."""
    begun = time.process_time()
    parse(Source("x", HOSTILE[name]))
    assert time.process_time() - begun < 10


def test_time_grows_with_the_text() -> None:
    def seconds(count: int) -> float:
        text = "\n".join(f"signal s{i} = a is on and (b or c) for 2 s" for i in range(count))
        begun = time.process_time()
        assert found(text) == ()
        return time.process_time() - begun

    seconds(100)
    assert seconds(2000) < 12 * seconds(500) + 0.2
