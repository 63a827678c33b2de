"""Photos of a request, for whoever holds its link."""

from __future__ import annotations

from functools import wraps
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_POST, require_safe

from intake.models import HireRequest
from intake.photos.services import LARGEST_BYTES, photo_remove
from intake.views.access import CustomerView, draft_only, holder_of_link

FORM_BYTES = 200_000
TOO_LARGE = "too_large"


def bounded_upload(view: CustomerView) -> CustomerView:
    """Look at the announced size before a byte of the body is read.

    Checking the form's own token reads the body, so that check runs only where the size fits.
    """
    checked = csrf_protect(view)

    @csrf_exempt
    @wraps(view)
    def measured(web: HttpRequest, *path: Any, **named: Any) -> HttpResponseBase:
        announced = str(web.META.get("CONTENT_LENGTH") or "0")
        if announced.isdigit() and int(announced) > LARGEST_BYTES + FORM_BYTES:
            return redirect(f"{web.path}?photo={TOO_LARGE}#q-photo")
        return checked(web, *path, **named)

    return measured


@require_safe
@holder_of_link
def photo(web: HttpRequest, hire_request: HireRequest, photo_id: int) -> HttpResponseBase:
    """One photo, as a file that a browser shows but never runs. The desk has a way of its own."""
    found = get_object_or_404(hire_request.photos, pk=photo_id)
    response = FileResponse(
        found.image.open("rb"),
        content_type="image/jpeg",
        as_attachment=True,
        filename=f"{hire_request.reference}-{photo_id}.jpg",
    )
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


@require_POST
@draft_only
def photo_removed(web: HttpRequest, hire_request: HireRequest, photo_id: int) -> HttpResponse:
    """Take a photo away and go back to its row."""
    found = get_object_or_404(hire_request.photos, pk=photo_id)
    load_id = found.load_id
    photo_remove(request=hire_request, photo=found, now=timezone.now())
    if load_id is None:
        return redirect("intake:equipment", reference=hire_request.reference)
    return redirect("intake:load", reference=hire_request.reference, load_id=load_id)
