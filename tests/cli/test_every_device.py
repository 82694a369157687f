"""`latchproof prove --every-device` on small files."""

import json

import pytest

from latchproof.cli import exits
from tests.cli.commands import run

SET = """rules "Set" version "1"
cycle from 10 ms to 25 ms
device { reads last cycle  starts reset }
switch cut positions run, stop
channel motor 3 { rests at 40 %  from 0 % to 100 % }
latch off { set when cut is stop  reset when cut is run }
rule stop while off { drive motor to 0 % }
claim off_is_off: never motor is above 0 % while cut is stop
claim at_once strict: never motor is above 0 % while cut is stop
"""


@pytest.fixture(autouse=True)
def _files(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    (tmp_path / "set.latch").write_text(SET, encoding="utf-8")
    (tmp_path / "faulty.latch").write_text("device { reads often cycle }\n", encoding="utf-8")
    always = SET.partition("claim")[0] + "claim mine: always motor is at least 0 %\n"
    (tmp_path / "always.latch").write_text(always, encoding="utf-8")


def test_a_table_and_what_makes_a_difference() -> None:
    ran = run("prove", "--every-device", "set.latch")
    assert ran.code == exits.FAULT
    lines = ran.out.split("\n")
    assert max(map(len, lines)) <= 80
    rows = {line.split()[0]: line.split() for line in lines if line.startswith(("off_is_off", "at_once"))}
    assert rows["off_is_off"] == ["off_is_off", "reset", "proved", "+25", "ms*", "proved", "+25", "ms"]
    assert rows["at_once"] == ["at_once", "reset", "proved", "fails*", "proved", "fails"]
    assert "* the kind of device that the file describes: reads last cycle, starts reset" in lines
    told = " ".join(ran.out.split())
    assert "holds where the device reads this cycle, or reads listed order" in told
    assert "fails where the device reads last cycle, or reads unknown order" in told
    assert "where it reads last cycle, starts reset it fails, like this:" in told
    assert "on a transmitter whose entries read the last cycle's value of one another:" in told
    assert "\x1b" not in ran.out


def test_what_holds_everywhere() -> None:
    ran = run("prove", "--every-device", "always.latch")
    assert ran.code == exits.FINE
    assert ran.out.rstrip().endswith("2 promises on 8 kinds of device: 2 proved on all of them")


def test_json() -> None:
    ran = run("prove", "--every-device", "--format", "json", "set.latch", "faulty.latch")
    data = json.loads(ran.out)
    assert data["schema"] == "latchproof.devices/1"
    assert [f["file"] for f in data["files"]] == ["set.latch", "faulty.latch"]
    devices = data["files"][0]["devices"]
    assert data["files"][1]["devices"] == []
    assert "unknown-device-fact" in ran.err
    assert len({(d["reads"], d["starts"]) for d in devices}) == 8
    (own,) = [d for d in devices if d["declared"]]
    first, second, *_ = own["claims"]
    assert (first["name"], first["verdict"], first["allowance"]) == (
        "off_is_off", "proved", {"cycles": 1, "seconds": "0.025", "least": True},
    )  # fmt: skip
    assert (second["name"], second["verdict"], second["allowance"]) == ("at_once", "refuted", None)
    assert second["device"] == ["on a transmitter whose entries read the last cycle's value of one another"]
    assert second["trace"]


def test_one_line_for_each() -> None:
    ran = run("prove", "--every-device", "--format", "concise", "set.latch")
    lines = ran.out.strip().split("\n")
    assert (
        "set.latch:9:1: fails: claim at_once: never motor is above 0 % while cut is stop [reads last cycle, starts any]"
        in lines
    )
    assert len([line for line in lines if "claim off_is_off" in line]) == 8


def test_proof_records_are_of_one_kind_of_device() -> None:
    ran = run("prove", "--every-device", "--certificates", "folder", "set.latch")
    assert ran.code == exits.MISUSE
    assert "leave out --certificates or --every-device" in ran.err


def test_an_allowance_is_told() -> None:
    ran = run("prove", "set.latch")
    assert ran.code == exits.FAULT
    told = " ".join(ran.out.split())
    assert "proved with an allowance of 1 cycle (25 ms), if a cycle takes 10 ms to 25 ms (ASSUMED); " in told
    assert "entries read the last cycle's values (ASSUMED); all memory is reset at power-up (ASSUMED)" in told


def test_a_run_counts_what_is_late_as_kept(tmp_path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "table.csv").write_text("time,cut\n0,run\n0.02,stop\n0.04,stop\n0.06,run\n", encoding="utf-8")
    ran = run("run", "set.latch", "--inputs", "table.csv")
    told = " ".join(ran.out.split())
    assert "broken at 0.02 s: at_once" in told
    assert "broken at 0.02 s: off_is_off" not in told
    assert "counts as broken when it is more than 1 cycle (25 ms) late" in told
