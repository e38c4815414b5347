"""A page as one HTML file that needs nothing else: no script, no fetched resource, the same words as the PDF.

This is the form for readers with assistive technology and for phones: headings, lists and tables are marked up as
such, a wide table turns into cards on a narrow screen, and each picture has its figures beside it as a table.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from html import escape

from compliance.reports import charts, hours, picture
from compliance.reports.model import (
    Block,
    Bullets,
    Cell,
    Chart,
    Fact,
    Facts,
    Heading,
    Hours,
    Language,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Photo,
    Photos,
    Pictures,
    Small,
    Statement,
    Table,
    WaterPath,
    chart_table,
    no_pictures,
)
from compliance.reports.picture import ACCENT, HAIR, INK, MUTED, Drawing, Label, Line, Polygon, Rect, Shape
from compliance.reports.text import printable_page, word

_WIDE, _NARROW = 500.0, 236.0
_ALLOWED = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"

_STYLE = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0; background: #fff; color: {INK}; font: 1rem/1.5 "DejaVu Sans", Verdana, system-ui, sans-serif; }}
main, footer {{ max-width: 54rem; margin: 0 auto; padding: 0 1.25rem; }}
main {{ padding-top: 1.75rem; }}
p, dt, dd, li, td, th, caption {{ overflow-wrap: anywhere; white-space: pre-wrap; }}
p {{ margin: 0 0 .75rem; }}
h1 {{ font-size: 1.7rem; line-height: 1.2; margin: 0; overflow-wrap: anywhere; }}
h2 {{ font-size: 1.2rem; color: {ACCENT}; margin: 2rem 0 .6rem; overflow-wrap: anywhere; }}
h3 {{ font-size: 1rem; margin: 1.4rem 0 .4rem; overflow-wrap: anywhere; }}
header {{ border-bottom: 3px solid {ACCENT}; padding-bottom: .75rem; margin-bottom: 1rem; }}
.issuer {{ color: {ACCENT}; font-weight: 700; margin: 0 0 .2rem; }}
.state {{ font-weight: 700; margin: .3rem 0 0; }}
.strong {{ font-weight: 700; }}
.muted, .note, .code {{ color: {MUTED}; }}
.note {{ font-size: .85rem; }}
.code {{ font-size: .75rem; margin: 0 0 .3rem; }}
dl {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(18rem, 1fr)); gap: .35rem 1.5rem; }}
dl {{ margin: 0 0 1rem; }}
dl > div {{ display: grid; grid-template-columns: 7.5rem 1fr; gap: .75rem; }}
dt {{ color: {MUTED}; }}
dd {{ margin: 0; }}
table {{ border-collapse: collapse; width: 100%; font-size: .88rem; line-height: 1.4; margin: 1.25rem 0 .5rem; }}
caption {{ text-align: left; font-weight: 700; font-size: 1rem; padding-bottom: .35rem; }}
th, td {{ text-align: left; vertical-align: top; padding: .4rem .8rem .4rem 0; border-bottom: 1px solid {HAIR}; }}
th:last-child, td:last-child {{ padding-right: 0; }}
thead th {{ border-bottom: 1.5px solid {INK}; vertical-align: bottom; }}
tbody th {{ font-weight: 400; }}
tfoot th, tfoot td {{ font-weight: 700; border-top: 1.5px solid {INK}; border-bottom: 0; }}
.right {{ text-align: right; font-variant-numeric: tabular-nums; padding-right: 1.4rem; }}
.whole {{ white-space: nowrap; }}
.centre {{ text-align: center; }}
ul {{ margin: 0 0 1rem; padding-left: 1.4rem; }}
li {{ margin-bottom: .25rem; }}
.open {{ list-style: none; padding-left: 0; }}
.open li::before {{ content: "\\2610\\00a0\\00a0"; }}
figure {{ margin: 1.5rem 0; }}
figcaption {{ font-weight: 700; margin-bottom: .4rem; overflow-wrap: anywhere; }}
.photos {{ display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr)); gap: 1.25rem; margin: 1rem 0; }}
.photos figure {{ margin: 0; }}
.photos img {{ display: block; max-width: 100%; height: auto; max-height: 24rem; }}
.photos figcaption {{ font-weight: 400; font-size: .88rem; margin: .4rem 0 .1rem; white-space: pre-wrap; }}
.photos .code {{ font-size: .65rem; }}
svg {{ display: block; width: 100%; height: auto; }}
svg.narrow {{ display: none; }}
summary {{ cursor: pointer; color: {ACCENT}; font-size: .88rem; padding: .75rem 0 0; }}
details table {{ margin-top: .25rem; font-size: .8rem; }}
details caption {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }}
.statement {{ border-top: 1px solid {HAIR}; margin-top: 1.5rem; padding-top: 1rem; }}
.sign {{ border-top: 1px solid {INK}; width: min(22rem, 100%); margin-top: 3rem; font-size: .8rem; color: {MUTED}; }}
.sheet {{ border: 0; border-top: 1px solid {HAIR}; margin: 2.5rem 0; }}
footer {{ color: {MUTED}; font-size: .8rem; padding-top: 1rem; padding-bottom: 2rem; }}
footer p {{ margin-bottom: .3rem; }}
@media screen and (max-width: 42rem) {{
  svg.wide {{ display: none; }}
  svg.narrow {{ display: block; }}
  dl > div {{ grid-template-columns: 6.5rem 1fr; }}
  .cards thead {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }}
  .cards, .cards caption, .cards tbody, .cards tfoot, .cards tr, .cards th, .cards td {{ display: block; }}
  .cards tr {{ border-bottom: 1px solid {HAIR}; padding: .5rem 0; }}
  .cards tbody th, .cards tfoot th {{ font-weight: 700; }}
  .cards tbody :is(th, td), .cards tfoot :is(th, td) {{ border: 0; padding: .15rem 0; text-align: left; }}
  .cards td[data-label] {{ display: grid; grid-template-columns: 7.5rem 1fr; gap: .75rem; white-space: pre-wrap; }}
  .cards td[data-label]::before {{ content: attr(data-label); color: {MUTED}; }}
}}
@media print {{
  body {{ font-size: 9pt; line-height: 1.35; }}
  main, footer {{ max-width: none; padding-left: 0; padding-right: 0; }}
  tr, figure, .statement {{ break-inside: avoid; }}
  h2, h3, caption, figcaption {{ break-after: avoid; }}
  .sheet {{ break-after: page; border: 0; margin: 0; }}
}}
"""


def render(page: Page, pictures: Pictures = no_pictures) -> str:
    """The page as the text of one HTML file, to be written as UTF-8; its photos come from `pictures`."""
    page, code_points = printable_page(page)
    language = page.language
    name = f"{page.title} {page.number}".strip()
    state = " · ".join(part for part in (page.number, page.status) if part)
    head = [
        f'<p class="issuer">{escape(page.issuer)}</p>' if page.issuer else "",
        f"<h1>{escape(page.title)}</h1>",
        f'<p class="state">{escape(state)}</p>' if state else "",
    ]
    blocks = [_block(block, language, pictures) for block in page.blocks]
    last = [_code(page.footer.code)]
    if code_points:
        last.append(_code([word("code points", language)]))
    return "\n".join(
        part
        for part in (
            "<!DOCTYPE html>",
            f'<html lang="{language}">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{_ALLOWED}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<meta name="format-detection" content="telephone=no, date=no, address=no">',
            f'<meta name="author" content="{escape(page.issuer)}">' if page.issuer else "",
            f"<title>{escape(name)}</title>",
            f"<style>@page {{ size: {page.paper}; margin: 16mm; }}{_STYLE}</style>",
            "</head>",
            "<body>",
            "<main>",
            "<header>",
            *head,
            "</header>",
            _facts(page.facts),
            *blocks,
            "</main>",
            "<footer>",
            f"<p>{escape(page.footer.sentence)}</p>",
            *last,
            "</footer>",
            "</body>",
            "</html>",
            "",
        )
        if part
    )


def _block(block: Block, language: Language, pictures: Pictures) -> str:
    match block:
        case Heading(text, level):
            return f"<h{level}>{escape(text)}</h{level}>"
        case Paragraph(text, tone):
            return f"<p>{escape(text)}</p>" if tone == "plain" else f'<p class="{tone}">{escape(text)}</p>'
        case Facts(pairs):
            return _facts(pairs)
        case Table():
            return _table(block, language)
        case Bullets(items):
            return f"<ul>{_items(items)}</ul>" if items else ""
        case OpenItems(title, items, none):
            listed = f'<ul class="open">{_items(items)}</ul>' if items else _paragraph(none)
            return f"<h3>{escape(title)}</h3>\n{listed}"
        case Statement():
            return _statement(block, language)
        case WaterPath(title, _, _, _):
            drawings = [picture.water_path(block, wide, language) for wide in (_WIDE, _NARROW)]
            return _figure(title, drawings, picture.path_table(block, language), language)
        case Chart(_, title):
            drawings = [charts.layout(block, wide, language) for wide in (_WIDE, _NARROW)]
            return _figure(title, drawings, chart_table(block), language)
        case Hours(title):
            drawings = [hours.layout(block, wide) for wide in (_WIDE, _NARROW)]
            return _figure(title, drawings, hours.table(block), language)
        case Photos(photos):
            shown = "\n".join(_photo(one, pictures, language) for one in photos)
            return f'<div class="photos">{shown}</div>' if photos else ""
        case PageBreak():
            return '<hr class="sheet">'
        case Small(lines):
            return _code(lines)


def _items(items: Iterable[str]) -> str:
    return "".join(f"<li>{escape(item)}</li>" for item in items)


def _photo(photo: Photo, pictures: Pictures, language: Language) -> str:
    """A photo stands in the file itself: nothing is fetched."""
    data = pictures(photo.shown)
    if data is None:
        image = f'<p class="muted">{escape(word("photo lost", language))}</p>'
    else:
        image = f'<img alt="{escape(photo.caption)}" src="data:image/jpeg;base64,{b64encode(data).decode()}">'
    caption = f"<figcaption>{escape(photo.caption)}</figcaption>"
    return f"<figure>{image}{caption}{_code(photo.note.splitlines())}</figure>"


def _paragraph(text: str) -> str:
    return f"<p>{escape(text)}</p>" if text else ""


def _code(lines: Iterable[str]) -> str:
    return "\n".join(f'<p class="code">{escape(line)}</p>' for line in lines)


def _facts(pairs: Iterable[Fact]) -> str:
    rows = [f"<div><dt>{escape(f.label)}</dt><dd>{escape(f.value)}</dd></div>" for f in pairs]
    return f"<dl>{''.join(rows)}</dl>" if rows else ""


def _statement(block: Statement, language: Language) -> str:
    parts = (("name", block.name), ("role", block.role), ("date", block.date))
    facts = _facts(Fact(word(key, language), value or "_" * 24) for key, value in parts)
    sign = f'<p class="sign">{word("signature", language)}</p>'
    return f'<section class="statement"><p>{escape(block.sentence)}</p>\n{facts}\n{sign}</section>'


# ---- tables -------------------------------------------------------------------------------------------------


def _table(table: Table, language: Language) -> str:
    heads = [f"{c.label} ({c.unit})" if c.unit else c.label for c in table.columns]
    classes = [
        "right" if c.numeric else {"left": "", "right": "right", "centre": "centre"}[c.align] for c in table.columns
    ]
    cards = ' class="cards"' if len(heads) > 2 else ""
    labels = [f' data-label="{escape(head)}"' if cards else "" for head in heads]
    shown = "".join(
        f'<th scope="col" role="columnheader"{_class(kind, _whole(kind, head))}>{escape(head)}</th>'
        for head, kind in zip(heads, classes, strict=True)
    )
    parts = [f'<table role="table"{cards}>']
    if table.caption:
        parts.append(f"<caption>{escape(table.caption)}</caption>")
    whole = sum(column.width for column in table.columns)
    if all(column.width for column in table.columns):
        parts.append("".join(f'<col style="width: {100 * column.width / whole:.0f}%">' for column in table.columns))
    parts.append(f'<thead role="rowgroup"><tr role="row">{shown}</tr></thead>')
    parts.append('<tbody role="rowgroup">')
    parts += [_row(row, classes, labels) for row in table.rows]
    if not table.rows:
        empty = escape(word("no entries", language))
        parts.append(f'<tr role="row"><td role="cell" class="muted" colspan="{len(heads)}">{empty}</td></tr>')
    parts.append("</tbody>")
    if table.totals:
        parts.append(f'<tfoot role="rowgroup">{_row(table.totals, classes, labels)}</tfoot>')
    parts.append("</table>")
    if table.note:
        parts.append(f'<p class="note">{escape(table.note)}</p>')
    return "\n".join(parts)


def _row(row: tuple[Cell, ...], classes: list[str], labels: list[str]) -> str:
    first = f'<th scope="row" role="rowheader"{_class(classes[0], row[0].tone)}>{escape(row[0].text)}</th>'
    rest = (
        f'<td role="cell"{_class(kind, cell.tone, _whole(kind, cell.text))}{label}>'
        f"<span>{escape(cell.text)}</span></td>"
        for cell, kind, label in zip(row[1:], classes[1:], labels[1:], strict=True)
    )
    return f'<tr role="row">{first}{"".join(rest)}</tr>'


def _whole(kind: str, text: str) -> str:
    """Figures are read as one word: '940 ± 14 gal' does not break."""
    return "whole" if kind == "right" and len(text) < 24 else ""


def _class(*names: str) -> str:
    kept = " ".join(name for name in names if name and name != "plain")
    return f' class="{kept}"' if kept else ""


# ---- pictures -----------------------------------------------------------------------------------------------


def _figure(title: str, drawings: list[Drawing], behind: Table, language: Language) -> str:
    if not any(one.shapes or one.notes for one in drawings):
        return ""
    caption = f"<figcaption>{escape(title)}</figcaption>\n" if title else ""
    wide, narrow = (_svg(one, kind, title) for one, kind in zip(drawings, ("wide", "narrow"), strict=True))
    notes = _code(dict.fromkeys(note for one in drawings for note in one.notes))
    figures = f"<summary>{word('figures', language)}</summary>{_table(behind, language)}"
    return f"<figure>{caption}{wide}{narrow}{notes}\n<details>{figures}</details></figure>"


def svg(drawing: Drawing, title: str) -> str:
    """A drawing as an SVG file of its own."""
    markup = _svg(drawing, "wide", title).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    return markup.replace(">", ' font-family="DejaVu Sans, sans-serif">', 1) + "\n"


def _svg(drawing: Drawing, kind: str, title: str) -> str:
    if not drawing.shapes:
        return ""
    shapes = "".join(_shape(one) for one in drawing.shapes)
    return (
        f'<svg class="{kind}" role="img" aria-label="{escape(title)}" '
        f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}">{shapes}</svg>'
    )


def _n(length: float) -> str:
    return f"{length:.2f}".rstrip("0").rstrip(".")


def _ink(fill: str, stroke: str, weight: float) -> str:
    drawn = f' stroke="{stroke}" stroke-width="{_n(weight)}"' if stroke else ""
    return f' fill="{fill or "none"}"{drawn}'


def _shape(shape: Shape) -> str:
    match shape:
        case Rect(x, y, w, h, fill, stroke, weight, dashed):
            dash = ' stroke-dasharray="3 2"' if dashed else ""
            place = f'x="{_n(x)}" y="{_n(y)}" width="{_n(w)}" height="{_n(h)}"'
            return f"<rect {place}{_ink(fill, stroke, weight)}{dash}/>"
        case Line(points, colour, weight, dash_lengths):
            at = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
            dash = f' stroke-dasharray="{" ".join(map(_n, dash_lengths))}"' if dash_lengths else ""
            return f'<polyline points="{at}"{_ink("", colour, weight)}{dash}/>'
        case Polygon(points, fill, stroke, weight):
            at = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
            return f'<polygon points="{at}"{_ink(fill, stroke, weight)}/>'
        case Label(x, y, text, size, anchor, bold, colour):
            heavy = ' font-weight="700"' if bold else ""
            return (
                f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="{anchor}" fill="{colour}"{heavy}>'
                f"{escape(text)}</text>"
            )
