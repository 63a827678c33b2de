"""The PDF of a quote, and the QR code on it."""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import segno

from quotes.documents.headings import headings
from quotes.documents.typeset import typeset

TEMPLATES = Path(__file__).parent / "typst"


def offer_pdf(facts: Mapping[str, Any], *, link: str, made_at: datetime) -> bytes:
    """The offer in the language in force."""
    shown = {**facts, "words": headings(facts, link), "link": link, "qr": qr_svg(link)}
    return typeset(TEMPLATES / "offer.typ", shown, made_at=made_at)


def qr_svg(link: str) -> str:
    """A QR code of a link, error level M, with the quiet zone of four modules."""
    out = io.BytesIO()
    code = segno.make(link, error="m", micro=False)
    code.save(out, kind="svg", border=4, scale=4, xmldecl=False, svgclass=None, lineclass=None)
    return out.getvalue().decode()
