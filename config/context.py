"""What every template may ask about the installation."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest


def installation(request: HttpRequest) -> dict[str, Any]:
    """Say whether this is the demo, so that every page can tell."""
    return {"is_demo": settings.SETWRIGHT_DEMO, "request_id": request.META.get("REQUEST_ID", "")}
