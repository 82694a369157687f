"""What is written is read back to the same transmitter."""

import tomllib
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from latchproof.source import Source
from latchproof.transmitter.build import unsure
from latchproof.transmitter.codecs import value_of
from latchproof.transmitter.generic import NAMES, generic
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.read import read
from latchproof.transmitter.schema import KEYS
from latchproof.transmitter.write import write
from tests.transmitter.strategies import again, transmitters

SLOW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@SLOW
@given(transmitters())
def test_it_comes_back_the_same(t: Transmitter) -> None:
    found, diagnostics = read(Source("t.toml", write(t)))
    assert diagnostics == ()
    assert found == t
    assert again(t) == t


@SLOW
@given(transmitters())
def test_it_is_toml_of_readable_lines(t: Transmitter) -> None:
    text = write(t, ("a remark",))
    assert tomllib.loads(text)["name"] == t.name
    assert all(len(line) <= 80 for line in text.splitlines() if line.startswith("#"))


@pytest.mark.parametrize("name", NAMES)
def test_every_answer_that_may_be_dont_know(name: str) -> None:
    for key in KEYS:
        if not key.may_be_unsure:
            continue
        t = unsure(generic(name), key.path)
        assert key.path in t.unknown
        assert key.path not in t.assumed
        found, diagnostics = read(Source("t.toml", write(t)))
        assert (found, diagnostics) == (t, ())


def test_the_examples_in_the_comments_are_answers() -> None:
    """Whoever writes what a comment offers is understood."""
    t = generic("typical")
    lines = write(t).splitlines()
    for key in KEYS:
        at = next(i for i, line in enumerate(lines) if line.startswith(f"{key.name} ="))
        comment = " ".join(line.removeprefix("#").strip() for line in lines[max(0, at - 3) : at])
        if " like " in comment:
            example = comment.rpartition(' like "')[2].partition('"')[0]
            raw: object = [example] if example.startswith("comparison") else example
            assert not hasattr(value_of(key.codec, raw), "title"), (key.path, example)


def test_a_name_cannot_break_out_of_its_quotes() -> None:
    name = 'a" ]\\ # [x] = "'
    t = replace(generic("small"), name=name.strip())
    found, _ = read(Source("t.toml", write(t)))
    assert found is not None
    assert found.name == name.strip()
