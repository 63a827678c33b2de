"""The PDF of a quote, typeset by typst: data goes in as JSON, never as markup."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

import segno

from quotes.documents.headings import headings

TEMPLATES = Path(__file__).parent / "typst"


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """The fonts that typst brings, found once: searching costs more than typesetting."""
    import typst

    return typst.Fonts(include_system_fonts=False)


def offer_pdf(facts: Mapping[str, Any], *, link: str, made_at: datetime) -> bytes:
    """The offer in the language in force, a tagged PDF that typst has checked against PDF/UA-1."""
    import typst

    shown = {**facts, "words": headings(facts, link), "link": link, "qr": qr_svg(link)}

    content: bytes = typst.compile(
        str(TEMPLATES / "offer.typ"),
        root=str(TEMPLATES),
        font_paths=_fonts(),
        sys_inputs={"facts": json.dumps(shown)},
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    return content


def qr_svg(link: str) -> str:
    """A QR code of a link, error level M, with the quiet zone of four modules."""
    out = io.BytesIO()
    code = segno.make(link, error="m", micro=False)
    code.save(out, kind="svg", border=4, scale=4, xmldecl=False, svgclass=None, lineclass=None)
    return out.getvalue().decode()
