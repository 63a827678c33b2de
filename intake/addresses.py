"""Addresses of pages that name dozens of others: a route is looked up once, then filled in."""

from __future__ import annotations

import re
from functools import lru_cache

from django.urls import get_script_prefix, get_urlconf, reverse

MARKS = ("7310000001", "7310000002", "7310000003")  # whole numbers fit every kind of place
PLAIN = re.compile(r"[A-Za-z0-9_-]+")  # needs no quoting in an address


def address(route: str, *parts: object, named: str = "") -> str:
    """What ``reverse`` gives for a route with these parts in its places.

    ``named`` is a last part of which the route itself says what it may be, as the key of a step.
    """
    words = [str(part) for part in parts]
    if not all(map(PLAIN.fullmatch, words)):
        return reverse(route, args=[*parts, *_last(named)])
    text = _with_marks(get_script_prefix(), get_urlconf(), route, len(words), named)
    for mark, word in zip(MARKS, words, strict=False):
        text = text.replace(mark, word)
    return text


@lru_cache(maxsize=512)
def _with_marks(prefix: str, urlconf: str | None, route: str, places: int, named: str) -> str:
    """The address with a mark in each place; the first two say which site and routes it is of."""
    return reverse(route, args=[*MARKS[:places], *_last(named)])


def _last(named: str) -> tuple[str, ...]:
    return (named,) if named else ()
