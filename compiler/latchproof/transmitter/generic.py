"""The three descriptions that come with the program: of no make, invented, for a start and for comparing.

They are files in `builtin/`, read like any other.
"""

from functools import cache
from importlib.resources import files

from latchproof.source import Source
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.names import NAMES
from latchproof.transmitter.read import read


@cache
def text(name: str) -> str:
    """The text of a built-in description; `name` is one of `NAMES`."""
    if name not in NAMES:
        raise KeyError(name)
    return files("latchproof.transmitter").joinpath("builtin", f"{name}.toml").read_text(encoding="utf-8")


@cache
def generic(name: str) -> Transmitter:
    found, diagnostics = read(Source(f"{name}.toml", text(name)))
    if found is None:
        raise AssertionError(diagnostics)
    return found
