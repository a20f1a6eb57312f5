"""A Sheet as one HTML page: no script, nothing fetched, readable in grey and on paper.

The headings repeat on each printed page and no row is torn; charts are inline SVG, drawn from the same fractions as
those of the PDF. All text is escaped; control, bidirectional and invisible characters but for line ends become U+FFFD.
"""

import html

from refstd.base.text import safe, safe_lines
from refstd.printing.local import sheet_in_zone, stand_of
from refstd.printing.sheet import Kind, Sheet
from refstd.printing.svg import chart_svg
from refstd.printing.text import heading_of, log_head

_STYLE = """
body{font:15px/1.4 serif;margin:1.5em auto;padding:0 1em;max-width:90em;color:#111;background:#fff}
h1{font-size:1.5em;margin:0 0 .3em}h2{font-size:1.15em;margin:1.4em 0 .3em;break-after:avoid}
table{border-collapse:collapse;font-size:.88em;font-variant-numeric:tabular-nums}
th,td{text-align:left;vertical-align:top;padding:.25em .6em;border-bottom:1px solid #bbb;white-space:pre-line;overflow-wrap:break-word;max-width:26em}
thead th{vertical-align:bottom;border-bottom:2px solid #111;background:#e8e8e8;position:sticky;top:0}
.n{text-align:right;white-space:nowrap}.w{white-space:nowrap}
figure{margin:1.2em 0;break-inside:avoid}figcaption{font-weight:bold}svg{width:100%;max-width:75em;height:auto}
code{overflow-wrap:anywhere}.faint{color:#444}
@page{size:A4 landscape;margin:12mm}
@media print{body{font-size:9pt;margin:0;max-width:none}thead{display:table-header-group}thead th{position:static;print-color-adjust:exact}tr{break-inside:avoid}}
"""
_MARK = {Kind.NUMBER: ' class="n"', Kind.DATE: ' class="w"', Kind.INSTANT: ' class="w"', Kind.TEXT: ""}


def to_html(sheet: Sheet) -> str:
    """Return the sheet as the text of one HTML page: heading, scope, table, charts, notes."""
    sheet = sheet_in_zone(sheet)
    scope = "".join(f"<br>{said(name)}: {said(value)}" for name, value in sheet.scope)
    parts = [
        f"<h1>{said(sheet.title)}</h1>",
        f"<p>{said(sheet.lab)}<br>{said(stand_of(sheet))}<br>"
        f"{said(log_head(sheet))} · rules version {said(sheet.rules_version)} · form {said(sheet.schema)}{scope}</p>",
        _table(sheet),
        *(chart_svg(chart) for chart in sheet.charts),
    ]
    if sheet.notes:
        parts.append("<h2>Notes</h2>\n<ul>" + "".join(f"\n<li>{said(note)}</li>" for note in sheet.notes) + "\n</ul>")
    return page(sheet.title, "\n".join(parts))


def page(title: str, body: str) -> str:
    """Return a whole page in the one style, around a body that is already HTML. The title is plain text."""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        '<meta name="viewport" content="width=device-width">\n'
        f"<title>{said(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def said(text: object) -> str:
    """Return a value as HTML text that can also stand in a quoted attribute."""
    return html.escape(safe_lines(str(text).replace("\r\n", "\n")))


def _table(sheet: Sheet) -> str:
    if not sheet.rows:
        return "<p>No rows.</p>"
    marks = [_MARK[c.kind] for c in sheet.columns]
    heads = "".join(f'<th scope="col"{m}>{said(heading_of(c))}</th>' for c, m in zip(sheet.columns, marks, strict=True))
    rows = "\n".join(
        "<tr>" + "".join(f"<td{m}>{said(cell)}</td>" for cell, m in zip(row, marks, strict=True)) + "</tr>"
        for row in sheet.rows
    )
    count = "1 row" if len(sheet.rows) == 1 else f"{len(sheet.rows)} rows"
    return (
        f"<table>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>\n"
        f'<p class="faint">{safe(count)}</p>'
    )
