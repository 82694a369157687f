"""`latchproof COMMAND ...`: turns whatever goes wrong into an exit code and at most one line.

Nothing is loaded before `main` begins, so that Ctrl-C is met from the start.
"""

import contextlib
import gc
import os
import sys
from collections.abc import Sequence
from io import TextIOWrapper

from latchproof.cli import exits

NEW_OBJECTS = 50_000
"""How many may come before Python looks for rings of objects that nobody needs. Trees and machines are none and live as
long as the command, so that looking as often as usual would take a sixth of a short one's time."""


def main(argv: Sequence[str] | None = None) -> int:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a letter that the terminal cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        return _run(argv)
    except SystemExit as end:  # argparse: 0 after --help and --version, 2 after a wrong option
        return end.code if isinstance(end.code, int) else exits.MISUSE
    except KeyboardInterrupt:
        return exits.INTERRUPTED
    except BrokenPipeError:
        _send_nowhere()
        return exits.NO_READER
    except Exception as error:
        return _internal(error)


def _run(argv: Sequence[str] | None) -> int:
    gc.set_threshold(NEW_OBJECTS)
    from latchproof.cli.command import Command
    from latchproof.cli.parser import parser

    args = parser().parse_args(argv)
    command: Command = args.command
    code = command.execute(args)
    sys.stdout.flush()
    return code


def _send_nowhere() -> None:
    """Python flushes standard output once more at its end."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _internal(error: Exception) -> int:
    if os.environ.get("LATCHPROOF_DEBUG") == "1":
        import traceback

        traceback.print_exception(error)
        return exits.MISUSE
    from latchproof.show.visible import visible

    said = visible(str(error))
    what = type(error).__name__ + (f": {said[:200]}" if said else "")
    print(
        f"latchproof: internal error: {what}. Please report it, with the rule file and this line; "
        "LATCHPROOF_DEBUG=1 shows where it happened.",
        file=sys.stderr,
    )
    return exits.MISUSE
