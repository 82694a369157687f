"""Nothing that is shown can act on the terminal."""

import unicodedata

import pytest

from latchproof.show.visible import cells, visible, width


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("höhe 湖 − “x” e\u0301", "höhe 湖 − “x” e\u0301"),
        ("a\x1b[31mb", "a\\x1b[31mb"),
        ("bell\a back\b del\x7f", "bell\\x07 back\\x08 del\\x7f"),
        ("c1 \x9b31m", "c1 \\x9b31m"),
        ("rtl \u202eabc\u202c \u2066x\u2069 \u200f", "rtl \\u202eabc\\u202c \\u2066x\\u2069 \\u200f"),
        ("zero\u200bwidth soft\u00adhyphen", "zero\\u200bwidth soft\\xadhyphen"),
        ("line\nbreak\u2028other", "line\\x0abreak\\u2028other"),
        ("byte \udce9 half \ud800", "byte \\xe9 half \\ud800"),
        ("tag \U000e0041", "tag \\U000e0041"),
        ("no-break\u00a0space", "no-break\u00a0space"),
    ],
)
def test_controls_are_written_as_numbers(text: str, shown: str) -> None:
    assert visible(text) == shown


def test_no_character_at_all_gets_through_that_acts() -> None:
    acting = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    for code in range(0x110000):
        for c in visible(chr(code)):
            assert unicodedata.category(c) not in acting


@pytest.mark.parametrize(
    ("text", "columns"), [("abc", 3), ("höhe", 4), ("湖面", 4), ("e\u0301", 1), ("Ａ", 2), ("", 0)]
)
def test_columns(text: str, columns: int) -> None:
    assert width(text) == columns


def test_a_tab_fills_up_to_the_next_stop() -> None:
    assert [c.width for c in cells("\ta\t湖\t")] == [4, 1, 3, 2, 2]
    assert "".join(c.text for c in cells("ab\tc")) == "ab  c"
