"""The three descriptions that come with the program."""

import pytest

from latchproof.source import Source
from latchproof.transmitter.generic import NAMES, generic, text
from latchproof.transmitter.read import read
from latchproof.transmitter.write import write


@pytest.mark.parametrize("name", NAMES)
def test_they_are_read_without_a_message(name: str) -> None:
    found, diagnostics = read(Source(name, text(name)))
    assert diagnostics == ()
    assert found == generic(name)


@pytest.mark.parametrize("name", NAMES)
def test_they_say_that_they_are_invented(name: str) -> None:
    assert "GENERIC AND INVENTED" in text(name)
    assert "invented" in generic(name).name
    assert {"reads", "starts", "periods.logic", "telemetry.stale"} <= generic(name).assumed


@pytest.mark.parametrize("name", NAMES)
def test_they_stand_as_they_would_be_written(name: str) -> None:
    """So that a new key or a better comment reaches them too."""
    head, _, _ = text(name).partition("\n\n")
    _, _, remark = head.partition("GENERIC")
    remark = ("GENERIC" + remark).replace("\n# ", " ")
    assert write(generic(name), (remark,)) == text(name)


def test_what_each_is_there_for() -> None:
    small, typical, rich = (generic(name) for name in NAMES)
    assert small.gates.inputs == 2
    assert "latch" in small.room.absent
    assert not small.comparisons.difference
    assert small.delays.steps.step > typical.delays.steps.step > rich.delays.steps.step
    assert not rich.room.absent
    assert rich.comparisons.rate
    assert len({t.reads for t in (small, typical, rich)}) == 3


def test_another_name_is_none_of_them() -> None:
    with pytest.raises(KeyError):
        text("../typical")
