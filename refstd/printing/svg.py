"""A chart as inline SVG, from the same fractions (`printing.plot`) and in the same millimetres as the PDF's template.

Shape says what colour says: a point beyond a limit is a crossed square.
"""

import html
from typing import Any

from refstd.base.text import safe
from refstd.printing.plot import HIGH_MM as _HIGH
from refstd.printing.plot import WIDE_MM as _WIDE
from refstd.printing.plot import drawn
from refstd.printing.sheet import Chart

_LEFT, _TOP = 18.0, 9.0
_INK, _FLAG, _FAINT = "#0b5c94", "#b03a00", "#696969"
_DASHES = ("3 2", "0.8 1.2", "3 1.2 0.8 1.2", "5 4")


def chart_svg(chart: Chart) -> str:
    """Return the chart with its title and legend as an HTML figure."""
    c: dict[str, Any] = drawn(chart)
    parts = [_text(0, _TOP - 4, c["y_title"]), *_axes(c), *_lines(c), *_events(c)]
    for number, series in enumerate(c["series"]):
        for run in series["runs"]:
            where = " ".join(f"{_x(p['x'])},{_y(p['y'])}" for p in run)
            parts.append(f'<polyline points="{where}" fill="none" stroke="#787878" stroke-width="0.25"/>')
        if c["named"] and series["runs"]:
            last = series["runs"][-1][-1]
            x, y = _LEFT + last["x"] * _WIDE + 2.2, _TOP + last["y"] * _HIGH + 0.9
            parts.append(_text(f"{x:.2f}", f"{y:.2f}", series["name"]))
        parts += [_dot(number, p["flagged"], p["x"], p["y"]) for run in series["runs"] for p in run]
    return (
        f"<figure>\n<figcaption>{_said(c['title'])}</figcaption>\n<p>{_legend(c)}</p>\n"
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_LEFT + _WIDE + 52:g} {_TOP + _HIGH + 9:g}" role="img" '
        f'aria-label="{_said(c["alt"])}" font-family="serif" font-size="2.8">\n'
        + "\n".join(parts)
        + "\n</svg>\n</figure>"
    )


def _x(fraction: float) -> str:
    return f"{_LEFT + fraction * _WIDE:.2f}"


def _y(fraction: float) -> str:
    return f"{_TOP + fraction * _HIGH:.2f}"


def _said(text: str) -> str:
    return html.escape(safe(text))


def _text(x: float | str, y: float | str, words: str, more: str = "") -> str:
    return f'<text x="{x}" y="{y}"{more}>{_said(words)}</text>'


def _segment(x1: str, y1: str, x2: str, y2: str, more: str) -> str:
    return f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" {more}/>'


def _axes(c: dict[str, Any]) -> list[str]:
    thin = f'stroke="{_FAINT}" stroke-width="0.2"'
    parts = [f'<rect x="{_LEFT}" y="{_TOP}" width="{_WIDE}" height="{_HIGH}" fill="none" {thin}/>']
    for tick in c["y_ticks"]:
        parts.append(_segment(f"{_LEFT - 1.5}", _y(tick["y"]), f"{_LEFT}", _y(tick["y"]), thin))
        middle = f"{_TOP + tick['y'] * _HIGH + 0.9:.2f}"
        parts.append(_text(_LEFT - 2.5, middle, tick["label"], ' text-anchor="end"'))
    for tick in c["x_ticks"]:
        parts.append(_segment(_x(tick["x"]), _y(1), _x(tick["x"]), f"{_TOP + _HIGH + 1.5}", thin))
        parts.append(_text(_x(tick["x"]), _TOP + _HIGH + 5, tick["label"], ' text-anchor="middle"'))
    return parts


def _lines(c: dict[str, Any]) -> list[str]:
    parts = []
    for i, limit in enumerate(c["lines"]):
        dash = f'stroke="#000" stroke-width="0.25" stroke-dasharray="{_DASHES[i % 4]}"'
        parts.append(_segment(_x(0), _y(limit["y"]), _x(1), _y(limit["y"]), dash))
        end = _LEFT + _WIDE
        thin = f'stroke="{_FAINT}" stroke-width="0.15"'
        parts.append(_segment(f"{end + 0.6}", _y(limit["y"]), f"{end + 3.4}", _y(limit["label_y"]), thin))
        parts.append(_text(end + 4, f"{_TOP + limit['label_y'] * _HIGH + 0.9:.2f}", limit["label"]))
    return parts


def _events(c: dict[str, Any]) -> list[str]:
    parts, foot = [], _TOP + _HIGH
    for i, mark in enumerate(c["marks"], 1):
        x = _LEFT + mark["x"] * _WIDE
        where = f"{x - 0.8:.2f},{foot} {x:.2f},{foot - 2} {x + 0.8:.2f},{foot}"
        parts.append(f'<polygon points="{where}" fill="#5a5a5a"/>')
        parts.append(_text(f"{x + 1:.2f}", foot - 0.6, str(i)))
    for edge in c["breaks"]:
        dotted = 'stroke="#3c3c3c" stroke-width="0.35" stroke-dasharray="0.6 0.9"'
        parts.append(_segment(_x(edge["x"]), _y(0), _x(edge["x"]), _y(1), dotted))
        parts.append(_text(f"{_LEFT + edge['x'] * _WIDE + 0.8:.2f}", _TOP + 3, edge["label"]))
    return parts


def _dot(series: int, flagged: bool, across: float, down: float) -> str:
    return f'<g transform="translate({_x(across)} {_y(down)})">{_sign(series, flagged)}</g>'


def _sign(series: int, flagged: bool) -> str:
    if flagged:
        return f'<path d="M-1.5-1.5h3v3h-3zl3 3m0-3l-3 3" fill="none" stroke="{_FLAG}" stroke-width="0.3"/>'
    if series % 3 == 0:
        return f'<circle r="0.8" fill="{_INK}"/>'
    if series % 3 == 1:
        return f'<circle r="0.9" fill="#fff" stroke="{_INK}" stroke-width="0.25"/>'
    return f'<path d="M0-1.2L1.1.8H-1.1z" fill="#fff" stroke="{_INK}" stroke-width="0.25"/>'


def _legend(c: dict[str, Any]) -> str:
    def entry(sign: str, words: str) -> str:
        small = f'<svg viewBox="-2 -2 4 4" aria-hidden="true" style="width:1em;height:1em">{sign}</svg>'
        return f"<span>{small} {_said(words)}</span>"

    entries = [entry(_sign(i, False), series["name"]) for i, series in enumerate(c["series"])]
    if c["any_flagged"]:
        entries.append(entry(_sign(0, True), "beyond a limit"))
    entries += [_said(f"{i}: {mark['label']}") for i, mark in enumerate(c["marks"], 1)]
    return " &nbsp; ".join(entries)
