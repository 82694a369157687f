"""The tables of grammar/TRANSMITTER.md, from the schema."""

from collections.abc import Iterator

from latchproof.transmitter.schema import KEYS, LISTS, NO_FALLBACK, QUANTITIES, SECTIONS, UNSURE, Key
from latchproof.transmitter.write import kinds


def rows() -> Iterator[tuple[str, list[str]]]:
    """Heading of the file and the lines of its table."""
    for section in SECTIONS:
        yield f"[{section}]" if section else "at the top", [_row(k) for k in KEYS if k.section == section]
    for name, keys in LISTS.items():
        yield f"[[{name}]]", [_row(k) for k in keys]


def _row(key: Key) -> str:
    said = {
        "shown": 'as in rule files: "m", "ft", "V", "%", ""',
        "kept": "the same",
        "kept_step": 'like "1 m"',
        "quantity": f"{', '.join(QUANTITIES)}",
    }.get(key.path, kinds(key))
    if key.path == "steps":
        said = 'like "from 0 m to 500 m by 1 m"'
    if key.nothing is not None:
        said += f', "{key.nothing}"'
    return f"| `{key.name}` | {key.says} | {said} | {_left_out(key)} |"


def _left_out(key: Key) -> str:
    if key.default is not NO_FALLBACK:
        return "none" if key.default in ((), frozenset(), "", None) else "no"
    if key.may_be_unsure:
        return f"{UNSURE}: {key.careful}"
    return "must be there"
