"""Where an action stands in the text, and its modifiers: its own span is only the name of its channel."""

import re
from dataclasses import replace

from latchproof.hazards import edits
from latchproof.hazards.model import Edit
from latchproof.hazards.site import Site
from latchproof.rules import expressions as e
from latchproof.rules.model import Drive, Limit, Move

Action = Drive | Move | Limit

_TOKEN = re.compile(r'#[^\n]*|"[^"\n]*"|\}|\w+|\S', re.UNICODE)
_COMMA = r"(?:\s|#[^\n]*\n)*,(?:\s|#[^\n]*\n)*"
_VERBS = ("drive", "move", "limit", "announce")


def whole(site: Site, a: Action) -> e.Located:
    """From `drive`, `move` or `limit` to the end of its last modifier."""
    text = site.sources[a.span.source].text
    start = max(
        (m.start() for m in re.finditer(r"\b(?:drive|move|limit)\b", text[: a.span.start])), default=a.span.start
    )
    end = a.span.end
    for token in _TOKEN.finditer(text, a.span.end):
        if token[0] in _VERBS or token[0] == "}":
            break
        if not token[0].startswith("#"):
            end = token.end()
    return e.Located(span=replace(a.span, start=start, end=end))


def modifier(site: Site, a: Action, name: str) -> e.Located | None:
    """One of its modifiers (`hand back`, `ramp up`, `after`) with the space before it."""
    at = whole(site, a).span
    text = site.sources[at.source].text[at.start : at.end]
    words = r"\s+".join(name.split())
    found = re.search(rf"\s*\b{words}\b(?:(?!\b(?:ramp|hand|after)\b).)*", text, re.DOTALL)
    if found is None:
        return None
    end = at.start + found.start() + len(found[0].rstrip())
    return e.Located(span=replace(at, start=at.start + found.start(), end=end))


def with_more(site: Site, a: Action, more: str, where: str) -> Edit:
    """The action with something written behind it."""
    end = whole(site, a).span.end
    old = site.line(whole(site, a).span)
    return Edit(replace(a.span, start=end, end=end), f"  {more}", f"in {where}, behind `{old}`, add")


def without(site: Site, a: Action, name: str, where: str) -> Edit | None:
    """The action without one of its modifiers."""
    part = modifier(site, a, name)
    return None if part is None else edits.without(site, part, where=where)


def without_channel(site: Site, action: e.Located, name: str) -> str:
    """An action as it is written, on the other channels that it names; empty where it names no other."""
    text = site.text(action.span)
    head = re.match(rf"(?:drive|move|limit)\s+([\w.]+(?:{_COMMA}[\w.]+)*)", text)
    if head is None:  # read back from a listing, so that it stands in no file
        return ""
    others = [n for n in re.split(_COMMA, head[1]) if n != name]
    return f"{text[: head.start(1)]}{', '.join(others)}{text[head.end(1) :]}" if others else ""
