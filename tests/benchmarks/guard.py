"""The mended floor guard of the examples with its delays made shorter or longer, and what the promises say of them."""

import re
from fractions import Fraction
from pathlib import Path

FILE = Path(__file__).resolve().parents[2] / "examples" / "floor_guard" / "mended.latch"
USUAL = Fraction(3)
"""Seconds that the example's own delays are taken for: 2.5 s to arm, 7 s at most, and so on."""
SLACK = Fraction(1, 10)
"""What the promised 7.1 s grant beyond the time-out of 7 s: some cycles, whatever the delays are."""
LEFT_ALONE = ("cycle", "stale after", "frame every", "changes", "assume", "whenever (leveller", "step")


def guard(delay: Fraction) -> str:
    """The rule text with every delay of the logic and of the promises times `delay` / 3 s; facts stay as they are."""
    factor = delay / USUAL
    lines = FILE.read_text(encoding="utf-8").split("\n")
    text = "\n".join(line if line.strip().startswith(LEFT_ALONE) else _scaled(line, factor) for line in lines)
    wrong = "claim too_short: length of rescuing at most " + _shown(7 * factor - Fraction(1, 20)) + " s"
    return f"{text}\n{wrong}\nclaim too_soon: never rescuing\n"


def _scaled(line: str, factor: Fraction) -> str:
    def scaled(match: re.Match[str]) -> str:
        seconds = Fraction(match[1]) / (1000 if match[2] == "ms" else 1)
        whole = factor * (seconds - SLACK) + SLACK if match[1] == "7.1" else factor * seconds
        return f"{_shown(whole)} s"

    code, quote, rest = line.partition('"')
    return re.sub(r"\b([0-9]+(?:\.[0-9]+)?) (s|ms)\b(?!/)", scaled, code) + quote + rest


def _shown(x: Fraction) -> str:
    return f"{float(x):.6f}".rstrip("0").rstrip(".")
