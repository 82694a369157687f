"""`latchproof listing --transmitter`, and what is told when rules do not fit or a listing is not what they say."""

import json
from argparse import Namespace
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest

from latchproof.cli import exits
from latchproof.cli.listing import not_equal
from latchproof.listing import signals
from latchproof.readback.equal import Open
from latchproof.transmitter.generic import generic
from latchproof.transmitter.model import Kind, Room
from latchproof.transmitter.write import write
from tests.cli.commands import run

TEXT = """rules "Hook" version "1"
cycle from 4 ms to 30 ms assumed "no figure"
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor height { from 0 m to 300 m step 1 m frame every 250 ms stale after 1 s once stale keeps value }
role arm is guard is on
channel motor 1 { follows throttle from 0 % to 100 % }
tune low = 40 m from 30 m to 60 m
rule slow while guard is on and height is fresh and height is below low { limit motor to at most 40 % }
claim mine "off and it is mine": always motor is free while guard is off
"""

MORE = "rule high while guard is on and height is above 90 m { limit motor to at most 60 % }\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(TEXT, encoding="utf-8")
    return tmp_path


@pytest.mark.usefixtures("folder")
def test_a_listing_for_a_transmitter() -> None:
    ran = run("listing", "--transmitter", "rich", "x.latch")
    assert ran.code == exits.FINE, ran.err
    for words in ("TRANSMITTER: rich", "that is proved", "FINGERPRINT: ", "All", "Propeller OFF",
                  "entries 1 to 4 read back"):  # fmt: skip
        assert words in ran.out or words.replace("All", "Its one promise") in ran.out


@pytest.mark.usefixtures("folder")
def test_the_same_as_data() -> None:
    ran = run("listing", "--transmitter", "typical", "--unproved", "--format", "json", "x.latch")
    found = json.loads(ran.out)
    assert found["on"]["transmitter"].startswith("typical")
    assert len(found["fingerprint"]) == 2
    again = run("listing", "--transmitter", "typical", "--unproved", "--format", "json", "x.latch")
    assert json.loads(again.out)["fingerprint"] == found["fingerprint"]


def test_another_number_has_another_fingerprint(folder: Path) -> None:
    first = json.loads(run("listing", "--unproved", "--format", "json", "x.latch").out)["fingerprint"]
    (folder / "x.latch").write_text(TEXT.replace("at most 40 %", "at most 45 %"), encoding="utf-8")
    assert json.loads(run("listing", "--unproved", "--format", "json", "x.latch").out)["fingerprint"] != first


def test_what_does_not_fit_is_told_and_nothing_is_listed(folder: Path) -> None:
    more = 'rule told while guard is on { move motor less by 3 %  announce voice "a voice" every 2 s }\n'
    (folder / "x.latch").write_text(TEXT + more, encoding="utf-8")
    ran = run("listing", "--transmitter", "small", "x.latch")
    assert (ran.code, ran.out) == (exits.FAULT, "")
    assert "do not fit" in ran.err
    assert "voice" in ran.err


ROOMS = (
    (Room(3), "are needed, the list has room for 3: "),
    (Room(None, tuple((kind, 1) for kind in get_args(Kind))), "the list has room for 1: 2 actions"),
)


@pytest.mark.parametrize(("room", "words"), ROOMS, ids=("one list", "a list of each"))
def test_more_entries_than_there_are_is_told_and_nothing_is_listed(folder: Path, room: Room, words: str) -> None:
    (folder / "x.latch").write_text(TEXT + MORE, encoding="utf-8")
    for t, wanted in ((replace(generic("rich"), room=room), exits.FAULT), (generic("rich"), exits.FINE)):
        (folder / "t.toml").write_text(write(t), encoding="utf-8")
        ran = run("listing", "--transmitter", "t.toml", "--unproved", "x.latch")
        assert (ran.code, bool(ran.out)) == (wanted, wanted == exits.FINE), ran.err
        if wanted == exits.FAULT:
            flat = " ".join(ran.err.split())
            assert words in flat
            assert "leaving out the rule" in flat
    for command in ("bench", "cards"):
        (folder / "t.toml").write_text(write(replace(generic("rich"), room=room)), encoding="utf-8")
        assert run(command, "--transmitter", "t.toml", "x.latch").code == exits.FAULT


@pytest.mark.usefixtures("folder")
def test_a_transmitter_that_is_not_there() -> None:
    assert run("listing", "--transmitter", "huge", "x.latch").code == exits.MISUSE


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("more", [(), ("--transmitter", "rich"), ("--unproved",)], ids=lambda x: " ".join(x) or "alone")
def test_a_listing_that_is_not_what_the_rules_say_is_never_printed(
    more: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(signals.RELATION, "<", "ABOVE")
    ran = run("listing", *more, "x.latch")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "internal error" in ran.err


@pytest.mark.parametrize(("given", "longer"), [(5.0, 120), (300.0, 1200)])
def test_where_it_is_not_settled_a_time_to_try_is_told(
    given: float, longer: int, capsys: pytest.CaptureFixture[str]
) -> None:
    code = not_equal(Open("no more time"), Namespace(time_limit=given))
    said = capsys.readouterr().err
    assert code == exits.UNDECIDED
    assert "not settled" in said
    assert f"--time-limit {longer}, " in said


@pytest.mark.usefixtures("folder")
def test_dangers_are_looked_for_in_what_is_listed() -> None:
    ran = run("listing", "--transmitter", "rich", "--hazards", "--format", "json", "x.latch")
    found = {d["hazard"]: d["state"] for d in json.loads(ran.out)["dangers"]}
    assert len(found) == 40
    assert ran.code == (exits.FAULT if "fails" in found.values() else exits.FINE)
    assert run("listing", "--hazards", "--unproved", "x.latch").code == exits.MISUSE
