"""Markup of what a page has by the dozen: a template takes ten times as long, node by node."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from django.utils.safestring import SafeString, mark_safe

NO_MARKUP = SafeString("")
A_FACT = "<div><dt>{}</dt><dd>{}</dd></div>"  # of a list of names and values


def filled(pattern: str, *values: object, **named: object) -> SafeString:
    """What ``format_html`` gives, in half the time: every value escaped that is not markup.

    The pattern is the program's own; what people typed comes in as a value.
    """
    given = {name: _escaped(value) for name, value in named.items()}
    return mark_safe(pattern.format(*map(_escaped, values), **given))  # noqa: S308


def filled_each(pattern: str, rows: Iterable[Iterable[object]], between: str = "") -> SafeString:
    """The pattern filled with the values of each row."""
    return mark_safe(between.join(filled(pattern, *row) for row in rows))  # noqa: S308


def _escaped(value: object) -> str:
    return value if isinstance(value, SafeString) else escape(str(value))
