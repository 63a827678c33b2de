"""The PDF of a quote."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from intake.qr_code import qr_svg
from quotes.documents.headings import headings
from quotes.documents.typeset import typeset

TEMPLATES = Path(__file__).parent / "typst"


def offer_pdf(facts: Mapping[str, Any], *, link: str, made_at: datetime) -> bytes:
    """The offer in the language in force."""
    shown = {**facts, "words": headings(facts, link), "link": link, "qr": qr_svg(link)}
    return typeset(TEMPLATES / "offer.typ", shown, made_at=made_at)
