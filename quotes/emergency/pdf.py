"""Prints of an emergency as tagged PDFs that typst has checked against PDF/UA-1."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.http import HttpResponse

TEMPLATES = Path(__file__).parent / "typst"


@lru_cache(maxsize=1)
def _fonts() -> Any:
    """The fonts that typst brings, found once."""
    import typst

    return typst.Fonts(include_system_fonts=False)


def emergency_pdf(name: str, facts: Mapping[str, Any], *, made_at: datetime) -> bytes:
    """One of ``fuel`` and ``record``."""
    import typst

    content: bytes = typst.compile(
        str(TEMPLATES / f"{name}.typ"),
        root=str(TEMPLATES),
        font_paths=_fonts(),
        sys_inputs={"facts": json.dumps(facts)},
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    return content


def pdf_answer(content: bytes, name: str) -> HttpResponse:
    """A PDF as an answer, opened in the browser under a name of its own."""
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
