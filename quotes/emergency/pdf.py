"""Prints of an emergency as PDFs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from quotes.documents.typeset import typeset

TEMPLATES = Path(__file__).parent / "typst"


def emergency_pdf(name: str, facts: Mapping[str, Any], *, made_at: datetime) -> bytes:
    """One of ``fuel`` and ``record``."""
    return typeset(TEMPLATES / f"{name}.typ", facts, made_at=made_at)
