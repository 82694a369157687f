"""What earlier runs found, kept in a folder for the next one. Read as suggestions only: the prover checks them again.

Two kinds of small files: what is worth keeping of an answer, named by the key of its question, and for each claim of a
rule file the key of its last answer. Each is written whole under another name and then renamed, so that a reader finds
an old file, a new one or none. What cannot be read, or is not as it should be, is as good as absent; what cannot be
written is not kept.
"""

import contextlib
import os
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from latchproof.machine.model import Machine
    from latchproof.prove.memory import Keepsake, Memory
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.strength.flights import Flight

VARIABLE = "LATCHPROOF_CACHE"

LARGEST = 4_000_000
"""Bytes of one file."""

MOST = 64_000_000
"""Bytes of all; then the files that were not used for longest go."""

FLIGHTS = "all flights"
"""In place of a claim's name; none has such a one."""

EMPTIED = 0.75
"""How full the folder is after that."""


def cache(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--no-cache",
        action="store_true",
        help=f"neither use nor keep what was found before. It is kept in your cache folder (on Linux "
        f"~/.cache/latchproof; {VARIABLE} names another, and empty none) and checked again whenever it is used",
    )


def prove(
    machine: "Machine",
    workers: "Workers",
    args: Namespace,
    path: str,
    at_once: int,
    hints: "Mapping[str, Keepsake] | None" = None,
) -> "Iterator[Verdict]":
    """The verdicts, as they arrive. What earlier runs found is tried first, and what this one finds is kept.

    `hints`, by the name of a claim, are tried in place of what is known of it from other rules.

    `path` of the rule file (- for standard input) tells its claims from those of the same name in others.
    """
    for _, verdict in prove_each((machine,), workers, args, path, at_once, hints):
        yield verdict


def prove_each(
    machines: "Sequence[Machine]",
    workers: "Workers",
    args: Namespace,
    path: str,
    at_once: int,
    hints: "Mapping[str, Keepsake] | None" = None,
) -> "Iterator[tuple[int, Verdict]]":
    """The same for several machines, variants of one rule file: each verdict with the place of its machine. What is
    kept of all of them is checked in one go."""
    from latchproof.prove.memory import FORGETFUL, Hinted
    from latchproof.prove.prover import prove_each as proved

    if not machines:
        return
    shelf = shelf_of(machines[0], args, path)
    memory: Memory = FORGETFUL if shelf is None else shelf
    if hints:
        memory = Hinted(memory, hints)
    for place, verdict in proved(machines, workers, time_limit=args.time_limit, at_once=at_once, memory=memory):
        if shelf is not None:
            for found in (*verdict.tried, verdict):  # the last one is what is known of the claim
                shelf.keep(found)
        yield place, verdict
    if shelf is not None:
        shelf.tidy()


def shelf_of(machine: "Machine", args: Namespace, path: str) -> "Shelf | None":
    """The part of the cache that is about one rule file; None where none is wanted."""
    folder = None if args.no_cache else folder_of_cache()
    title = machine.rules.title if path == "-" else os.path.realpath(path)
    return None if folder is None else Shelf(folder, f"{title}\0{args.stage or ''}")


def folder_of_cache() -> Path | None:
    """None where none is wanted."""
    named = os.environ.get(VARIABLE)
    if named is not None:
        return Path(named) if named else None
    from platformdirs import user_cache_path

    return user_cache_path("latchproof", appauthor=False)


@dataclass(frozen=True, slots=True)
class Shelf:
    """The part of the folder that is about one rule file (`rules` tells which)."""

    folder: Path
    rules: str

    def exactly(self, key: str) -> "Keepsake | None":
        from latchproof.prove.kept_text import read

        text = _read(self._answer(key))
        return None if text is None else read(text)

    def lately(self, claim: str) -> "Keepsake | None":
        key = _read(self._last(claim))
        return None if key is None or not _is_key(key) else self.exactly(key)

    def keep(self, verdict: "Verdict") -> None:
        from latchproof.prove.kept_text import written

        if verdict.keepsake is None:
            return
        if not verdict.remembered:
            _write(self._answer(verdict.key), written(verdict.keepsake))
        if _read(self._last(verdict.claim)) != verdict.key:
            _write(self._last(verdict.claim), verdict.key)

    def flights(self) -> "tuple[Flight, ...]":
        """Runs that showed what can happen. Whoever uses them flies them again."""
        from latchproof.strength.kept_flights import read

        text = _read(self._last(FLIGHTS))
        return () if text is None else read(text)

    def keep_flights(self, flights: "Sequence[Flight]") -> None:
        from latchproof.strength.kept_flights import written

        _write(self._last(FLIGHTS), written(flights))

    def tidy(self) -> None:
        """Removes what was not used for longest when there is too much."""
        files = []
        with contextlib.suppress(OSError):
            for entry in (e for part in ("answers", "last") for e in os.scandir(self.folder / part)):
                with contextlib.suppress(OSError):
                    there = entry.stat(follow_symlinks=False)
                    files.append((there.st_mtime_ns, there.st_size, entry.path))
        total = sum(size for _, size, _ in files)
        if total <= MOST:
            return
        for _, size, path in sorted(files):
            if total <= MOST * EMPTIED:
                break
            with contextlib.suppress(OSError):
                os.unlink(path)
            total -= size

    def _answer(self, key: str) -> Path:
        return self.folder / "answers" / f"{key}.json"

    def _last(self, claim: str) -> Path:
        from hashlib import sha256

        name = sha256(f"{self.rules}\0{claim}".encode("utf-8", "surrogatepass")).hexdigest()
        return self.folder / "last" / f"{name}.txt"


def _is_key(text: str) -> bool:
    return len(text) == 64 and all(c in "0123456789abcdef" for c in text)


def _read(path: Path) -> str | None:
    """The text of a file of reasonable size; to have been read makes it young again."""
    try:
        with path.open("rb") as file:
            text = file.read(LARGEST + 1).decode("utf-8")
        os.utime(path)
    except (OSError, ValueError):
        return None
    return text if len(text) <= LARGEST else None


def _write(path: Path, text: str) -> None:
    import tempfile

    encoded = text.encode("utf-8", "surrogatepass")
    if len(encoded) > LARGEST:
        return
    temporary = None
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix="new-", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(encoded)
        os.replace(temporary, path)
    except OSError:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
