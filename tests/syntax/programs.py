"""Rule files to try things on: the examples, and one file here with every construct."""

from pathlib import Path

from latchproof.source import Source

ROOT = Path(__file__).resolve().parents[2]
EVERYTHING = Path(__file__).parent / "everything.latch"


def programs() -> list[Source]:
    paths = [EVERYTHING, *sorted((ROOT / "examples").rglob("*.latch"))]
    return [Source(str(p.relative_to(ROOT)), p.read_text(encoding="utf-8")) for p in paths]
