"""An HTML page for paper and for a screen reader: one file, no script, nothing from elsewhere.

The look is that of a plain printed form: black on white, ruled lines, real boxes to tick. What stands on every sheet is
the head and the foot of one table around the sheet's content, which browsers repeat on each printed page.
"""

import html
from collections.abc import Iterable

from latchproof.show.running import Running
from latchproof.show.visible import visible

POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"

BOX = '<span class="box" role="img" aria-label="box to tick"></span>'
LINE = '<span class="line" role="img" aria-label="line to write on"></span>'

STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
html { background: #fff; color: #000; }
body { margin: 0 auto; padding: 1rem; max-width: 54rem; font: 1rem/1.4 Georgia, "Liberation Serif", serif;
  overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; margin: 1rem 0 .5rem; line-height: 1.2; }
h2 { font-size: 1.15rem; margin: 1.4rem 0 .5rem; padding-bottom: .15rem; border-bottom: .12rem solid #000; }
h3 { font-size: 1rem; margin: .2rem 0 .3rem; }
p { margin: .35rem 0; }
ul, ol { margin: .35rem 0; padding-left: 1.4rem; }
ul.steps { list-style: none; padding-left: 0; }
ul.steps > li { position: relative; padding: .3rem 0 .3rem 2rem; border-bottom: .06rem solid #777;
  break-inside: avoid; }
ul.steps > li > .box { position: absolute; left: .2rem; top: .45rem; }
.box { display: inline-block; width: 1rem; height: 1rem; border: .13rem solid #000; background: #fff;
  vertical-align: -.15rem; print-color-adjust: exact; }
.line { display: inline-block; width: 14rem; max-width: 60%; height: 1.3rem; border-bottom: .09rem solid #000;
  vertical-align: baseline; }
.choice { white-space: nowrap; margin: 0 .6rem; }
.expect, .otherwise { display: block; padding-left: 1rem; }
.expect b, .otherwise b { font-weight: bold; }
.warning { border: .18rem solid #000; padding: .3rem .5rem; font-weight: bold; break-inside: avoid; }
table.sheet { width: 100%; border-collapse: collapse; }
table.sheet > thead > tr > td, table.sheet > tfoot > tr > td, table.sheet > tbody > tr > td { padding: 0;
  text-align: left; font-weight: normal; vertical-align: top; }
.running { border: .12rem solid #000; padding: .3rem .5rem; font: .8rem/1.3 Arial, "Liberation Sans", sans-serif;
  margin-bottom: .6rem; }
.running p { margin: .1rem 0; }
.running .name { font-weight: bold; font-size: .95rem; }
.care { border-top: .12rem solid #000; margin-top: .6rem; padding-top: .2rem;
  font: .75rem/1.3 Arial, "Liberation Sans", sans-serif; }
table.form { width: 100%; border-collapse: collapse; margin: .4rem 0; }
table.form th, table.form td { border: .07rem solid #555; padding: .2rem .4rem; text-align: left;
  vertical-align: top; }
table.form thead th { background: #e6e6e6; print-color-adjust: exact; }
table.form tr { break-inside: avoid; }
table.form tbody th { font-weight: bold; }
table.form th { overflow-wrap: break-word; }
.asks { display: flex; flex-wrap: wrap; column-gap: 1.5rem; }
.tight .line { width: 8rem; }
section.entry { border: .1rem solid #000; padding: .3rem .6rem .5rem; margin: .7rem 0; break-inside: avoid; }
section.entry h3 { position: relative; padding-left: 2rem; }
section.entry h3 .box { position: absolute; left: .2rem; top: .1rem; }
section.entry table.form { margin: .2rem 0 0; }
section.entry table.form thead, .unseen { position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap; }
section.entry table.form th, section.entry table.form td { border: 0; border-top: .05rem solid #999;
  padding: .1rem .4rem; }
section.entry table.form tbody th { width: 20%; font-weight: normal; }
section.entry table.form td { width: 40%; }
section.entry table.form td[colspan] { width: 80%; }
.value { font: bold .95em/1.3 "DejaVu Sans Mono", "Liberation Mono", Consolas, monospace; }
@media (max-width: 40rem) {
  body { padding: .6rem; }
  table.form thead { position: absolute; left: -200vw; }
  table.form, table.form tbody, table.form tr, table.form th, table.form td { display: block; width: 100%; }
  table.form tr { border: .09rem solid #000; margin-bottom: .5rem; }
  table.form th, table.form td { border: 0; padding: .12rem .4rem; }
  table.form td[data-head]::before { content: attr(data-head) ": "; font-weight: bold; }
  table.form td:empty { display: none; }
  section.entry table.form tr { border: 0; border-top: .05rem solid #999; margin: 0; padding: .15rem 0; }
  section.entry table.form tbody th, section.entry table.form td, section.entry table.form td[colspan] { width: 100%;
    border: 0; }
}
@page { margin: 11mm 12mm 14mm; @bottom-right { content: "sheet " counter(page) " of " counter(pages);
  font: 9pt Arial, "Liberation Sans", sans-serif; } }
@media print {
  html { font-size: 9.5pt; }
  body { max-width: none; padding: 0; font-size: 1rem; line-height: 1.28; }
  h1 { font-size: 14pt; margin: 0 0 2mm; }
  h2 { font-size: 11pt; margin: 3.5mm 0 1.2mm; }
  h1, h2, h3 { break-after: avoid; }
  .alone { break-before: page; }
  p, li { orphans: 2; widows: 2; }
  .running { font-size: 7.5pt; line-height: 1.25; padding: 1mm 1.5mm; margin-bottom: 3mm; }
  .running .name { font-size: 9pt; }
  .care { font-size: 7.5pt; line-height: 1.25; }
  section.entry { padding: .8mm 2mm; margin: 1.6mm 0; line-height: 1.2; }
  .tight { font-size: 8.8pt; line-height: 1.2; }
  .tight h1 { font-size: 13pt; margin-bottom: 1mm; }
  .tight h2 { font-size: 10pt; margin: 2mm 0 .6mm; }
  .tight p, .tight ul { margin: .5mm 0; }
  .tight .running { margin-bottom: 2mm; }
  table.sheet + table.sheet { break-before: page; }
  table.sheet > thead { display: table-header-group; }
  table.sheet > tfoot { display: table-footer-group; }
}
"""


def safe(text: str) -> str:
    """Text in which nothing can act: neither on the page nor on the direction of reading."""
    return html.escape(visible(text), quote=True)


def page(title: str, sheets: Iterable[str]) -> str:
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="referrer" content="no-referrer">\n'
        f"<title>{safe(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n"
        + "\n".join(sheets)
        + "\n</main>\n</body>\n</html>\n"
    )


def sheet(running: Running, body: Iterable[str], *, tight: bool = False) -> str:
    """What begins on a page of its own, with its head and foot on each page that it takes. `tight`: in small print."""
    return (
        f'<table class="sheet{" tight" if tight else ""}" role="presentation">\n'
        f"<thead><tr><td>{_head(running)}</td></tr></thead>\n"
        f"<tbody><tr><td>\n{chr(10).join(body)}\n</td></tr></tbody>\n"
        f"<tfoot><tr><td>{_foot(running)}</td></tr></tfoot>\n</table>"
    )


def _head(r: Running) -> str:
    lines = "".join(f"<p><b>{safe(lead)}</b> {safe(text)}</p>" for lead, text in r.lines)
    return f'<div class="running"><p class="name">{safe(r.name)}</p>{lines}</div>'


def _foot(r: Running) -> str:
    return f'<div class="care"><b>Cautions:</b> {safe(" ".join(r.cautions))}</div>' if r.cautions else ""


# ---------- pieces that several pages have


def heading(level: int, text: str, *, alone: bool = False) -> str:
    """`alone`: on paper a new sheet begins with it."""
    mark = ' class="alone"' if alone else ""
    return f"<h{level}{mark}>{safe(text)}</h{level}>"


def say(text: str, *, warning: bool = False) -> str:
    return f'<p class="warning">{safe(text)}</p>' if warning else f"<p>{safe(text)}</p>"


def points(texts: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{safe(t)}</li>' for t in texts)}</ul>"


def step(do: str, expect: str = "", otherwise: str = "") -> str:
    """One item of `steps`."""
    more = f'<span class="expect"><b>expect:</b> {safe(expect)}</span>' if expect else ""
    more += f'<span class="otherwise"><b>if not:</b> {safe(otherwise)}</span>' if otherwise else ""
    return f"<li>{BOX} {safe(do)}{more}</li>"


def steps(items: Iterable[str]) -> str:
    return f'<ul class="steps">{"".join(items)}</ul>'


def asks(items: Iterable[str]) -> str:
    """Questions beside each other, where there is room."""
    return f'<div class="asks">{"".join(items)}</div>'


def ask(question: str, choices: tuple[str, ...] = ()) -> str:
    boxes = "".join(f' <span class="choice">{BOX} {safe(c)}</span>' for c in choices)
    return f"<p>{safe(question)} {boxes or LINE}</p>"


def table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]], *, ticked: bool = False) -> str:
    """The first cell of a row is its head. On a narrow screen each cell stands after the head of its column. `ticked`:
    each row ends with a box."""
    top = "".join(f'<th scope="col">{safe(h)}</th>' for h in heads) + ('<th scope="col">check</th>' if ticked else "")
    body = "".join(
        f'<tr><th scope="row">{safe(row[0])}</th>'
        + "".join(_cell(h, text) for h, text in zip(heads[1:], row[1:], strict=True))
        + (f"<td>{BOX}</td>" if ticked else "")
        + "</tr>"
        for row in rows
    )
    return f'<table class="form"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'


def _cell(head: str, text: str) -> str:
    if not text:
        return "<td></td>"
    return f'<td data-head="{safe(head)}">{safe(text).replace("________", LINE)}</td>'
