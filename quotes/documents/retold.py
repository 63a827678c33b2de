"""Stored English sentences said in the reader's language; English itself stays as it was written.

A sentence is matched against the patterns of ``sentences.py``, the most specific first; what
fills its places is said anew in turn. What no pattern wrote, such as a name, stays as it is.
"""

from __future__ import annotations

import re
from calendar import month_abbr
from datetime import date
from functools import lru_cache
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import get_language, gettext

from quotes.documents.sentences import SENTENCES

PLACE = re.compile(r"\{(\w+)\}")
JOINED = ("; ", " + ", " = ", ": ", ", ", " x ")
NUMBERS = (
    "after amps base before burnt charged count every factor floor free gallons hours included km"
    " least length litres mass mean mile miles most n percent planned power price room run short"
    " site tank volume"
)
HELD = {
    **dict.fromkeys(NUMBERS.split(), r"-?[\d.,]+"),
    "days": r"\d+ days?",
    "covered": r"\d+ days?",
}
DAYS = re.compile(
    r"(?:(?P<weekday>Mon|Tue|Wed|Thu|Fri|Sat|Sun) )?(?P<day>\d{1,2}) "
    r"(?P<month>[A-Z][a-z]{2}) (?P<year>\d{4})"
)
DEEPEST = 8


def retold(text: str) -> str:
    """A sentence, name or figure in the language of the page."""
    return text if in_english() else _said(text, DEEPEST)


def retold_all(facts: Any) -> Any:
    """Every text of a document, its keys aside."""
    if in_english():
        return facts
    if isinstance(facts, str):
        return retold(facts)
    if isinstance(facts, dict):
        return {key: retold_all(value) for key, value in facts.items()}
    if isinstance(facts, list):
        return [retold_all(value) for value in facts]
    return facts


def day_words(day: date) -> str:
    """``Tue 1 Jun 2027``, or its like in the language of the page."""
    return _written(day, "D j M Y")


def _written(day: date, form: str) -> str:
    """A day by its form; only English gives its days and months a capital."""
    return _day_written(day, form, get_language())


@lru_cache(maxsize=1024)
def _day_written(day: date, form: str, language: str | None) -> str:
    return date_format(day, form) if in_english() else date_format(day, form).lower()


def in_english() -> bool:
    """Whether the page is in the language sentences are stored in."""
    return (get_language() or "en").startswith("en")


def _said(text: str, deep: int) -> str:
    if not deep or not any(map(str.isalpha, text)):
        return text
    whole = gettext(text)
    return (
        whole if whole != text else _day(text) or _by_pattern(text, deep) or _in_parts(text, deep)
    )


def _day(text: str) -> str:
    """A written day, by the language's own names of days and months."""
    found = DAYS.fullmatch(text)
    if found is None:
        return ""
    month = list(month_abbr).index(found["month"])
    day = date(int(found["year"]), month, int(found["day"]))
    return _written(day, "D j M Y" if found["weekday"] else "j M Y")


def _by_pattern(text: str, deep: int) -> str:
    for sentence, pattern in _patterns():
        found = pattern.fullmatch(text)
        if found:
            places = {name: _said(said, deep - 1) for name, said in found.groupdict().items()}
            return gettext(sentence).format(**places)
    return ""


@lru_cache(maxsize=1)
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """The sentences with places, those with most words of their own first."""
    placed = [sentence for sentence in SENTENCES if PLACE.search(sentence)]
    placed.sort(key=lambda sentence: -len(PLACE.sub("", sentence)))
    return tuple((sentence, _pattern(sentence)) for sentence in placed)


def _pattern(sentence: str) -> re.Pattern[str]:
    pieces = PLACE.split(sentence)  # words and names of places, in turn
    return re.compile(
        "".join(
            f"(?P<{one}>{HELD.get(one, '.+?')})" if odd % 2 else re.escape(one)
            for odd, one in enumerate(pieces)
        )
    )


def _in_parts(text: str, deep: int) -> str:
    """A list, each of its parts said by itself."""
    for mark in JOINED:
        if mark in text:
            return mark.join(_said(part, deep - 1) for part in text.split(mark))
    return text
