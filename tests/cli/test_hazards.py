"""`latchproof hazards`."""

import json
from pathlib import Path

import pytest

from latchproof.cli import exits
from latchproof.show.visible import width
from tests.cli.commands import run
from tests.helpers.rules import ROOT

FLOOR = ROOT / "examples" / "floor_guard"
SMALL = """rules "Small"
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor height { from 0 m to 100 m  stale after 1 s }
role arm is guard is on
channel motor { follows throttle  from 0 % to 100 % }
rule climb while guard is on and height is fresh and height is below 30 m { drive motor to 50 % }
"""


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.latch"
    path.write_text(SMALL, "utf-8")
    return path


def test_what_fails_has_a_story_and_a_way_out(small: Path) -> None:
    ran = run("hazards", str(small), "--only", "H28")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    assert "fails, like this:" in ran.out
    assert "climb has lasted" in ran.out
    assert "timeout 7 s then blocked until guard is off" in " ".join(ran.out.split())
    assert "Before you use it" not in ran.out
    assert max(map(width, ran.out.splitlines())) <= 80
    assert "\x1b" not in ran.out


def test_what_is_printed_can_be_pasted(small: Path) -> None:
    """The lines of the remedy, pasted where it says, by hand: the condition, and the statement at the end."""
    ran = run("hazards", str(small), "--only", "H36")
    line = next(line.strip() for line in ran.out.splitlines() if "announce" in line)
    small.write_text(SMALL.replace("drive motor to 50 %", f"drive motor to 50 %  {line}"), "utf-8")
    assert run("hazards", str(small), "--only", "H36").code == exits.FINE


def test_an_accepted_one_is_told_with_its_reason_and_changes_the_exit_code(small: Path) -> None:
    small.write_text(SMALL + 'accept H28 in climb because "I look at it all the time"', "utf-8")
    ran = run("hazards", str(small), "--only", "H28")
    assert ran.code == exits.FINE
    assert 'climb: it does happen, accepted because "I look at it all the time"' in " ".join(ran.out.split())
    full = run("hazards", str(small), "--only", "H28", "--all")
    assert full.code == exits.FINE
    assert full.out.index("fails, like this:") < full.out.index('accepted: H28 because "I look')


def test_an_acceptance_of_nothing_is_told(small: Path) -> None:
    small.write_text(SMALL + 'accept H40 because "I type well"', "utf-8")
    ran = run("hazards", str(small), "--only", "H40")
    assert ran.code == exits.FINE
    assert "`accept H40` is not needed" in ran.out
    assert "Before you use it" in ran.out


def test_no_time_is_not_decided(small: Path) -> None:
    ran = run("hazards", str(small), "--only", "H28", "--time-limit", "0.001")
    assert ran.code == exits.UNDECIDED
    assert "not decided" in ran.out


def test_json(small: Path) -> None:
    ran = run("hazards", str(small), "--only", "H28", "h40", "H27", "--format", "json")
    assert ran.code == exits.FAULT
    data = json.loads(ran.out)
    assert (data["schema"], data["file"]) == ("latchproof.hazards/1", str(small))
    states = {h["number"]: h["state"] for h in data["hazards"]}
    assert states == {"H27": "not named", "H28": "fails", "H40": "procedure"}
    named, failing, procedure = data["hazards"]
    assert named["findings"][0]["add"].startswith("fact terrain = ")
    assert procedure["findings"][0]["when"] == "before the first flight"
    finding = failing["findings"][0]
    assert finding["verdict"]["trace"]
    text = SMALL
    for edit in sorted(finding["remedies"][0]["edits"], key=lambda e: -e["start"]):
        text = text[: edit["start"]] + edit["text"] + text[edit["end"] :]
    small.write_text(text, "utf-8")
    assert run("hazards", str(small), "--only", "H28").code == exits.FINE


def test_json_says_which_acceptances_are_for_nothing(small: Path) -> None:
    small.write_text(SMALL + 'accept H28 because "x"  accept H40 because "y"', "utf-8")
    data = json.loads(run("hazards", str(small), "--only", "H28", "H40", "--format", "json").out)
    assert data["unneeded"] == [{"hazard": "H40", "in": None, "reason": "y"}]
    assert [h["state"] for h in data["hazards"]] == ["accepted", "procedure"]


def test_a_stage(small: Path) -> None:
    small.write_text(SMALL + "stage quiet { warn only }", "utf-8")
    assert run("hazards", str(small), "--only", "H28", "--stage", "quiet").code == exits.FINE
    assert run("hazards", str(small), "--only", "H28", "--stage", "loud").code == exits.MISUSE


def test_an_unknown_hazard_is_misuse(small: Path) -> None:
    ran = run("hazards", str(small), "--only", "H41")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "there is no hazard H41; they are H01 to H40" in ran.err


def test_rules_with_an_error(tmp_path: Path) -> None:
    path = tmp_path / "bad.latch"
    path.write_text("rules", "utf-8")
    ran = run("hazards", str(path))
    assert (ran.code, ran.out) == (exits.FAULT, "")
    assert "error[" in ran.err


def test_what_a_check_takes_to_be_otherwise_is_no_fact_of_the_rules() -> None:
    ran = run("hazards", str(FLOOR / "mended.latch"), "--only", "H19", "H28", "--time-limit", "60")
    assert ran.code == exits.FINE
    said = " ".join(ran.out.split())
    assert "What cannot happen is proved, if a cycle takes 4 ms to 25 ms (ASSUMED); entries read this cycle's" in said
    assert "last cycle's" not in said


def test_two_that_cannot_both_be_had_are_shown_as_a_choice() -> None:
    path = ROOT / "tests" / "hazards" / "cases" / "H12_shows_choice.latch"
    ran = run("hazards", str(path), "--only", "H12", "--time-limit", "60")
    assert ran.code == exits.FAULT
    first, second = ran.out.split("You cannot have both. Done the other way, this happens:")
    assert first.count("fails, like this:") == second.count("fails, like this:") == 1
    data = json.loads(run("hazards", str(path), "--only", "H12", "--format", "json", "--time-limit", "60").out)
    (finding,) = (f for f in data["hazards"][0]["findings"] if f["state"] == "fails")
    assert finding["verdict"]["trace"]
    assert finding["otherwise"]["hazard"] == "H13"
    assert finding["otherwise"]["verdict"]["trace"]


def test_a_way_out_that_could_not_be_pasted_is_not_shown(small: Path) -> None:
    """The landing is told by the rule itself: to keep it away then would make it wait for itself."""
    text = SMALL + 'role landing is throttle is below 5 %  accept H01 because "x"'
    small.write_text(text, "utf-8")
    assert "to mend it" in run("hazards", str(small), "--only", "H29").out
    small.write_text(text.replace("throttle is below 5 %", "motor is driven"), "utf-8")
    ran = run("hazards", str(small), "--only", "H29")
    assert ran.code == exits.FAULT
    assert "fails" in ran.out
    assert "to mend it" not in ran.out
