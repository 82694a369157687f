"""For each hazard a small rule set that shows it, and the remedies that the program itself proposes for it.

`cases/H12_shows.latch`, or `cases/H12_shows_MORE.latch` for further ones, says at its top what comes of that hazard:

    # shows: fails in climb, low      in these names and no others, every one with at least one remedy
    # shows: not named                a role or fact is missing
    # shows: procedure                only a step on the cards can close it
    # shows: not applicable           the rule set cannot run into it
    # shows: proved                   it was looked for and is not there
    # remedy: 2                       also try the second remedy (of every failing name); the first is always tried
    # add: role kill is off is on     for "not named": the line that names it, as the printed one with its blanks filled
    # then: proved                    for "not named": the state after that line (default: anything but "not named")
    # costs: H13                      hazards that the remedy may make worse, since the two cannot both be had

After a remedy the text is read without an error, the layout formatter reads it too, the same hazard is fine, and no
other hazard is worse than it was.
"""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from latchproof.hazards.catalogue import CHECKS
from latchproof.hazards.model import Check, Finding, NotNamed
from latchproof.prove.workers import Workers
from latchproof.rules.hazards import TITLES
from latchproof.source import Source
from latchproof.syntax.layout import layout
from tests.helpers.hazards import WORSE, findings, mended, remedies_of, site_of, worst

CASES = Path(__file__).parent / "cases"
FILES = sorted(CASES.glob("*.latch"))
FINE = ("proved", "not applicable", "procedure")


@dataclass(frozen=True, slots=True)
class Case:
    hazard: str
    text: str
    shows: str
    about: frozenset[str]
    tried: tuple[int, ...]
    added: str | None
    then: str | None
    costs: frozenset[str]


@cache
def case_of(path: Path) -> Case:
    text = path.read_text(encoding="utf-8")

    def said(word: str) -> str | None:
        found = re.search(rf"^# {word}: (.*)$", text, re.MULTILINE)
        return found[1].strip() if found else None

    shows, _, names = (said("shows") or "").partition(" in ")
    assert shows in ("fails", *FINE, "not named"), f"{path.name} says what it shows"
    about = frozenset(filter(None, re.split(r",\s*", names)))
    tried = (1, *(int(n) for n in re.findall(r"\d+", said("remedy") or "")))
    costs = frozenset(re.findall(r"H\d\d", said("costs") or ""))
    return Case(path.name[:3], text, shows, about, tried, said("add"), said("then"), costs)


def state(found: tuple[Finding, ...]) -> str:
    """The worst of them."""
    return max((f.state for f in found), key=WORSE.index)


def shows(*kinds: str) -> list[Path]:
    return [p for p in FILES if case_of(p).shows in kinds]


def test_every_hazard_has_a_case() -> None:
    assert {p.name[:3] for p in FILES if "_shows" in p.name} == set(TITLES)


def test_every_hazard_is_looked_for() -> None:
    assert set(CHECKS) == set(TITLES)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_it_shows(path: Path, workers: Workers) -> None:
    case = case_of(path)
    site = site_of(case.text)
    found = findings(site, [case.hazard], workers)
    assert {f.hazard for f in found} == {case.hazard}
    assert state(found) == case.shows, said_of(found)
    assert {f.about for f in found if f.state == "fails"} == case.about, said_of(found)
    checks = [(f.outcome.variant, f.outcome.name) for f in found if isinstance(f.outcome, Check)]
    assert len(set(checks)) == len(checks), "two checks of one name"
    for f in found:
        if f.state == "fails":
            assert remedies_of(f.outcome), f"no remedy for {f.hazard} in {f.about}"


@pytest.mark.parametrize("path", shows("fails"), ids=lambda p: p.stem)
def test_its_remedy_mends_it(path: Path, workers: Workers) -> None:
    case = case_of(path)
    for number in case.tried:
        text = after(case, number, workers)
        found = findings(site_of(text), [case.hazard], workers)
        assert all(f.state in FINE or chosen(f) for f in found), f"remedy {number}\n{text}\n{said_of(found)}"
        assert layout(Source("test.latch", text))[0] is not None


@pytest.mark.long
@pytest.mark.parametrize("path", shows("fails"), ids=lambda p: p.stem)
def test_its_remedy_makes_nothing_else_worse(path: Path, workers: Workers) -> None:
    case = case_of(path)
    others = [h for h in CHECKS if h != case.hazard and h not in case.costs]
    before = worst(findings(site_of(case.text), others, workers))
    for number in case.tried:
        text = after(case, number, workers)
        now = worst(findings(site_of(text), others, workers))
        general = {h: max(bad for (x, _), bad in before.items() if x == h) for h in others}
        worse = {k: WORSE[bad] for k, bad in now.items() if bad > before.get(k, general[k[0]]) and bad >= 3}
        assert not worse, f"remedy {number}\n{text}"


@pytest.mark.parametrize("path", shows("not named"), ids=lambda p: p.stem)
def test_the_line_that_names_it(path: Path, workers: Workers) -> None:
    case = case_of(path)
    assert case.added is not None, "say which line to add"
    asked = [f.outcome for f in findings(site_of(case.text), [case.hazard], workers)]
    printed = " ".join(o.add for o in asked if isinstance(o, NotNamed))
    assert " ".join(case.added.split()[:2]) in " ".join(printed.split()), printed
    text = f"{case.text}\n{case.added}\n"
    found = findings(site_of(text), [case.hazard], workers)
    assert state(found) != "not named", said_of(found)
    assert case.then in (None, state(found)), said_of(found)
    assert layout(Source("test.latch", text))[0] is not None


def after(case: Case, number: int, workers: Workers) -> str:
    """The text after a remedy (the number of it, or the last one) for every name that fails."""
    site = site_of(case.text)
    failing = [f for f in findings(site, [case.hazard], workers) if f.state == "fails"]
    chosen = [remedies_of(f.outcome)[min(number, len(remedies_of(f.outcome))) - 1] for f in failing]
    return mended(site, chosen)


def chosen(f: Finding) -> bool:
    """Of two ways that cannot both be had the pilot has taken one, and says so in the file."""
    return f.accepted is not None and f.otherwise is not None and f.otherwise.state == "fails"


def said_of(found: tuple[Finding, ...]) -> str:
    return "\n".join(f"{f.state}: {f.outcome}" for f in found)
