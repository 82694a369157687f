"""What earlier runs found is used again, and nothing in the cache folder is ever believed."""

import json
import os
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from latchproof.cli import cache
from tests.cli.commands import Ran, process, run
from tests.prove.small import HEAD, PROVED, REFUTED, text

CLAIMS = (PROVED["never"], PROVED["length"], PROVED["truth"], PROVED["can"], REFUTED["never"], REFUTED["can"])

ROWS = list[dict[str, object]]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(cache.VARIABLE, str(tmp_path / "cache"))
    return tmp_path / "cache"


def proved(path: Path, *options: str) -> ROWS:
    ran = run("prove", str(path), "--format", "json", "--time-limit", "60", *options)
    assert ran.code in (0, 1), ran.err
    rows: ROWS = json.loads(ran.out)["files"][0]["claims"]
    for row in rows:
        del row["seconds"]
    return rows


def again(path: Path, *options: str) -> int:
    """How many verdicts the summary tells to be from last time."""
    out = run("prove", str(path), "--time-limit", "60", *options).out
    line = next(line for line in out.splitlines() if " promises: " in line or "1 promise: " in line)
    if "from last time" not in line:
        return 0
    count = line.partition("(")[2].split()[0]
    return int(line.split()[0]) if count == "all" else int(count)


def answers(folder: Path) -> list[Path]:
    return sorted((folder / "answers").iterdir())


def kept(folder: Path) -> Iterator[tuple[Path, dict[str, object]]]:
    for path in answers(folder):
        yield path, json.loads(path.read_text())


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    path = tmp_path / "small.latch"
    path.write_text(text(*CLAIMS))
    return path


def test_the_second_run_says_the_same_from_the_folder(folder: Path, rules: Path) -> None:
    first = proved(rules)
    assert len(answers(folder)) == len(first) >= len(CLAIMS)
    assert proved(rules) == first == proved(rules, "--no-cache")
    assert again(rules) == len(first)
    assert again(rules, "--no-cache") == 0


def test_only_what_an_edit_reaches_is_searched_again(folder: Path, rules: Path) -> None:
    total = len(proved(rules))
    rules.write_text(text(*CLAIMS).replace("ramp more 200 %/s", "ramp more 150 %/s"))
    assert not any("lamp" in c for c in CLAIMS)
    assert again(rules) == total
    rules.write_text(text(*CLAIMS).replace("timeout 3 s", "timeout 2.5 s"))
    assert again(rules) < total
    assert [said(r) for r in proved(rules)] == [said(r) for r in proved(rules, "--no-cache")]


def said(row: dict[str, object]) -> dict[str, object]:
    """All but how a proof was found."""
    return {what: value for what, value in row.items() if what != "engine"}


def test_last_times_proof_is_tried_on_the_rules_as_they_are_now(folder: Path, tmp_path: Path) -> None:
    """The proof of the first text stands for the second, whose question is another one."""
    path = tmp_path / "small.latch"
    path.write_text(text(PROVED["length"]))
    proved(path)
    path.write_text(text(PROVED["length"]).replace("timeout 3 s", "timeout 2.9 s"))
    row = next(r for r in proved(path) if r["name"] == "claim_0")
    assert (row["verdict"], row["engine"]) == ("proved", "last time's proof")


def test_last_times_proof_is_no_proof_of_what_is_no_longer_so(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "small.latch"
    path.write_text(text(PROVED["length"]))
    assert proved(path)[0]["verdict"] == "proved"
    path.write_text(text(PROVED["length"]).replace("timeout 3 s", "timeout 4 s"))
    assert proved(path)[0]["verdict"] == "refuted"


@pytest.mark.parametrize(
    "invariant",
    [
        "false",
        "true",
        "(not saving)",
        "(and saving (not saving))",
        "true) (assert false",
        "(= 1.0 2.0)",
        "(exists ((x Real)) true)",
        "|saving",
        "(",
    ],
)
def test_a_planted_proof_is_not_believed(folder: Path, tmp_path: Path, invariant: str) -> None:
    """It would turn a claim that fails into a proved one, and a `can` claim that holds into a refuted one."""
    path = tmp_path / "small.latch"
    path.write_text(text(REFUTED["never"], PROVED["can"]))
    true = proved(path)
    assert [r["verdict"] for r in true][:2] == ["refuted", "proved"]
    for file, row in kept(folder):
        for with_facts in (True, False):
            file.write_text(json.dumps(row | {"found": None, "invariant": invariant, "with_facts": with_facts}))
            assert proved(path) == true


def test_a_planted_path_of_another_claim_is_not_believed(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "small.latch"
    path.write_text(text(REFUTED["never"], REFUTED["length"], PROVED["length"], PROVED["never"]))
    true = proved(path)
    everything = list(kept(folder))
    paths = [row for _, row in everything if row["found"] is not None]
    assert len(paths) >= 2
    assert len(paths) < len(everything)
    for shift in range(1, len(paths)):
        for number, (file, _) in enumerate(everything):
            file.write_text(json.dumps(paths[(number + shift) % len(paths)]))
        for mine, theirs in zip(proved(path), true, strict=True):
            assert (mine["name"], mine["verdict"]) == (theirs["name"], theirs["verdict"])


def test_a_path_with_values_from_nowhere_is_not_believed(folder: Path, tmp_path: Path) -> None:
    """Tunes outside their range, a cycle of no time, a reading beyond the sensor's: none of these is a flight."""
    path = tmp_path / "small.latch"
    path.write_text(text("never motor is above 81 % while saving", "always release is above floor + 7 m"))
    true = proved(path)
    path.write_text(text("never saving", "always release is above floor + 9 m"))
    proved(path)
    stolen = [row["found"] for _, row in kept(folder) if row["found"] is not None]
    assert stolen
    for file, row in list(kept(folder)):
        for found in stolen:
            wild = json.loads(json.dumps(found).replace('"floor": "', '"floor": "-9').replace('"dt": "', '"dt": "1'))
            file.write_text(json.dumps(row | {"invariant": None, "found": wild}))
    path.write_text(text("never motor is above 81 % while saving", "always release is above floor + 7 m"))
    assert proved(path) == true


def test_damage_anywhere_changes_no_verdict(folder: Path, rules: Path) -> None:
    """Bytes changed, cut off and inserted at random places of every file."""
    true = proved(rules)
    random = Random(5)
    files = [*answers(folder), *sorted((folder / "last").iterdir())]
    for _ in range(4):
        for file in files:
            whole = bytearray(file.read_bytes())
            place = random.randrange(len(whole))
            match random.randrange(4):
                case 0:
                    whole[place] = random.randrange(256)
                case 1:
                    del whole[place:]
                case 2:
                    whole[place:place] = bytes(random.randrange(256) for _ in range(3))
                case _:
                    whole[place : place + 1] = random.choice([b"0", b"9", b"true", b"-", b"1/0", b'"'])
            file.write_bytes(bytes(whole))
        mine = proved(rules)
        assert [(r["name"], r["verdict"]) for r in mine] == [(r["name"], r["verdict"]) for r in true]


def test_what_is_no_file_of_ours_is_no_trouble(folder: Path, rules: Path) -> None:
    true = proved(rules)
    for number, file in enumerate(answers(folder)):
        file.unlink()
        match number % 4:
            case 0:
                file.mkdir()
            case 1:
                file.symlink_to(file)
            case 2:
                file.write_bytes(b"\xff" * 100)
            case _:
                file.write_text("[" * 100_000)
    assert proved(rules) == true


def test_a_folder_that_cannot_be_is_no_trouble(tmp_path: Path, rules: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv(cache.VARIABLE, str(tmp_path / "file" / "folder"))
    assert proved(rules) == proved(rules)


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    shelf = cache.Shelf(tmp_path, "rules")
    key = "0" * 64
    (tmp_path / "answers").mkdir()
    row = {"schema": "latchproof.kept/1", "engine": "e", "with_facts": True, "invariant": "true", "found": None}
    (tmp_path / "answers" / f"{key}.json").write_text(json.dumps(row))
    assert shelf.exactly(key) is not None
    (tmp_path / "answers" / f"{key}.json").write_text(json.dumps(row) + " " * cache.LARGEST)
    assert shelf.exactly(key) is None


def test_another_version_of_the_program_begins_anew(folder: Path, rules: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    total = len(proved(rules))
    assert again(rules) == total
    monkeypatch.setattr("latchproof.prove.again.__version__", "another")
    assert again(rules) == 0


def test_files_of_the_same_name_elsewhere_are_others(folder: Path, tmp_path: Path) -> None:
    """The last answer belongs to one rule file; the answer to the same question serves all."""
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "small.latch").write_text(HEAD + "claim c: never saving\n")
    promises = len(proved(tmp_path / "one" / "small.latch"))
    before = len(list((folder / "last").iterdir()))
    assert again(tmp_path / "two" / "small.latch") == promises
    assert len(list((folder / "last").iterdir())) == 2 * before


def test_the_folder_does_not_grow_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "MOST", 1000)
    for part in ("answers", "last"):
        (tmp_path / part).mkdir()
        for number in range(10):
            file = tmp_path / part / f"{number}"
            file.write_text("x" * 100)
            os.utime(file, (number, number))
    cache.Shelf(tmp_path, "rules").tidy()
    left = {int(f.name) for part in ("answers", "last") for f in (tmp_path / part).iterdir()}
    assert left == {7, 8, 9, 6}  # the oldest went, down to three quarters
    cache.Shelf(tmp_path, "rules").tidy()
    assert sum(1 for part in ("answers", "last") for _ in (tmp_path / part).iterdir()) == 7


def test_two_at_once_leave_whole_files(folder: Path, rules: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(3) as threads:
        ran: list[Ran] = list(
            threads.map(
                lambda _: process("prove", str(rules), "--format", "concise", LATCHPROOF_CACHE=str(folder)), range(3)
            )
        )
    assert len({r.out for r in ran}) == 1
    assert not [f for part in ("answers", "last") for f in (folder / part).iterdir() if f.name.startswith("new-")]
    for _, row in kept(folder):
        assert row["schema"] == "latchproof.kept/1"
    assert again(rules) == len(ran[0].out.splitlines())


def test_the_tests_do_not_use_the_folder_of_whoever_runs_them() -> None:
    assert os.environ[cache.VARIABLE] == ""
    assert cache.folder_of_cache() is None
