"""Messages as a pilot sees them. Source and message stand together, so that the message itself can be judged."""

import json

import pytest

from latchproof.diagnostics import Diagnostic, Label
from latchproof.show.diagnostics import as_json, concise, render
from latchproof.show.style import Style
from latchproof.show.visible import width
from latchproof.source import Source, Span


def span(source: Source, part: str, nth: int = 0) -> Span:
    start = -1
    for _ in range(nth + 1):
        start = source.text.index(part, start + 1)
    return Span(source.name, start, start + len(part))


def shown(source: Source, *labels: tuple[str, str], title: str = "what is wrong", hints: tuple[str, ...] = ()) -> str:
    found = Diagnostic("some-code", title, tuple(Label(span(source, part), text) for part, text in labels), hints)
    return render(found, {source.name: source})


def test_the_house_style() -> None:
    line = "  set when guard is on and height is above 62 m for 2 s"
    source = Source("floor.latch", "\n" * 30 + line + "\n")
    whole = "guard is on and height is above 62 m"
    found = Diagnostic(
        "what-lasts",
        "what lasts 2 s?",
        (Label(span(source, "for 2 s"), "this belongs either to the last test ..."),
         Label(span(source, whole), "... or to all of it")),
        (f"write ({whole}) for 2 s     all of it, the usual meaning in a guard",
         "guard is on and (height is above 62 m for 2 s)           only the height"),
    )
    assert render(found, {source.name: source}) == """\
error[what-lasts]: what lasts 2 s?
  --> floor.latch:31:49
31 |   set when guard is on and height is above 62 m for 2 s
   |                                                 ^^^^^^^
   |                this belongs either to the last test ...
   |            ------------------------------------ ... or to all of it
hint: write (guard is on and height is above 62 m) for 2 s     all of it, the
      usual meaning in a guard
   or guard is on and (height is above 62 m for 2 s)           only the height"""
    assert render(found, {source.name: source}, Style(105)) == """\
error[what-lasts]: what lasts 2 s?
  --> floor.latch:31:49
31 |   set when guard is on and height is above 62 m for 2 s
   |                                                 ^^^^^^^ this belongs either to the last test ...
   |            ------------------------------------ ... or to all of it
hint: write (guard is on and height is above 62 m) for 2 s     all of it, the usual meaning in a guard
   or guard is on and (height is above 62 m for 2 s)           only the height"""


def test_a_second_label_on_an_earlier_line() -> None:
    source = Source("a.latch", "switch guard positions off, on\n\n\nbutton guard\n")
    labels = (Label(span(source, "guard", 1), "again"), Label(span(source, "guard"), "first"))
    found = Diagnostic("twice", "there are two", labels)
    assert render(found, {source.name: source}) == """\
error[twice]: there are two
  --> a.latch:4:8
1 | switch guard positions off, on
  |        ----- first
  ...
4 | button guard
  |        ^^^^^ again"""


def test_a_second_label_in_another_file() -> None:
    main, part = Source("a.latch", "use p as a\n"), Source("parts/p.latch", "\n" * 9 + "part p takes\n")
    labels = (Label(Span("a.latch", 4, 5), "used here"), Label(Span("parts/p.latch", 14, 15), "this"))
    found = Diagnostic("x", "no", labels)
    assert render(found, {s.name: s for s in (main, part)}) == """\
error[x]: no
  --> a.latch:1:5
 1 | use p as a
   |     ^ used here
  and parts/p.latch:10:6
10 | part p takes
   |      - this"""


def test_tabs_and_wide_letters_move_the_carets() -> None:
    source = Source("a", "\t\tset when 湖 is höhe\n")
    assert shown(source, ("höhe", "here"), ("湖", "lake")) == """\
error[some-code]: what is wrong
  --> a:1:17
1 |         set when 湖 is höhe
  |                        ^^^^ here
  |                  -- lake"""


def test_controls_in_text_title_hint_label_and_file_name_are_written_out() -> None:
    source = Source("evil\x1b[2J.latch", "button b\x1b[31m\u202e is\n")
    text = shown(source, ("\x1b", "this \x07"), title="no \x1b]0;x", hints=("\u202eno",))
    assert text == """\
error[some-code]: no \\x1b]0;x
  --> evil\\x1b[2J.latch:1:9
1 | button b\\x1b[31m\\u202e is
  |         ^^^^ this \\x07
hint: \\u202eno"""


def test_a_file_that_cannot_be_read_has_no_line() -> None:
    found = Diagnostic("file-not-found", "there is no such file", (Label(Span("x\n.latch", 0, 0)),))
    assert render(found, {}) == "error[file-not-found]: there is no such file\n  --> x\\x0a.latch"
    assert concise(found, {}) == "x\\x0a.latch: error[file-not-found]: there is no such file"


def test_without_a_place() -> None:
    found = Diagnostic("x", "something", severity="warning")
    assert render(found, {}) == "warning[x]: something"
    assert concise(found, {}) == "warning[x]: something"


def test_one_line() -> None:
    source = Source("a.latch", "one\ntwo three\n")
    found = Diagnostic("x", "no", (Label(span(source, "three")),))
    assert concise(found, {source.name: source}) == "a.latch:2:5: error[x]: no"


def test_the_end_of_the_text_gets_a_caret() -> None:
    source = Source("a", "latch l {")
    found = Diagnostic("x", "no", (Label(Span("a", 9, 9), "here it ends"),))
    assert render(found, {"a": source}).endswith("1 | latch l {\n  |          ^ here it ends")


def test_an_empty_text_is_not_quoted() -> None:
    found = Diagnostic("x", "no", (Label(Span("a", 0, 0)),))
    assert render(found, {"a": Source("a", "")}) == "error[x]: no\n  --> a:1:1"


def test_a_mark_over_several_lines_stays_on_the_first() -> None:
    source = Source("a", "latch l {\n  set\n}\n")
    found = Diagnostic("x", "no", (Label(Span("a", 6, 17), "all this"),))
    assert render(found, {"a": source}).endswith("1 | latch l {\n  |       ^^^ all this")


LONG = "signal s = " + " or ".join(f"height is above {n} m" for n in range(100, 140))


@pytest.mark.parametrize("part", ["signal s", "100 m", "105 m", "120 m", "139 m"])
def test_a_long_line_is_cut_around_the_mark(part: str) -> None:
    text = shown(Source("a", LONG), (part, "here"))
    quoted, carets = text.splitlines()[2:4]
    assert width(quoted) <= 80
    start = carets.index("^")
    assert quoted[start : start + len(part)] == part
    assert carets[start:] == "^" * len(part) + " here"


def test_a_second_mark_beyond_the_cut_gets_a_cut_of_its_own() -> None:
    lines = shown(Source("a", LONG), ("139 m", "this"), ("100 m", "that")).splitlines()[2:]
    assert [line.strip(" |") for line in lines[1::2]] == ["^^^^^ this", "----- that"]
    assert lines[0].endswith("139 m")
    assert "100 m" in lines[2]
    assert lines[2].endswith("...")


def test_300_000_digits_are_cut() -> None:
    source = Source("a", f"tune floor = {'9' * 300_000} m from 0 m to 5 m\n")
    text = shown(source, ("9" * 300_000, "a number of 300000 digits"))
    assert max(width(line) for line in text.splitlines()) <= 80
    assert text.splitlines()[2].startswith("1 | tune floor = 999")


@pytest.mark.parametrize("columns", [50, 80, 100])
def test_no_line_is_wider_than_asked(columns: int) -> None:
    source = Source("a", LONG)
    labels = tuple(Label(span(source, f"{n} m"), "a remark that goes on and on " * 5) for n in (101, 120, 139))
    text = render(Diagnostic("x", "word " * 60, labels, ("word " * 60, "other " * 60)), {"a": source}, Style(columns))
    assert max(width(line) for line in text.splitlines()) <= columns


def test_colours_only_when_asked_and_without_changing_a_letter() -> None:
    source = Source("a", "button b\n")
    found = Diagnostic("x", "no", (Label(span(source, "b"), "this"),), ("do that", "or this"))
    plain, coloured = (render(found, {"a": source}, Style(80, c)) for c in (False, True))
    assert "\x1b" not in plain
    assert "\x1b[1;31merror[x]:\x1b[0m" in coloured
    bare = coloured
    for code in ("0", "1;31", "1;32", "1", "36"):
        bare = bare.replace(f"\x1b[{code}m", "")
    assert bare == plain


def test_json() -> None:
    source = Source("a\u202e.latch", "one\ntwo three\n")
    found = Diagnostic("x", "no\x1b", (Label(span(source, "three"), "this"), Label(Span("other", 0, 0))), ("do that",))
    text = as_json([found], {source.name: source})
    assert text.isascii()
    assert json.loads(text) == {
        "schema": "latchproof.diagnostics/1",
        "diagnostics": [
            {
                "code": "x",
                "severity": "error",
                "title": "no\x1b",
                "labels": [
                    {
                        "file": "a\u202e.latch",
                        "text": "this",
                        "start": {"line": 2, "column": 5, "offset": 8},
                        "end": {"line": 2, "column": 10, "offset": 13},
                    },
                    {"file": "other", "text": ""},
                ],
                "hints": ["do that"],
            }
        ],
    }
