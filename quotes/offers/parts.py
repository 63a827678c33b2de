"""The long parts of a quote's page, drawn once for what they show.

They depend on the facts and the language alone, so each is kept under a digest of the facts: with
another fact it is another part. Who the customer is, and what belongs to a visitor or a moment, is
on the page around them and never in them.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from quotes.documents.facts import Facts

ELSEWHERE = frozenset({"customer", "company", "reference", "number", "reason"})


@dataclass(frozen=True, slots=True)
class _Shown:
    """Facts that are the same when their digests are."""

    digest: bytes
    language: str
    facts: Facts = field(compare=False)


class Parts:
    """The parts of one quote's page, each drawn when it is asked for."""

    def __init__(self, facts: Facts) -> None:
        self.facts = {key: value for key, value in facts.items() if key not in ELSEWHERE}

    @cached_property
    def _shown(self) -> _Shown:
        written = json.dumps(self.facts, sort_keys=True, default=str)
        digest = hashlib.sha256(written.encode()).digest()
        return _Shown(digest, get_language() or "", self.facts)

    @property
    def body(self) -> SafeString:
        """Price, reasons, accessories, checks and cautions."""
        return _drawn("quotes/offers/body.html", self._shown)

    @property
    def steps(self) -> SafeString:
        """The working of the price, and the terms."""
        return _drawn("quotes/offers/steps.html", self._shown)


@lru_cache(maxsize=256)
def _drawn(template: str, shown: _Shown) -> SafeString:
    return render_to_string(template, {"facts": shown.facts, "LANGUAGE_CODE": shown.language})
