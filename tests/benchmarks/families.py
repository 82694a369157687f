"""Rule sets that grow: the same thing many times over, or one thing that gets longer. Each with claims that hold."""

from collections.abc import Callable

HEAD = 'rules "Grown" version "1"\ncycle from 10 ms to 30 ms\n'


def guards(n: int) -> str:
    """`n` guards that know nothing of one another, and a claim for each fifth of them."""
    lines = [HEAD, "stick s from 0 % to 100 %"]
    for k in range(n):
        lines += [
            f"switch lever_{k} positions off, on",
            f"channel motor_{k} {{ follows s  from 0 % to 100 % }}",
            f"latch saving_{k} {{ set when lever_{k} is on for 0.3 s  reset when lever_{k} is off",
            f"  timeout 3 s then blocked until lever_{k} is off }}",
            f"rule climb_{k} while saving_{k} {{ drive motor_{k} to 80 % }}",
        ]
    lines += [f"claim short_{k}: length of saving_{k} at most 3.05 s" for k in range(0, n, 5)]
    return "\n".join(lines) + "\n"


def chained(n: int) -> str:
    """`n` latches, each set by the one before it; one claim about the last."""
    lines = [HEAD, "switch lever positions off, on", "button go"]
    lines.append("latch link_0 { set when go is pressed  reset when lever is off }")
    lines += [f"latch link_{k} {{ set when link_{k - 1}  reset when lever is off }}" for k in range(1, n)]
    lines.append(f"claim whole: always link_0 or not link_{n - 1}")
    lines.append(f"claim linked: never link_{n - 1} and lever is off")
    return "\n".join(lines) + "\n"


def timers(n: int) -> str:
    """`n` delays in one claim: one that is on has been so for its time."""
    lines = [HEAD, "button key"]
    lines += [f"signal late_{k} = key is pressed for {100 + 10 * k} ms" for k in range(n)]
    lines.append(f"claim ordered: never late_{n - 1} and not ({' and '.join(f'late_{k}' for k in range(n))})")
    return "\n".join(lines) + "\n"


def nested(n: int) -> str:
    """Delays in delays, of 600 s together."""
    lines = [HEAD, "button key", f"signal wait_0 = key is pressed for {600_000 // n} ms"]
    lines += [f"signal wait_{k} = wait_{k - 1} for {600_000 // n} ms" for k in range(1, n)]
    lines.append(f"claim not_before: never wait_{n - 1} and not wait_0")
    lines.append(f"claim reached: can wait_{n - 1}")
    return "\n".join(lines) + "\n"


def wide(n: int) -> str:
    """One condition of `n` parts."""
    lines = [HEAD, "stick s from 0 % to 100 %"]
    lines += [f"switch lever_{k} positions off, on" for k in range(n)]
    lines.append(f"signal all_on = {' and '.join(f'lever_{k} is on' for k in range(n))}")
    lines.append("latch guard { set when all_on for 0.5 s  reset when not all_on }")
    lines.append(f"claim together: never guard and lever_{n // 2} is off")
    lines.append("claim waited: for 0.4 s after (all_on begins) never (guard begins)")
    return "\n".join(lines) + "\n"


def tuned(n: int) -> str:
    """`n` thresholds that may be tuned, each above the one before, and what follows from that for the last."""
    lines = [HEAD, "sensor height { from 0 m to 5000 m  stale after 1 s }"]
    lines += [f"tune floor_{k} = {10 + 2 * k} m from {5 + 2 * k} m to {100 + 2 * k} m" for k in range(n)]
    lines += [f"require floor_{k} is at least floor_{k - 1} + 1 m" for k in range(1, n)]
    lines += [f"signal below_{k} = height is below floor_{k}" for k in range(n)]
    lines.append(f"claim ordered: never below_0 and not below_{n - 1}")
    return "\n".join(lines) + "\n"


FAMILIES: dict[str, Callable[[int], str]] = {
    "independent guards": guards,
    "chained latches": chained,
    "timers in one claim": timers,
    "nested delays, 600 s": nested,
    "wide conditions": wide,
    "tunes that depend": tuned,
}
SIZES = (10, 30, 100, 300, 1000)
