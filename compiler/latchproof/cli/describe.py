"""`latchproof describe`: asks what a transmitter can do and writes the answers down.

The questions and what an answer does are in the room `transmitter`; here lines are read, asked for and kept.
"""

import os
import sys
import textwrap
from argparse import ArgumentParser, Namespace
from io import TextIOWrapper
from shlex import quote
from typing import TYPE_CHECKING

from latchproof.cli import exits, files, output
from latchproof.cli.command import Command, colour
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.show.style import Style
    from latchproof.transmitter.questions import Question, State

FILE = "transmitter.toml"
LONGEST_LINE = 1000


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--from",
        dest="start",
        default="typical",
        metavar="NAME-OR-FILE",
        help="what to start from: small, typical, rich, or a description (default: typical)",
    )
    parser.add_argument(
        "--for", dest="rules", metavar="RULES", help="ask with the names of this rule file: which switch is which"
    )
    parser.add_argument("-o", "--output", default=FILE, metavar="FILE", help=f"where to write it (default: {FILE})")
    parser.add_argument("--force", action="store_true", help="write over a file that is there already")
    parser.add_argument("--answers", metavar="FILE", help="take the answers from a file, a line each: key = answer")
    parser.add_argument("--show", metavar="NAME-OR-FILE", help="say in words what a description says; ask nothing")
    colour(parser)


def _execute(args: Namespace) -> int:
    from latchproof.cli.transmitter_of import chosen
    from latchproof.transmitter.needs import NOTHING, needs_of
    from latchproof.transmitter.questions import begin

    if args.show is not None:
        return _show(args)
    if args.output != "-" and os.path.lexists(args.output) and not args.force:
        output.say(
            f"latchproof: {visible(args.output)} is there already; choose another name with -o, or write over it "
            "with --force"
        )
        return exits.MISUSE
    start = chosen(args.start, args)
    if start.transmitter is None:
        return start.code
    needs = NOTHING
    if args.rules is not None:
        from latchproof.cli.rules_of import rules_of

        found = rules_of(args.rules, Namespace(**{**vars(args), "stage": None}))
        if found.rules is None:
            return found.code
        needs = needs_of(found.rules)
    state = begin(start.transmitter, generic=start.built_in, needs=needs)
    if args.answers is not None:
        return _prepared(state, args)
    return _interview(state, args)


def _show(args: Namespace) -> int:
    from latchproof.cli.transmitter_of import chosen
    from latchproof.show.transmitter import render

    found = chosen(args.show, args)
    if found.transmitter is None:
        return found.code
    output.result(render(found.transmitter, output.style(args, sys.stdout)))
    return found.code


# ---------- asking on the terminal


def _interview(state: "State", args: Namespace) -> int:
    from latchproof.transmitter.interview import step

    style = output.style(args, sys.stderr)
    if isinstance(sys.stdin, TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    output.say(_welcome(args, style))
    group = ""
    try:
        while (question := state.question) is not None:
            if question.group != group:
                group = question.group
                output.say(_heading(question, state, style))
            output.say(_asked(question, style))
            line = sys.stdin.readline(LONGEST_LINE)
            if not line:
                return _stopped(state, args, exits.FAULT)
            state = step(state, line)
            if state.said:
                said = state.said[0] + "".join(f"; {s}" for s in state.said[1:])
                output.say(_wrapped(f"  -> {visible(said)}", style, "     "))
                group = question.group
    except KeyboardInterrupt:
        return _stopped(state, args, exits.INTERRUPTED)
    return _write(state, args)


def _welcome(args: Namespace, style: "Style") -> str:
    parts = (
        "Questions about your transmitter, from the general to the special; about ten minutes. PROPELLER OFF for all "
        "that you try.",
        "Enter takes what stands in [ ]. A ? means: I don't know. A ? behind an answer: I think so, but have not tried "
        "it; it is then told as ASSUMED. back goes one question back. Ctrl-C stops; what was answered is kept.",
    )
    return "\n".join(_wrapped(p, style) for p in parts)


def _heading(question: "Question", state: "State", style: "Style") -> str:
    from latchproof.transmitter.asking import ABOUT, GROUPS

    number = GROUPS.index(question.group) + 1
    head = f"\n{question.group} ({number} of {len(GROUPS)}; {len(state.open)} questions left)"
    about = ABOUT.get(question.group)
    return style.paint(head, "strong") + (f"\n{_wrapped(about, style)}" if about else "")


def _asked(question: "Question", style: "Style") -> str:
    from latchproof.transmitter.answers import choices

    lines = ["", _wrapped(style.paint(visible(question.ask), "strong"), style)]
    if question.how:
        lines.append(_wrapped(f"  To find out: {question.how}.", style, "  "))
    said = choices(question.key)
    if said and "Say like" not in question.ask:
        lines.append(_wrapped(f"  Say {said}.", style, "  "))
    shown = "" if question.default is None else visible(question.default)
    hint = f"; the built-in one: {visible(question.hint)}" if question.hint else ""
    lines.append(f"[{shown}{hint}]" if shown else "(Enter is no answer here)")
    return "\n".join(lines)


def _wrapped(text: str, style: "Style", indent: str = "") -> str:
    return "\n".join(textwrap.wrap(text, style.width, subsequent_indent=indent, break_on_hyphens=False)) or text


def _stopped(state: "State", args: Namespace, code: int) -> int:
    """What was answered is kept, the rest is don't know."""
    if not state.answers:
        output.say("\nNothing was answered, nothing is written.")
        return code
    output.say(f"\nNot finished: {len(state.open)} questions are left.")
    written = _write(state, args)
    return written if written != exits.FINE else code


def _write(state: "State", args: Namespace) -> int:
    from latchproof.transmitter.interview import result
    from latchproof.transmitter.write import write

    remarks: tuple[str, ...] = ()
    if state.open:
        left = ", ".join(q.id for q in state.open[:6])
        remarks = (
            f"NOT FINISHED: {len(state.open)} questions are open, from {left} on. Where don't know is an answer, it "
            "was taken; the rest is as in what this was started from, and stands in `assumed`.",
        )
    text = write(result(state), remarks)
    if args.output == "-":
        output.result(text.rstrip("\n"))
        return exits.FINE
    if os.path.lexists(args.output) and not args.force:
        # It has come to be since the beginning; the answers must not be lost for it.
        output.say(f"latchproof: {visible(args.output)} is there now; the description follows")
        output.result(text.rstrip("\n"))
        return exits.MISUSE
    code = files.write(args.output, text)
    if code != exits.FINE:
        output.result(text.rstrip("\n"))
    elif state.open:
        rules = "" if args.rules is None else f" --for {quote(visible(args.rules))}"
        output.say(
            f"Go on with: latchproof describe --from {_path(args.output)}{rules} -o {_path(args.output)} --force"
        )
    else:
        output.say(f"Look it through with: latchproof describe --show {_path(args.output)}")
    return code


def _path(name: str) -> str:
    """As a description is asked for: a bare word would be taken for a built-in one."""
    bare = os.sep not in name and not name.lower().endswith(".toml")
    return quote(visible(f"./{name}" if bare else name))


# ---------- prepared answers


def _prepared(state: "State", args: Namespace) -> int:
    """A line each, in any order: `gates.inputs = 3`. What is not there is answered by Enter."""
    from latchproof.source.read import read
    from latchproof.transmitter.interview import step

    source, found = read(args.answers)
    if source is None or found:
        output.report(found, {} if source is None else {source.name: source}, args, sys.stderr)
        return output.exit_code(found)
    answers: dict[str, tuple[int, str]] = {}
    for number, line in enumerate(source.text.split("\n"), 1):
        key, equals, answer = line.partition("=")
        key = key.strip()
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if not equals:
            return _wrong(args, number, "a line is key = answer, or a comment after #")
        if key in answers:
            return _wrong(args, number, f"{key} is answered on line {answers[key][0]} already")
        answers[key] = (number, answer.strip()[:LONGEST_LINE])
    while (question := state.question) is not None:
        number, answer = answers.pop(question.id, (0, ""))
        if answer.lower() == "back":
            return _wrong(args, number, "back is no answer here")
        state = step(state, answer)
        if state.said:
            where = number or "the end"
            return _wrong(args, where, f"{question.id}: {'; '.join(state.said)}", question.id if not number else "")
    if answers:
        from latchproof.rules.suggest import did_you_mean

        key, (number, _) = min(answers.items(), key=lambda a: a[1][0])
        hints = did_you_mean(key, [id for id, _ in state.answers])
        return _wrong(
            args, number, f"there is no question {key} after these answers" + "".join(f"; {h}" for h in hints)
        )
    return _write(state, args)


def _wrong(args: Namespace, line: int | str, what: str, missing: str = "") -> int:
    more = f"; add a line {missing} = ..." if missing else ""
    said = f"{visible(what)}{more}".removesuffix(".")
    said += "" if said.endswith("?") else "."
    where = f"line {line}" if isinstance(line, int) else line
    output.say(
        f"latchproof: {visible(args.answers)}, {where}: {said} Nothing is written. The keys of all answers and what "
        "may stand there are in grammar/TRANSMITTER.md."
    )
    return exits.FAULT


COMMAND = Command(
    "describe",
    "describe your transmitter, question by question",
    "Asks what your transmitter can do and what the model already has, says how to find out each answer, and writes "
    "a description for --transmitter.",
    _arguments,
    _execute,
)
