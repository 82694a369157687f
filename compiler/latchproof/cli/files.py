"""Writing a file so that at every moment either the old or the new text is there, whole."""

import contextlib
import os
import stat
import tempfile

from latchproof.cli import exits, output
from latchproof.show.visible import visible


def write(path: str, text: str) -> int:
    """Write a text to a file, new or not; what goes wrong is told, and the exit code says so."""
    try:
        if os.path.exists(path):
            replace(path, text.encode())
        else:
            with open(path, "x", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except OSError as error:
        output.say(f"latchproof: {visible(path)} cannot be written: {(error.strerror or 'unknown cause').lower()}")
        return exits.MISUSE
    output.say(f"{visible(path)}: written")
    return exits.FINE


def replace(path: str, data: bytes) -> None:
    """Put `data` in the place of the file at `path`, with its permissions. A link stays, what it leads to is replaced.

    A new file is written beside the old one and then takes its name, which the system does in one move.
    """
    target = os.path.realpath(path)
    mode = stat.S_IMODE(os.stat(target).st_mode)
    handle, beside = tempfile.mkstemp(prefix=".latchproof-", dir=os.path.dirname(target))
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(beside, mode)
        os.replace(beside, target)
    except BaseException:  # also when stopped by the keyboard
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise
