"""Random claims of all nine forms, with scopes and frames that keep arriving, and assumptions about the world."""

from random import Random

from tests.helpers.phrases import Writer

FORMS = ("never", "always", "whenever", "before", "starts", "quiet", "length", "step", "can")


def claims(rng: Random, w: Writer) -> list[str]:
    made = []
    for number in range(rng.randint(1, 3)):
        sentence = ' "what the pilot would say"' if w.chance(30) else ""
        scope = rng.choice(("", "", f" while {w.signal(1)}", f" since {w.operand(1)}"))
        provided = f" provided {rng.choice(w.pool.arriving)} keeps arriving" if w.pool.arriving and w.chance(30) else ""
        made.append(f"claim claim_{number}{sentence}: {form(rng, w)}{scope}{provided}")
    return made


def form(rng: Random, w: Writer) -> str:
    span = w.delay(positive=True) if w.chance(60) else w.delay(fixed=True)
    if w.pool.fixed["s"] and w.chance(20):
        span = rng.choice(w.pool.fixed["s"])
    match rng.choice(FORMS):
        case "never":
            return f"never {_signal(rng, w)}"
        case "always":
            return f"always {_signal(rng, w)}"
        case "whenever":
            within = f" within {rng.choice((span, span, '0 s', '1 cycle'))}" if w.chance(75) else ""
            return f"whenever {w.signal(1)} then {w.signal(1)}{within}"
        case "before":
            return f"before {w.operand(1)} comes {w.operand(1)}"
        case "starts":
            return f"starts of {w.operand(1)} at most {rng.randint(1, 3)} in {span}"
        case "quiet":
            return f"for {span} after {w.operand(1)} never {w.operand(1)}"
        case "length":
            return f"length of {w.operand(1)} at {rng.choice(('least', 'most'))} {span}"
        case "step":
            unit = w.unit()
            return f"step of {w.number(unit, 1)} at most {w.constant(unit)} in {span}"
        case _:
            return f"can {' then '.join(w.operand(1) for _ in range(rng.randint(1, 3)))}"


def _signal(rng: Random, w: Writer) -> str:
    if w.pool.true and w.chance(30):
        truth, unit = rng.choice(w.pool.true)
        return f"{truth} is {rng.choice(('below', 'above'))} {w.constant(unit)}"
    return w.signal(2)


def assumption(rng: Random, w: Writer) -> str:
    """Something that leaves the world other ways: about two inputs, or about how fast one moves."""
    lever = rng.choice(list(w.pool.switches))
    positions = w.pool.switches[lever]
    stick = rng.choice(w.pool.sticks)
    signal = rng.choice(w.pool.signals)
    return rng.choice((
        f"assume calm: never {lever} is {positions[-1]} and {stick} is above 80 %",
        f"assume calm: always size of (rate of {stick}) is at most 300 %/s",
        f'assume calm: for 0.2 s after ({lever} is {positions[0]} ends) never {stick} is above 90 % assumed "seen"',
        f"assume calm: starts of ({lever} is {positions[-1]}) at most 2 in 1 s",
        f"assume calm: whenever {signal} then {stick} is at most 95 %",
        f"assume calm: step of {stick} at most 60 % in 0.1 s",
    ))  # fmt: skip
