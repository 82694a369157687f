"""No float decides anything: numbers are exact from the text to the solver."""

import ast
from pathlib import Path

import pytest

from tests.layout.house import ROOT, named, sources, tree

ALLOWED = {
    "compiler/latchproof/prove/prover.py": {"0.05"},  # seconds kept back from a time limit
    "compiler/latchproof/prove/processes.py": {"0.0"},
    "compiler/latchproof/rules/suggest.py": {"0.6"},  # how like two names must be to be suggested
}
"""File to the source text of each float that is allowed there, because no verdict hangs on it."""


def floats(module: ast.Module) -> list[tuple[int, str]]:
    """Float literals, calls of `float`, and divisions of two whole numbers."""
    found = []
    for node in ast.walk(module):
        match node:
            case ast.Constant(value=float() | complex()):
                found.append((node.lineno, ast.unparse(node)))
            case ast.Call(func=ast.Name(id="float")):
                found.append((node.lineno, ast.unparse(node)))
            case ast.BinOp(op=ast.Div(), left=ast.Constant(value=int()), right=ast.Constant(value=int())):
                found.append((node.lineno, ast.unparse(node)))
    return found


@pytest.mark.parametrize(
    "path", sources("syntax", "rules", "machine", "run", "prove", "hazards", "transmitter", "fit", "listing"), ids=named
)
def test_no_float(path: Path) -> None:
    assert not [(line, text) for line, text in floats(tree(path)) if text not in ALLOWED.get(named(path), set())]


def test_what_is_allowed_is_there() -> None:
    for name, texts in ALLOWED.items():
        assert texts == {text for _, text in floats(tree(ROOT / name))}


def test_the_search_sees_each_kind() -> None:
    module = ast.parse("a = 1.5\nb = float(x)\nc = 1 / 3\nd = Fraction(1, 3)\ne: float = f(x) / y\n")
    assert [line for line, _ in floats(module)] == [1, 2, 3]
