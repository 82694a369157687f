"""The algebra: what a table of terms folds away must not change any value. Trees made by chance, run as programs."""

from collections.abc import Callable
from fractions import Fraction
from random import Random

import pytest

from latchproof.machine.terms import Bool, Real, Term, Terms, sort_of, variables, walk
from latchproof.run.program import Exact, prepare

FLAGS, NUMBERS = ("p", "q", "r"), ("x", "y", "z")
Value = Callable[[dict[str, Exact]], Exact]


class Both:
    """A term, and beside it what it means, as a function that knows nothing of terms."""

    def __init__(self, seed: int) -> None:
        self.rng, self.t = Random(seed), Terms()

    def number(self, depth: int) -> tuple[Term, Callable[[dict[str, Exact]], Fraction]]:
        t, rng = self.t, self.rng
        if depth == 0 or rng.random() < 0.2:
            if rng.random() < 0.3:
                value = Fraction(rng.randint(-3, 3), rng.choice((1, 2, 3)))
                return t.real(value), lambda _: value
            name = rng.choice(NUMBERS)
            return t.var(name, "number"), lambda env: Fraction(env[name])
        (a, fa), (b, fb) = self.number(depth - 1), self.number(depth - 1)
        match rng.randrange(8):
            case 0:
                return t.add(a, b, a), lambda env: fa(env) + fb(env) + fa(env)
            case 1:
                return t.sub(a, b), lambda env: fa(env) - fb(env)
            case 2:
                k = Fraction(rng.randint(-2, 3), 2)
                return t.scale(k, a), lambda env: k * fa(env)
            case 3:
                return t.smaller(a, b), lambda env: min(fa(env), fb(env))
            case 4:
                return t.larger(a, b), lambda env: max(fa(env), fb(env))
            case 5:
                return t.size(a), lambda env: abs(fa(env))
            case 6:
                c, fc = self.number(depth - 1)
                low, high = t.smaller(a, c), t.larger(a, c)
                return t.clamp(low, b, high), lambda env: sorted((fa(env), fb(env), fc(env)))[1]
            case _:
                c, fc = self.flag(depth - 1)
                return t.if_(c, a, b), lambda env: fa(env) if fc(env) else fb(env)

    def flag(self, depth: int) -> tuple[Term, Callable[[dict[str, Exact]], bool]]:
        t, rng = self.t, self.rng
        if depth == 0 or rng.random() < 0.2:
            if rng.random() < 0.2:
                value = rng.random() < 0.5
                return t.bool(value), lambda _: value
            name = rng.choice(FLAGS)
            return t.var(name, "bool"), lambda env: bool(env[name])
        if rng.random() < 0.35:
            (x, fx), (y, fy) = self.number(depth - 1), self.number(depth - 1)
            match rng.randrange(3):
                case 0:
                    return t.at_most(x, y), lambda env: fx(env) <= fy(env)
                case 1:
                    return t.less(x, y), lambda env: fx(env) < fy(env)
                case _:
                    return t.equal(x, y), lambda env: fx(env) == fy(env)
        (a, fa), (b, fb) = self.flag(depth - 1), self.flag(depth - 1)
        match rng.randrange(6):
            case 0:
                return t.not_(a), lambda env: not fa(env)
            case 1:
                return t.all(a, b, a), lambda env: fa(env) and fb(env)
            case 2:
                return t.any(a, b), lambda env: fa(env) or fb(env)
            case 3:
                return t.implies(a, b), lambda env: not fa(env) or fb(env)
            case 4:
                return t.same(a, b), lambda env: fa(env) == fb(env)
            case _:
                c, fc = self.flag(depth - 1)
                return t.if_(c, a, b), lambda env: fa(env) if fc(env) else fb(env)

    def environment(self) -> dict[str, Exact]:
        flags = {name: self.rng.random() < 0.5 for name in FLAGS}
        return {**flags, **{name: Fraction(self.rng.randint(-4, 4), self.rng.choice((1, 2))) for name in NUMBERS}}


@pytest.mark.parametrize("portion", range(10))
def test_folding_changes_no_value(portion: int) -> None:
    for seed in range(portion * 40, portion * 40 + 40):
        both = Both(seed)
        made: list[tuple[Term, Value]] = [both.number(4), both.flag(4)]
        program = prepare(term for term, _ in made)
        again = prepare(_rebuilt(term) for term, _ in made)
        for _ in range(12):
            env = both.environment()
            wanted = [meaning(env) for _, meaning in made]
            assert program.run(env) == wanted, seed
            assert again.run(env) == wanted, seed
        assert [sort_of(term) for term, _ in made] == ["number", "bool"]


def _rebuilt(term: Term) -> Term:
    """In another table, part by part."""
    from latchproof.machine.terms import Var, children

    t, done = Terms(), {}
    for part in walk((term,)):
        inner = tuple(done[id(c)] for c in children(part))
        match part:
            case Var(name, sort):
                done[id(part)] = t.var(name, sort)
            case Real(value):
                done[id(part)] = t.real(value)
            case Bool(value):
                done[id(part)] = t.bool(value)
            case _:
                done[id(part)] = t.rebuild(part, inner)
    return done[id(term)]


def test_equal_terms_are_the_same_object() -> None:
    t = Terms()
    x, y = t.var("x", "number"), t.var("y", "number")
    assert t.add(x, y) is t.add(x, y)
    assert t.add(x, t.scale(-1, x)) is t.zero
    assert t.not_(t.not_(t.less(x, y))) is t.less(x, y)
    assert t.all(t.less(x, y), t.not_(t.less(x, y))) is t.false
    assert t.any(t.less(x, y), t.not_(t.less(x, y))) is t.true


def test_depth_is_no_limit() -> None:
    t = Terms()
    term: Term = t.var("x", "number")
    for k in range(5_000):
        term = t.size(t.add(term, t.var(f"y{k % 3}", "number")))
    env: dict[str, Exact] = dict.fromkeys(("x", "y0", "y1", "y2"), Fraction(1))
    assert prepare((term,)).run(env) == [5_001]
    assert variables((term,)) == {"x", "y0", "y1", "y2"}


def test_a_variable_without_a_value_is_refused() -> None:
    t = Terms()
    with pytest.raises(KeyError, match="x"):
        prepare((t.var("x", "number"),)).run({})
