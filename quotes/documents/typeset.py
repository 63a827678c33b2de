"""Facts laid out by typst as a PDF, and the answer that shows one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.http import HttpResponse


@lru_cache(maxsize=1)
def fonts() -> Any:
    """The fonts that typst brings, found once: searching costs more than typesetting."""
    import typst

    return typst.Fonts(include_system_fonts=False)


def typeset(template: Path, facts: Mapping[str, Any], *, made_at: datetime) -> bytes:
    """A tagged PDF that typst has checked against PDF/UA-1; facts go in as data, not as markup."""
    import typst

    content: bytes = typst.compile(
        str(template),
        root=str(template.parent),
        font_paths=fonts(),
        sys_inputs={"facts": json.dumps(facts)},
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    return content


def pdf_response(content: bytes, name: str) -> HttpResponse:
    """A PDF shown in the browser; ``name`` is its file's, without the ending."""
    response = HttpResponse(content, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
