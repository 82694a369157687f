"""Bad input of every kind, through the real command, with the whole output beside it in `bad_input/`.

A golden file holds the rules and what `latchproof check` says of them, so that a reader can judge the message itself.
Rules too large or too strange to stand in a file are made here. `--update-goldens` writes the files again; they are to
be read before they are committed.
"""

import contextlib
import io
import random
import re
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from latchproof.cli import exits
from latchproof.cli.main import main
from latchproof.show.visible import width

GOLDENS = Path(__file__).parent / "bad_input"
RULES, MADE, OUTPUT = "---- rules.latch\n", "---- rules.latch is made by the test\n", "---- check\n"


@dataclass(frozen=True, slots=True)
class Case:
    """`first` is the code and place of the first error; `made` the text where the golden file cannot hold it."""

    name: str
    first: str
    made: bytes | None = None


def nested(depth: int) -> bytes:
    return b"switch g positions off, on\nsignal s = " + b"(" * depth + b"g is on" + b")" * depth + b"\n"


CASES = (
    Case("unknown_name", "7:28 unknown-name"),
    Case("unit_mix", "4:30 unit-mix"),
    Case("missing_unit", "4:30 missing-unit"),
    Case("duplicate_name", "5:7 duplicate-name"),
    Case("empty_range", "1:22 empty-range"),
    Case("varying_product", "5:14 varying-product"),
    Case("division_by_zero", "4:21 division-by-zero"),
    Case("loop_without_state", "1:12 loop"),
    Case("loop_without_previous", "4:32 loop"),
    Case("priority_cycle", "10:20 priority-cycle"),
    Case("and_or_mixed", "4:12 and-or-mixed"),
    Case("unclosed_block", "5:23 unclosed-block"),
    Case("stray_character", "2:24 stray-character"),
    Case("empty_file", "1:1 empty-file", b""),
    Case("only_a_comment", "1:1 empty-file"),
    Case("binary_file", "3:101 not-text", b"\x89PNG\r\n\x1a\n" + random.Random(1).randbytes(3000)),
    Case("older_encoding", "1:9 not-text", "rules \"Höhe\"\n".encode("cp1252")),
    Case("utf_16", "1:1 not-text", "rules \"Height\"\n".encode("utf-16")),
    Case("ten_megabytes", "- file-too-large", b"button b\n" * 1_111_112),
    Case("nested_10_000_deep", "2:62 too-deep", nested(10_000)),
    Case("blocks_10_000_deep", "1:1223 too-deep", b"part p takes signal s { " * 10_000),
    Case("sum_of_10_000", "1:11 too-deep", b"value v = 1 m" + b" + 1 m" * 10_000),
    Case("huge_power", "1:14 scientific-notation"),
    Case("many_digits", "1:14 number-too-long", b"tune floor = " + b"9" * 300_000 + b" m from 30 m to 90 m\n"),
    Case(
        "control_characters_in_a_name",
        "1:10 control-character",
        b"switch gu\x1b[2J\x1b[1;31mard positions off, on\n",
    ),
    Case(
        "right_to_left_marks",
        "2:22 control-character",
        "switch guard positions off, on\nsignal on = guard is \u202eno\u202c off\n".encode(),
    ),
    Case("forum_tags", "1:1 forum-markup"),
    Case("forum_markup", "1:1 forum-markup"),
    Case("forum_entities", "3:21 angle-comparison"),
)


@pytest.fixture(params=CASES, ids=lambda c: c.name)
def case(request: pytest.FixtureRequest) -> Case:
    found: Case = request.param
    return found


def check(rules: bytes, folder: Path, *options: str) -> tuple[int, str]:
    """Exit code and result of `latchproof check rules.latch` in an empty folder."""
    (folder / "rules.latch").write_bytes(rules)
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(["check", *options, "rules.latch"])
    assert "Traceback" not in err.getvalue()
    return code, out.getvalue()


def golden(case: Case) -> tuple[bytes, str]:
    """The rules and the output that is expected."""
    rules, output = (GOLDENS / f"{case.name}.txt").read_text(encoding="utf-8").split(OUTPUT)
    return (rules.removeprefix(RULES).encode() if case.made is None else case.made), output


def test_output(case: Case, tmp_path: Path, pytestconfig: pytest.Config) -> None:
    rules, expected = golden(case)
    code, output = check(rules, tmp_path)
    if pytestconfig.getoption("--update-goldens"):
        head = RULES + rules.decode() if case.made is None else MADE
        (GOLDENS / f"{case.name}.txt").write_text(head + OUTPUT + output, encoding="utf-8")
        return
    assert output == expected
    assert code == exits.FAULT


def test_code_and_place(case: Case, tmp_path: Path) -> None:
    rules, _ = golden(case)
    _, output = check(rules, tmp_path, "--format", "concise")
    found = re.match(r"rules\.latch(?::(\d+:\d+))?: error\[([a-z0-9-]+)\]: ", output)
    assert found is not None
    assert f"{found[1] or '-'} {found[2]}" == case.first


def test_nothing_acts_on_the_terminal(case: Case, tmp_path: Path) -> None:
    rules, _ = golden(case)
    _, output = check(rules, tmp_path)
    assert all(c.isprintable() or c == "\n" for c in output)
    assert max(width(line) for line in output.splitlines()) <= 80


def test_every_message_has_a_place_and_says_what_to_do(case: Case, tmp_path: Path) -> None:
    """A hint, or a second half of the story beside the place."""
    _, expected = golden(case)
    for message in expected.strip().split("\n\nerror["):
        assert "\n  --> rules.latch" in message
        assert "hint: " in message or re.search(r"[\^-] \w|^ *\| +\w", message, re.MULTILINE)


def test_it_takes_no_time(case: Case, tmp_path: Path) -> None:
    """Generously: the worst of them takes a fraction of a second."""
    rules, _ = golden(case)
    began = time.monotonic()
    check(rules, tmp_path)
    assert time.monotonic() - began < 10


def test_every_golden_belongs_to_a_case() -> None:
    assert {p.stem for p in GOLDENS.glob("*.txt")} == {c.name for c in CASES} | {"equal_priority"}  # in test_prove
