"""What a hazard asks of a rule set, and what was found.

A family's function looks at a rule set (`Site`) and says, for one hazard, what there is to check: claims to be proved,
as if the pilot had written them, or what can be told from the text alone. Claims are proved by the same prover as
written ones; a `Finding` is a question with its answer.
"""

from dataclasses import dataclass
from typing import Literal

from latchproof.machine.model import Machine
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Accepted, Claim, RuleSet
from latchproof.source import Span


@dataclass(frozen=True, slots=True)
class Edit:
    """`text` in place of what stands at `span`; an empty span inserts. `said` tells a pilot where: "in latch armed,
    add" or "in rule climb, write instead of `while low`"."""

    span: Span
    text: str
    said: str


@dataclass(frozen=True, slots=True)
class Remedy:
    """One way to mend it: a sentence, and the change to the rule file, which can be pasted as it is."""

    said: str
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """A claim that the prover must prove.

    `about` is the rule, sequence, latch or other name that the check is made for; `accept H12 in NAME` silences it.
    `claim.name` is the hazard and `about` ("H12 climb"), with a number if there are several; `claim.sentence` is what
    is promised, in a pilot's words. Without a claim it is the machine's own property called `unwritten` that must be
    proved (that two drives never fight). `rules` is what the claim is proved of: the rule set itself, or a variant of
    it (another reading order, any power-up), which `variant` then names in words ("whatever was remembered at
    power-up").

    `otherwise`: two hazards that cannot both be mended, a choice: what the other way of doing it brings, checked too,
    so that the pilot sees both when this one fails.
    """

    hazard: str
    about: str
    claim: Claim | None
    rules: RuleSet
    remedies: tuple[Remedy, ...]
    variant: str = ""
    unwritten: str = ""
    otherwise: "Check | None" = None

    @property
    def name(self) -> str:
        """What the verdict is called by."""
        return self.unwritten if self.claim is None else self.claim.name


@dataclass(frozen=True, slots=True)
class Seen:
    """What the text alone shows, without a proof: fine, or a fault with its remedies."""

    hazard: str
    about: str
    fine: bool
    said: str
    span: Span | None = None
    remedies: tuple[Remedy, ...] = ()


@dataclass(frozen=True, slots=True)
class NotApplicable:
    """Why the rule set cannot run into it: "nothing drives a motor"."""

    hazard: str
    why: str


@dataclass(frozen=True, slots=True)
class NotNamed:
    """It could be checked, if the file named a role or stated a fact. `missing`: "no role tells which switch stops the
    motor"; `add`: the line to write, with blanks, such as `role kill is ... is ...`."""

    hazard: str
    missing: str
    add: str


@dataclass(frozen=True, slots=True)
class Procedure:
    """No rule can close it: a step for the cards, in the imperative, and when it is to be done."""

    hazard: str
    step: str
    when: Literal["once", "before the first flight", "every flying day", "every flight"]


Outcome = Check | Seen | NotApplicable | NotNamed | Procedure


@dataclass(frozen=True)
class Finding:
    """An outcome with what came of it. `machine` and `verdict` belong to a check; `accepted` is the line of the rule
    file that lives with it; `otherwise` is what came of the other way, where there is a choice."""

    outcome: Outcome
    machine: Machine | None = None
    verdict: Verdict | None = None
    accepted: Accepted | None = None
    otherwise: "Finding | None" = None

    @property
    def hazard(self) -> str:
        return self.outcome.hazard

    @property
    def state(self) -> Literal["proved", "fails", "not decided", "not applicable", "not named", "procedure"]:
        """`proved` also where the text alone shows that it is fine."""
        match self.outcome:
            case Check():
                assert self.verdict is not None
                names: dict[str, Literal["proved", "fails", "not decided"]]
                names = {"proved": "proved", "refuted": "fails", "unknown": "not decided"}
                return names[self.verdict.answer]
            case Seen(fine=fine):
                return "proved" if fine else "fails"
            case NotApplicable():
                return "not applicable"
            case NotNamed():
                return "not named"
            case Procedure():
                return "procedure"

    @property
    def about(self) -> str:
        return self.outcome.about if isinstance(self.outcome, Check | Seen) else ""
