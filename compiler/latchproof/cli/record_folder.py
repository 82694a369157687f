"""A folder of proof records on the disk: written whole, read within bounds, and nothing else touched.

No name of a file comes from a record; links in the folder are replaced or refused, never followed.
"""

import contextlib
import os
import stat
import tempfile
from collections.abc import Iterable, Mapping
from itertools import islice

from latchproof.cli import exits, output
from latchproof.show.visible import visible

LIST = "proofs.json"
ENDINGS = (".start.smt2", ".step.smt2", ".claim.smt2")
MOST_BYTES = 32_000_000
"""Of one file."""
MOST_FILES = 10_000


def usable(folder: str) -> bool:
    """Whether records may be written there: a new or empty folder, or one that holds records. Else it is told why."""
    try:
        names = os.listdir(folder)
    except FileNotFoundError:
        return True
    except NotADirectoryError:
        output.say(f"latchproof: {visible(folder)} is a file; proof records need a folder")
        return False
    except (OSError, ValueError) as error:
        output.say(f"latchproof: {visible(folder)} cannot be read: {_reason(error)}")
        return False
    if names and not _ours(os.path.join(folder, LIST)):
        output.say(
            f"latchproof: {visible(folder)} has files in it and no proof records; "
            "give an empty folder, or one that is not there yet"
        )
        return False
    return True


def write(folder: str, files: Mapping[str, str]) -> int:
    """The records in the place of those that were there. The list goes last: half a folder is refused when checked."""
    proofs = sum(name.endswith(ENDINGS[0]) for name in files)
    try:
        os.makedirs(folder, exist_ok=True)
        if not usable(folder):
            return exits.MISUSE
        for name in sorted(files, key=lambda name: name == LIST):
            _put(folder, name, files[name].encode("utf-8"))
        for name in os.listdir(folder):
            if name.endswith(ENDINGS) and name not in files:
                os.unlink(os.path.join(folder, name))
    except (OSError, ValueError) as error:
        output.say(f"latchproof: {visible(folder)} cannot be written: {_reason(error)}")
        return exits.MISUSE
    output.say(f"{visible(folder)}: {proofs} proof record{'' if proofs == 1 else 's'} written")
    return exits.FINE


def read(folder: str, expected: Iterable[str]) -> tuple[dict[str, bytes], list[str]] | None:
    """What stands in those of the expected files that are there, and the names of others that look like a record's;
    None, and it is told why, when that is no folder of records.

    A file that is no plain one, or larger than any record, counts as empty: it will not be what it should be.
    """
    try:
        with os.scandir(folder) as entries:
            names = {entry.name for entry in islice(entries, MOST_FILES)}
    except FileNotFoundError:
        output.say(f"latchproof: there is no folder {visible(folder)}")
        return None
    except (OSError, ValueError) as error:
        output.say(f"latchproof: {visible(folder)} cannot be read: {_reason(error)}")
        return None
    if LIST not in names:
        output.say(f"latchproof: {visible(folder)} holds no proof records: it has no {LIST}")
        return None
    wanted = set(expected)
    files = {name: _bytes(os.path.join(folder, name)) for name in sorted(wanted & names)}
    return files, sorted(name for name in names - wanted if name.endswith(ENDINGS))


def _put(folder: str, name: str, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(prefix=".latchproof-", dir=folder)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(beside, 0o666 & ~_umask())
        os.replace(beside, os.path.join(folder, name))
    except BaseException:  # also when stopped by the keyboard
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise


def _ours(path: str) -> bool:
    """Whether it begins as a list of this program does."""
    return b'"format": "latchproof.proofs/' in _bytes(path)[:100]


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _bytes(path: str) -> bytes:
    try:
        if not stat.S_ISREG(os.lstat(path).st_mode):
            return b""
        with open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError:
        return b""
    return data if len(data) <= MOST_BYTES else b""


def _reason(error: OSError | ValueError) -> str:
    return (getattr(error, "strerror", None) or "unknown cause").lower()
