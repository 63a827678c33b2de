"""Markup that is drawn once with marks where words go: they are put in each time, escaped.

What is kept holds nobody's words, and words that look like a mark are never taken for one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape
from typing import Any

from django.template.loader import render_to_string

MARK = "\ue000"  # no translated text holds this character
MARKED = re.compile(f"{MARK}([^{MARK}]+){MARK}")


def mark(name: str) -> str:
    """What stands where the words of this name go."""
    return f"{MARK}{name}{MARK}"


def drawn_with_marks(template: str, *names: str, **context: Any) -> str:
    """The template's markup with a mark for each of these names."""
    return render_to_string(template, {**context, **{name: mark(name) for name in names}})


def filled(drawn: str, words: Mapping[str, str]) -> str:
    """The markup with the words in the places of their marks."""
    escaped = {name: escape(text) for name, text in words.items()}
    pieces = MARKED.split(drawn)  # markup, and between it the names
    pieces[1::2] = [escaped[name] for name in pieces[1::2]]
    return "".join(pieces)
