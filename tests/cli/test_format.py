"""`latchproof format` never loses a file."""

import io
import os
import stat
from pathlib import Path

import pytest

from latchproof.cli import exits, files
from tests.cli.commands import process, run

ROUGH = "button   b  # left hand\nsignal s=b is pressed\n"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "x.latch"
    path.write_text(ROUGH)
    return path


def alone(path: Path) -> bool:
    return [p.name for p in path.parent.iterdir()] == [path.name]


def test_in_place_and_only_once(path: Path) -> None:
    ran = run("format", str(path))
    assert (ran.code, ran.out, ran.err) == (exits.FINE, "", f"{path}: laid out anew\n")
    once = path.read_text()
    assert once != ROUGH
    assert "# left hand" in once
    assert "signal s = b is pressed" in once
    before = path.stat().st_mtime_ns
    ran = run("format", str(path))
    assert (ran.code, ran.out, ran.err) == (exits.FINE, "", "")
    assert path.read_text() == once
    assert path.stat().st_mtime_ns == before
    assert alone(path)


def test_only_looking(path: Path) -> None:
    ran = run("format", "--check", str(path))
    assert (ran.code, ran.out) == (exits.FAULT, f"{path}: would be laid out anew\n")
    assert path.read_text() == ROUGH
    run("format", str(path))
    assert run("format", "--check", str(path)).code == exits.FINE


def test_standard_input_to_standard_output() -> None:
    ran = process("format", "-", stdin=ROUGH.encode())
    assert ran.code == exits.FINE
    assert "signal s = b is pressed" in ran.out
    assert process("format", "-", stdin=ran.out.encode()).out == ran.out


def test_a_file_with_an_error_is_left_alone(path: Path) -> None:
    path.write_text("button b\nlatch {")
    ran = run("format", str(path))
    assert (ran.code, ran.out) == (exits.FAULT, "")
    assert "error[" in ran.err
    assert path.read_text() == "button b\nlatch {"


def test_one_bad_file_does_not_stop_the_others(path: Path) -> None:
    ran = run("format", str(path.parent / "none.latch"), str(path))
    assert ran.code == exits.MISUSE
    assert "error[file-not-found]" in ran.err
    assert path.read_text() != ROUGH


@pytest.mark.parametrize("mode", [0o600, 0o644, 0o664, 0o755])
def test_permissions_stay(path: Path, mode: int) -> None:
    path.chmod(mode)
    run("format", str(path))
    assert path.read_text() != ROUGH
    assert stat.S_IMODE(path.stat().st_mode) == mode


def test_a_link_stays_a_link(path: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    link = tmp_path / "other" / "link.latch"
    link.symlink_to(path)
    run("format", str(link))
    assert link.is_symlink()
    assert path.read_text() != ROUGH


def test_line_ends_stay(path: Path) -> None:
    path.write_bytes(ROUGH.replace("\n", "\r\n").encode())
    run("format", str(path))
    data = path.read_bytes()
    assert b"s = b" in data
    assert data.count(b"\n") == data.count(b"\r\n") > 0
    assert run("format", "--check", str(path)).code == exits.FINE


def test_a_full_disk_costs_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    ran = run("format", str(path))
    assert ran.code == exits.MISUSE
    assert "error[file-not-writable]: the new text cannot be written: no space left on\n    device\n" in ran.err
    assert path.read_text() == ROUGH
    assert alone(path)


def test_stopped_in_the_middle(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stop)
    assert run("format", str(path)).code == exits.INTERRUPTED
    assert path.read_text() == ROUGH
    assert alone(path)


def test_the_new_file_is_whole_before_it_takes_the_name(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[bytes] = []
    move = os.replace

    def watch(new: str, old: str) -> None:
        seen.append(Path(new).read_bytes())
        assert Path(old).read_text() == ROUGH
        assert Path(new).parent == Path(old).parent
        move(new, old)

    monkeypatch.setattr(os, "replace", watch)
    files.replace(str(path), b"button c\n")
    assert seen == [b"button c\n"]
    assert path.read_bytes() == b"button c\n"


def test_not_utf_8_is_left_alone(path: Path) -> None:
    path.write_bytes(b"button b # \xff\n")
    ran = run("format", str(path))
    assert ran.code == exits.FAULT
    assert "error[not-text]" in ran.err
    assert path.read_bytes() == b"button b # \xff\n"


def test_standard_input_is_never_a_file_to_write(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(ROUGH.encode())))
    ran = run("format", "-")
    assert "signal s = b is pressed" in ran.out
    assert list(tmp_path.iterdir()) == []
