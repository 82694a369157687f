"""`latchproof strength`: text, JSON and exit codes."""

import json
from pathlib import Path

import pytest

from tests.cli.commands import run

RULES = """rules "A lamp"
button test
channel lamp { rests at 0 %  from 0 % to 100 % }
rule shine while test is pressed { drive lamp to 100 % }
"""
NOTICES = "claim lit: whenever test is pressed then lamp is equal to 100 %\n"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("mute.latch").write_text(RULES, encoding="utf-8")
    Path("strong.latch").write_text(RULES + NOTICES, encoding="utf-8")
    Path("faulty.latch").write_text(RULES.replace("lamp to", "lump to"), encoding="utf-8")


def test_everything_is_noticed() -> None:
    ran = run("strength", "--no-cache", "--all", "strong.latch")
    assert ran.code == 0
    assert ran.out == (
        "rule shine: 3 of 3 noticed\n"
        "  noticed if\n"
        "  - `test is pressed` were `not test is pressed`: lit\n"
        "  - `drive lamp to 100 %` were missing: lit\n"
        "  - `drive lamp to 100 %` were `drive lamp to 90 %`: lit\n"
        "\n"
        "3 ways to weaken the rules by one step: 3 noticed\n"
    )


def test_nobody_would_notice() -> None:
    ran = run("strength", "--no-cache", "mute.latch")
    assert ran.code == 1
    assert ran.out == (
        "rule shine: 0 of 3 noticed\n"
        "  nobody would notice if\n"
        "  - `test is pressed` were `not test is pressed` (line 4)\n"
        "    this would notice:\n"
        "      claim shine_never: never lamp is driven and (not test is pressed)\n"
        "  - `drive lamp to 100 %` were missing (line 4)\n"
        "    this would notice:\n"
        "      claim shine_follows: whenever test is pressed then lamp is driven\n"
        "  - `drive lamp to 100 %` were `drive lamp to 90 %` (line 4)\n"
        "    this would notice:\n"
        "      claim shine_follows: whenever test is pressed then lamp is equal to\n"
        "        100 %\n"
        "\n"
        "3 ways to weaken the rules by one step: 3 that nobody would notice\n"
    )


def test_json() -> None:
    ran = run("strength", "--no-cache", "--format", "json", "strong.latch", "mute.latch", "faulty.latch")
    assert ran.code == 1
    assert "lump" in ran.err
    data = json.loads(ran.out)
    assert data["schema"] == "latchproof.strength/1"
    strong, mute, faulty = data["files"]
    assert [row["result"] for row in strong["weakenings"]] == ["noticed"] * 3
    assert {row["noticed_by"] for row in strong["weakenings"]} == {"lit"}
    assert [row["result"] for row in mute["weakenings"]] == ["unnoticed"] * 3
    assert mute["weakenings"][1] == {
        "element": "shine",
        "kind": "rule",
        "file": "mute.latch",
        "line": 4,
        "column": 42,
        "if": "`drive lamp to 100 %` were missing",
        "result": "unnoticed",
        "noticed_by": None,
        "hazard": None,
        "open": [],
        "open_hazards": [],
        "while_the_facts_hold": False,
        "matters_when_they_do_not": False,
        "suggested": "claim shine_follows: whenever test is pressed then lamp is driven",
    }
    assert faulty == {"file": "faulty.latch", "weakenings": []}
