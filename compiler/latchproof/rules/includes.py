"""Which files a rule file includes, and whether it may. Nothing is read here."""

from collections.abc import Mapping

from latchproof.diagnostics import Label
from latchproof.rules.scope import Env
from latchproof.syntax import tree


def includes_of(file: tree.File) -> tuple[tree.Include, ...]:
    """The files to be read beside this one; those outside its folder are left out (`resolve` reports them)."""
    return tuple(s for s in file.statements if isinstance(s, tree.Include) and outside(s.path.value) is None)


def outside(path: str) -> str | None:
    """Why this path may not be included; None if it stays inside the folder."""
    if not path.strip():
        return "no path at all"
    if any(ord(c) < 32 or ord(c) == 127 for c in path):
        return "a path with control characters"
    if "\\" in path:
        return "a backslash; folders are separated by /"
    if ":" in path:
        return "a drive letter or an address"
    if path.startswith(("/", "~")):
        return "a path from the root or a home folder"
    if ".." in path.split("/"):
        return "a path that climbs out of the folder"
    return None


def parts_of(file: tree.File, included: Mapping[str, tree.File | None], env: Env) -> tuple[dict[str, tree.Part], bool]:
    """Every part by name, those of the file first; and whether all included files could be read."""
    parts: dict[str, tree.Part] = {}
    complete = True
    _gather(file, parts, env)
    seen: dict[str, tree.Include] = {}
    for include in file.statements:
        if not isinstance(include, tree.Include):
            continue
        path = include.path.value
        reason = outside(path)
        if reason is not None:
            env.error(
                "include-outside",
                "only files inside the folder of this file may be included",
                Label(include.path.span, reason),
                hints=('put the file beside this one and write include "parts/name.latch"',),
            )
            complete = False
        elif path in seen:
            env.error(
                "repeated-clause", "this file is included twice", Label(include.path.span, "once more"),
                Label(seen[path].path.span, "first here"), hints=("once is enough: take this line out",),
            )  # fmt: skip
        elif path not in included:
            env.error(
                "include-missing",
                f"there is no file {path}",
                Label(include.path.span, "not found"),
                hints=("the path counts from the folder of this file",),
            )
            complete = False
        else:
            beside = included[path]
            if beside is None:
                complete = False
            else:
                _only_parts(beside, env)
                _gather(beside, parts, env)
        seen.setdefault(path, include)
    return parts, complete


def _gather(file: tree.File, parts: dict[str, tree.Part], env: Env) -> None:
    for part in file.statements:
        if not isinstance(part, tree.Part):
            continue
        first = parts.setdefault(part.name.text, part)
        if first is not part:
            env.error(
                "duplicate-name",
                f"a second part called {part.name.text}",
                Label(part.name.span, "the second"),
                Label(first.name.span, "the first"),
                hints=("give one of them another name",),
            )


def _only_parts(file: tree.File, env: Env) -> None:
    if file.header is not None:
        env.error(
            "included-not-parts",
            "an included file holds parts and nothing else",
            Label(file.header.span, "this is the first line of a rule file"),
            hints=("take the line `rules ...` out of the included file",),
        )
    for s in file.statements:
        if isinstance(s, tree.Include):
            env.error(
                "included-not-parts",
                "an included file cannot include another one",
                Label(s.span, "a chain of includes"),
                hints=("include that file from the rule file itself",),
            )
        elif not isinstance(s, tree.Part):
            env.error(
                "included-not-parts",
                "an included file holds parts and nothing else",
                Label(s.span, "this is not a part"),
                hints=("put it inside `part NAME takes ... gives ... { }`, or move it into the rule file",),
            )
