"""Drawings of a quote as SVG, the same on the page and in the PDF: one-line diagram, day's load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from quotes.documents.retold import retold_all

Document = Mapping[str, Any]
FONT = "Libertinus Serif, Georgia, serif"
LOADS_SHOWN = 7
ROW = 44


def one_line_diagram(option: Document, demand: Document) -> str:
    """Set, leads and loads on one line: who feeds what, at which voltage, through what size."""
    sets, loads = _set_labels(option), _load_labels(demand)
    title = f"One-line diagram: {' '.join(sets)} feeds {len(loads)} loads"
    said = retold_all([sets, _lead_labels(option), loads, title])
    return _diagram(*said)


def _diagram(sets: list[str], leads: list[str], loads: list[list[str]], title: str) -> str:
    height = max(120, ROW * len(loads) + 24)
    middle = height / 2
    parts = [
        _box(8, middle - 38, 190, 76, sets),
        _line(198, middle, 390, middle),
        _texts(294, middle - 14, leads[:1]),
        _texts(294, middle + 24, leads[1:]),
        _circle(390, middle),
        _line(390, ROW / 2 + 12, 390, height - ROW / 2 - 12),
    ]
    for index, label in enumerate(loads):
        y = ROW * index + ROW / 2 + (height - ROW * len(loads)) / 2
        parts += [_line(390, y, 440, y), _box(440, y - 19, 230, 38, label)]
    return _svg(680, height, title, parts)


def _set_labels(option: Document) -> list[str]:
    first = option["sets"][0]
    rows = [f"{one['quantity']} x {one['code']}" for one in option["sets"]]
    return [" + ".join(rows), f"{first.get('supply') or option.get('supply', '')} V"]


def _lead_labels(option: Document) -> list[str]:
    leads = option.get("leads")
    if not leads:
        return ["leads by others", ""]
    runs = leads["runs_per_phase"]
    size = size_words(str(leads["size"])) + (f", {runs} runs a phase" if runs > 1 else "")
    length_ft = leads["length_m"] / 0.3048
    return [size, f"{length_ft:.0f} ft, {leads['ampacity_a']:.0f} A"]


def size_words(size: str) -> str:
    """A conductor size with its unit: AWG up to 4/0, kcmil above."""
    return f"{size} kcmil" if size.isdigit() and int(size) >= 250 else f"{size} AWG"


def _load_labels(demand: Document) -> list[list[str]]:
    loads = list(demand.get("loads", []))
    shown = loads if len(loads) <= LOADS_SHOWN else loads[: LOADS_SHOWN - 1]
    rows = [
        [f"{one['quantity']} x {one['name']}"[:34], f"{_running_kw(one):.1f} kW"] for one in shown
    ]
    if len(shown) < len(loads):
        rest_kw = sum(_running_kw(one) for one in loads[len(shown) :])
        rows.append([f"{len(loads) - len(shown)} more", f"{rest_kw:.1f} kW"])
    return rows


def _running_kw(load: Document) -> float:
    """Running kW of all pieces of a row."""
    return float(load["quantity"] * load["running_kw"])


def load_chart(hourly_kw: Sequence[float], site_kw: float) -> str:
    """Mean load by hour of the day against what the set can carry at this site."""
    top = max([site_kw, *hourly_kw, 1.0]) * 1.12
    left, floor, height = 46.0, 132.0, 104.0
    parts = []
    for hour, load_kw in enumerate(hourly_kw):
        tall = height * load_kw / top
        x = left + 26 * hour
        parts.append(
            f'<rect x="{x + 3:.1f}" y="{floor - tall:.1f}" width="20" height="{max(tall, 0.5):.1f}"'
            ' fill="currentColor" fill-opacity="0.55"/>'
        )
    limit = floor - height * site_kw / top
    title, rating = retold_all(
        [
            f"Load by hour of the day, at most {max(hourly_kw):.0f} kW of {site_kw:.0f} kW",
            f"rated at this site: {site_kw:.0f} kW",
        ]
    )
    parts += [
        f'<line x1="{left}" y1="{limit:.1f}" x2="670" y2="{limit:.1f}" stroke="currentColor"'
        ' stroke-width="1.5" stroke-dasharray="7 4"/>',
        _text(670, limit - 5, rating, "end"),
        _line(left, floor, 670, floor),
        *(
            _text(left + 26 * hour + 13, floor + 17, f"{hour}", "middle")
            for hour in range(0, 24, 3)
        ),
        _text(left - 6, floor + 4, "0", "end"),
        _text(left - 6, floor - height * max(hourly_kw) / top + 4, f"{max(hourly_kw):.0f}", "end"),
        _text(2, 14, "kW", "start"),
    ]
    return _svg(680, 156, title, parts)


def _svg(width: float, height: float, title: str, parts: list[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" role="img"'
        f' color="#16211c" class="line-drawing" font-family="{FONT}" font-size="14">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def _box(x: float, y: float, width: float, height: float, labels: list[str]) -> str:
    shape = (
        f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" rx="4" fill="none"'
        ' stroke="currentColor" stroke-width="1.5"/>'
    )
    top = y + height / 2 - 9 * (len(labels) - 1) + 5
    return shape + "".join(
        _text(x + width / 2, top + 18 * row, label, "middle") for row, label in enumerate(labels)
    )


def _texts(x: float, y: float, labels: list[str]) -> str:
    return "".join(_text(x, y + 18 * row, label, "middle") for row, label in enumerate(labels))


def _text(x: float, y: float, label: str, anchor: str) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor">'
        f"{escape(label)}</text>"
    )


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return (
        f'<line x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" stroke="currentColor"'
        ' stroke-width="1.5"/>'
    )


def _circle(x: float, y: float) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="5" fill="currentColor"/>'
