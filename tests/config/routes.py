"""Every address the site knows, with something in the place of what changes in it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.resolvers import RegexPattern

CHANGING = re.compile(r"<(?:(\w+):)?(\w+)>")
NAMED_GROUP = re.compile(r"\(\?P<(\w+)>[^)]*\)")


@dataclass(frozen=True)
class Route:
    """One address: its full name (or its pattern, where it has none) and an example."""

    name: str
    pattern: str

    def address(self, known: Mapping[str, str]) -> str:
        """The address about what is known; an unknown number is 1, an unknown word is ``x``."""
        pattern = NAMED_GROUP.sub(r"<\1>", self.pattern)
        return "/" + CHANGING.sub(lambda m: _example(m[1] or "str", m[2], known), pattern)


def _example(kind: str, name: str, known: Mapping[str, str]) -> str:
    if kind == "int":
        return known.get(f"int:{name}", "1")
    return known.get(name, known.get(kind, "x"))


def routes() -> list[Route]:
    """All of them, once."""
    return list(_below(get_resolver(), "", ""))


def _below(resolver: URLResolver, prefix: str, namespace: str) -> Iterator[Route]:
    for pattern in resolver.url_patterns:
        here = prefix + _text(pattern)
        if isinstance(pattern, URLResolver):
            inner = f"{namespace}{pattern.namespace}:" if pattern.namespace else namespace
            yield from _below(pattern, here, inner)
        elif isinstance(pattern, URLPattern):
            yield Route(f"{namespace}{pattern.name}" if pattern.name else here, here)


def _text(pattern: URLPattern | URLResolver) -> str:
    text = str(pattern.pattern)
    if isinstance(pattern.pattern, RegexPattern):
        text = text.removeprefix("^").removesuffix("$").replace("\\.", ".")
        text = re.sub(r"\\/\?|/\?", "/", text)
    return text
