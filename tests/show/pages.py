"""An HTML page as a browser and a screen reader take it, read with the standard library's parser."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "img", "input", "link"}
ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "main", "section", "table", "thead", "tbody", "tfoot", "tr", "th",
    "td", "div", "p", "b", "ul", "li", "h1", "h2", "h3", "span",
}  # fmt: skip
ATTRIBUTES = {
    "lang", "charset", "http-equiv", "content", "name", "class", "role", "aria-label", "aria-labelledby", "id", "scope",
    "colspan", "data-head",
}  # fmt: skip


def flat(text: str) -> str:
    return " ".join(text.split())


def find_in_order(whole: str, texts: list[str]) -> str | None:
    """The first text that does not come after those before it; None if all do."""
    at = 0
    for text in texts:
        wanted = flat(text)
        found = whole.find(wanted, at)
        if found < 0:
            return text
        at = found + len(wanted)
    return None


@dataclass
class Page(HTMLParser):
    source: str
    open: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)
    tags: list[tuple[str, dict[str, str | None]]] = field(default_factory=list)
    levels: list[int] = field(default_factory=list)
    headings: list[str] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    feet: list[str] = field(default_factory=list)
    loose: list[str] = field(default_factory=list)
    boxes_in_h3: int = 0

    def __post_init__(self) -> None:
        HTMLParser.__init__(self, convert_charrefs=True)
        self.feed(self.source)
        self.close()

    def __hash__(self) -> int:
        return id(self)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if re.fullmatch(r"h[1-6]", tag):
            self.levels.append(int(tag[1]))
            self.headings.append("")
        if "h3" in self.open and dict(attrs).get("class") == "box":
            self.boxes_in_h3 += 1
        if tag in ("p", "li", "td", "th", "h1", "h2", "h3", "div", "tr") or dict(attrs).get("class") in (
            "expect", "otherwise", "choice", "box", "line",
        ):  # fmt: skip
            self._say(" ")

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.loose.append(tag)
        self._say(" ")

    def handle_data(self, data: str) -> None:
        if "style" in self.open or "title" in self.open:
            return
        self._say(data)
        if self.open and re.fullmatch(r"h[1-6]", self.open[-1]):
            self.headings[-1] += data.lstrip()

    def _say(self, data: str) -> None:
        sheet = self.open.count("table") == 1
        if sheet and "thead" in self.open:
            self.heads.append(data)
        elif sheet and "tfoot" in self.open:
            self.feet.append(data)
        self.parts.append(data)

    @property
    def text(self) -> str:
        return _spaced("".join(self.parts))

    @property
    def head(self) -> str:
        return _spaced("".join(self.heads))

    @property
    def foot(self) -> str:
        return _spaced("".join(self.feet))

    def assert_sound(self) -> None:
        """Well-formed; nothing that runs, loads, links or submits; headings without a gap; tables with scopes."""
        assert self.source.startswith('<!DOCTYPE html>\n<html lang="en">')
        assert (self.open, self.loose) == ([], [])
        assert {tag for tag, _ in self.tags} <= ALLOWED
        assert {name for _, attributes in self.tags for name in attributes} <= ATTRIBUTES
        assert self._policy().startswith("default-src 'none'")
        style = re.search(r"<style>(.*?)</style>", self.source, re.DOTALL)
        assert style is not None
        assert not re.search(r"url\(|@import|expression|javascript:", style.group(1))
        assert all(b <= a + 1 for a, b in zip(self.levels, self.levels[1:], strict=False))
        for tag, attributes in self.tags:
            if tag == "th":
                assert attributes.get("scope") in ("col", "row")
            if attributes.get("class") in ("box", "line"):
                assert attributes.get("aria-label")
        ids = [a["id"] for _, a in self.tags if "id" in a]
        assert len(ids) == len(set(ids))

    def _policy(self) -> str:
        found = [a.get("content") for t, a in self.tags if t == "meta" and a.get("http-equiv")]
        assert len(found) == 1
        assert found[0] is not None
        return found[0]


def _spaced(text: str) -> str:
    """As it is read, without the gaps that marks leave before a comma."""
    return flat(text)


def read(source: str) -> Page:
    return Page(source)
