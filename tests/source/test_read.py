"""Reading: every path and every byte ends in a text or in a coded message at the right place."""

import io
import os
from pathlib import Path

import pytest

from latchproof.diagnostics import Diagnostic
from latchproof.source import Source, Span
from latchproof.source.read import MOST_BYTES, MOST_INCLUDES, Read, decode, read, read_included

AT = Span("main.latch", 9, 20)


def only(result: Read) -> Diagnostic:
    [found] = result[1]
    return found


def place(result: Read) -> tuple[int, int]:
    source, (found,) = result
    assert source is not None
    return source.place(found.labels[0].span.start)


def text_of(result: Read) -> str:
    assert result[1] == ()
    assert result[0] is not None
    return result[0].text


def test_text_is_read_as_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "höhe.latch"
    path.write_bytes("switch höhe positions aus, ein\n".encode())
    assert read(str(path)) == (Source(str(path), "switch höhe positions aus, ein\n"), ())


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_line_ends_of_every_kind(ends: str) -> None:
    assert text_of(decode("x", f"# one{ends}button b{ends}".encode())) == "# one\nbutton b\n"


def test_a_leading_mark_of_utf_8_is_no_part_of_the_text() -> None:
    assert text_of(decode("x", b"\xef\xbb\xbfbutton b")) == "button b"


def test_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"button b")))
    assert read("-") == (Source("-", "button b"), ())


def test_standard_input_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b" " * (MOST_BYTES + 1))))
    assert only(read("-")).code == "file-too-large"


def test_the_bound_itself_may_be_read(tmp_path: Path) -> None:
    path = tmp_path / "big.latch"
    path.write_bytes(b" " * MOST_BYTES)
    assert len(text_of(read(str(path)))) == MOST_BYTES
    path.write_bytes(b" " * (MOST_BYTES + 1))
    assert only(read(str(path))).code == "file-too-large"


def test_ten_megabytes_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "log.latch"
    path.write_bytes(b"x" * 10_000_000)
    source, (found,) = read(str(path))
    assert source is None
    assert found.code == "file-too-large"
    assert found.labels[0].span.source == str(path)


def test_a_zero_byte_is_shown_where_it_is() -> None:
    result = decode("x", b"button b\nbut\0ton c\n")
    assert only(result).code == "not-text"
    assert place(result) == (2, 4)


def test_a_letter_of_an_older_encoding_is_named() -> None:
    result = decode("x", "# Höhe\nbutton b  # Höhe über Platz\n".encode("cp1252"))
    assert only(result).code == "not-text"
    assert place(result) == (1, 4)
    assert "should be ö" in only(result).hints[0]


def test_a_picture_is_no_text() -> None:
    result = decode("x.png", b"\x89PNG\r\n\x1a\n\xff\xfe\xfd\xfc\xfb\xfa\x01\x02")
    assert only(result).code == "not-text"
    assert place(result) == (1, 1)
    assert "right file" in only(result).hints[0]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be", "utf-16-le"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_utf_16_is_recognised_with_and_without_its_mark(encoding: str, mark: str) -> None:
    found = only(decode("x", (mark + "button left\nbutton right\n").encode(encoding)))
    assert found.code == "not-text"
    assert "UTF-16" in found.title + found.hints[0]
    assert "UTF-8" in found.hints[0]


def test_a_missing_file_suggests_its_neighbour(tmp_path: Path) -> None:
    (tmp_path / "floor.latch").touch()
    found = only(read(str(tmp_path / "flor.latch")))
    assert (found.code, found.hints) == ("file-not-found", (f"did you mean {tmp_path / 'floor.latch'}?",))


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    found = only(read(str(tmp_path / "none" / "floor.latch")))
    assert (found.code, found.hints) == ("file-not-found", (f"there is no folder {tmp_path / 'none'} either",))


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert only(read(str(tmp_path))).code == "file-is-a-folder"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert only(read(str(tmp_path / "pipe"))).code == "file-not-readable"


def test_no_permission(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "secret.latch"
    path.touch()

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")  # the tests may run as a user to whom nothing is forbidden

    monkeypatch.setattr("builtins.open", refuse)
    assert only(read(str(path))).code == "file-not-allowed"


@pytest.mark.parametrize(("path", "reason"), [("x" * 5000, "too long"), ("a\0b", "zero byte")])
def test_names_that_no_file_can_have(path: str, reason: str) -> None:
    found = only(read(path))
    assert found.code == "file-not-readable"
    assert reason in found.title


def test_links_in_a_circle(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    assert "circle" in only(read(str(tmp_path / "a"))).title


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "secret.latch").write_text("button secret")
    rules = tmp_path / "rules"
    (rules / "parts").mkdir(parents=True)
    (rules / "parts" / "restart.latch").write_text("button b")
    return rules


def test_an_include_below_the_folder(folder: Path) -> None:
    source, found = read_included(folder, "parts/restart.latch", AT, 0)
    assert source is not None
    assert (source.text, found) == ("button b", ())
    assert source.name.endswith("parts/restart.latch")
    assert Path(source.name).resolve() == folder / "parts" / "restart.latch"


def test_an_include_may_go_up_and_down_inside(folder: Path) -> None:
    assert text_of(read_included(folder, "parts/../parts/restart.latch", AT, 0)) == "button b"


@pytest.mark.parametrize("path", ["../secret.latch", "parts/../../secret.latch", "/etc/passwd"])
def test_an_include_never_leaves_the_folder(folder: Path, path: str) -> None:
    source, (found,) = read_included(folder, path, AT, 0)
    assert source is None
    assert (found.code, found.labels[0].span) == ("include-outside", AT)


def test_a_link_is_followed_before_it_is_judged(folder: Path) -> None:
    (folder / "innocent.latch").symlink_to("../secret.latch")
    assert only(read_included(folder, "innocent.latch", AT, 0)).code == "include-outside"


def test_a_folder_that_only_begins_alike_is_outside(folder: Path) -> None:
    other = folder.parent / "rules2"
    other.mkdir()
    (other / "x.latch").write_text("button b")
    assert only(read_included(folder, "../rules2/x.latch", AT, 0)).code == "include-outside"


def test_a_missing_include_is_shown_where_it_is_named(folder: Path) -> None:
    found = only(read_included(folder, "parts/restrt.latch", AT, 0))
    assert (found.code, found.labels[0].span) == ("file-not-found", AT)
    assert found.hints == ("did you mean parts/restart.latch?",)


def test_includes_are_counted(folder: Path) -> None:
    assert text_of(read_included(folder, "parts/restart.latch", AT, MOST_INCLUDES - 1)) == "button b"
    assert only(read_included(folder, "parts/restart.latch", AT, MOST_INCLUDES)).code == "too-many-includes"
