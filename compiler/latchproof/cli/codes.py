"""What a verdict is as an exit code."""

from typing import TYPE_CHECKING

from latchproof.cli import exits, output
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.prove.verdicts import Verdict

CODES = {"proved": exits.FINE, "refuted": exits.FAULT, "unknown": exits.UNDECIDED}


def code(verdict: "Verdict") -> int:
    """The exit code for one verdict. A proof that is none is told of here: it is an error of this program."""
    if not verdict.broken:
        return CODES[verdict.answer]
    output.say(
        f"latchproof: {visible(verdict.claim)}: {verdict.reason}. Please report it, with the rule file and this line."
    )
    return exits.MISUSE
