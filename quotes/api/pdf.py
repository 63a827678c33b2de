"""A document as the answer to a call."""

from __future__ import annotations

from typing import Any

from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.response import Response


class Pdf(BaseRenderer):
    """Bytes of a PDF as they are; a problem is JSON all the same."""

    media_type = "application/pdf"
    format = "pdf"
    charset = None
    render_style = "binary"

    def render(self, data: Any, media_type: Any = None, renderer_context: Any = None) -> bytes:
        return data if isinstance(data, bytes) else JSONRenderer().render(data)


def pdf_answer(content: bytes, name: str) -> Response:
    """A PDF to be shown; ``name`` is its file's, without the ending."""
    return Response(content, headers={"Content-Disposition": f'inline; filename="{name}.pdf"'})
