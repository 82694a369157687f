"""Places of keys, compared with what the standard library reads."""

import tomllib

import pytest
from hypothesis import HealthCheck, given, settings

from latchproof.transmitter.generic import NAMES, text
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.places import Path, places
from latchproof.transmitter.write import write
from tests.transmitter.strategies import transmitters

TRICKY = '''
# a = 1
a = "x # y = [" # behind
"b c" . 'd' = [ # first
  "]", """
  e = 4 ]""", \'\'\'\'f\'\'\'
] # end
[t . "u.v"] # heading
g = {h = 1, i = [2, {j = 3}]}
[[l]]
k=1
[[l]]
k = 2
[l.m]
n = true
[[l.o]]
p = 'x'
[[l.o]]
p = \'\'
'''


def found(description: str) -> dict[Path, str]:
    return {path: description[slice(*place.value)] for path, place in places(description).items()}


def read_back(description: str) -> dict[Path, object]:
    """Each value of the whole, alone in a text of its own."""
    return {
        path: tomllib.loads(f"x = {value}")["x"]
        for path, value in found(description).items()
        if not value.startswith(("[t", "[[", "[l.m"))
    }


def leaves(value: object, path: Path = ()) -> dict[Path, object]:
    match value:
        case dict() if path == () or path[0] != "t" or len(path) < 3:
            return {k: v for name, inner in value.items() for k, v in leaves(inner, (*path, name)).items()}
        case list() if value and all(isinstance(x, dict) for x in value):
            return {k: v for i, inner in enumerate(value) for k, v in leaves(inner, (*path, i)).items()}
        case _:
            return {path: value}


def test_tricky() -> None:
    assert read_back(TRICKY) == leaves(tomllib.loads(TRICKY))


@pytest.mark.parametrize("name", NAMES)
def test_built_in(name: str) -> None:
    there = found(text(name))
    for path, value in leaves(tomllib.loads(text(name))).items():
        assert tomllib.loads(f"x = {there[path]}")["x"] == value


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(transmitters())
def test_at_random(t: Transmitter) -> None:
    whole = write(t)
    there = found(whole)
    for path, value in leaves(tomllib.loads(whole)).items():
        assert tomllib.loads(f"x = {there[path]}")["x"] == value
