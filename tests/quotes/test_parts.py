"""Parts of a quote's page are kept by what they show: another fact is another part."""

from __future__ import annotations

from typing import Any

import pytest
from django.template.loader import render_to_string
from django.utils.translation import override

from quotes.offers.parts import Parts

LINE = {"label": "60 kW set", "quantity": "1 week", "unit_price": "900.00", "amount": "900.00"}
FACTS: dict[str, Any] = {
    "lines": [LINE],
    "total": "979.20",
    "steps": [{"label": "Week", "working": "1 x 900.00", "reason": "", "amount": "900.00"}],
    "terms": "Pay in thirty days.",
    "customer": {"name": "Ada Story"},
}


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_kept_part_is_the_part(language: str) -> None:
    with override(language):
        for name in ("body", "steps"):
            context = {"facts": FACTS, "LANGUAGE_CODE": language}
            drawn = render_to_string(f"quotes/offers/{name}.html", context)
            assert [getattr(Parts(FACTS), name) for _ in range(2)] == [drawn, drawn]


def test_another_amount_is_another_part() -> None:
    dearer = {**FACTS, "lines": [{**LINE, "amount": "950.00"}]}
    assert "950.00" not in Parts(FACTS).body
    assert "950.00" in Parts(dearer).body


def test_who_the_customer_is_stays_outside() -> None:
    assert "customer" not in Parts(FACTS).facts
