"""Photos: shown to whoever holds the link and to the desk, taken away by the customer."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_POST, require_safe

from intake.models import HireRequest, RequestPhoto
from intake.photos.services import LARGEST_BYTES, photo_remove
from intake.requests.errors import LinkRefused
from intake.requests.links import COOKIE, request_opened
from intake.views.access import draft_only, kept_private

FORM_BYTES = 200_000
TOO_LARGE = "too_large"


def bounded_upload(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Look at the announced size before a byte of the body is read.

    Checking the form's own token reads the body, so that check runs only where the size fits.
    """
    checked = csrf_protect(view)

    @csrf_exempt
    @wraps(view)
    def measured(web: HttpRequest, *path: Any, **named: Any) -> HttpResponse:
        announced = str(web.META.get("CONTENT_LENGTH") or "0")
        if announced.isdigit() and int(announced) > LARGEST_BYTES + FORM_BYTES:
            return redirect(f"{web.path}?photo={TOO_LARGE}#q-photo")
        return checked(web, *path, **named)

    return measured


@require_safe
def photo(web: HttpRequest, reference: str, photo_id: int) -> HttpResponseBase:
    """One photo, as a file that a browser shows but never runs."""
    found = RequestPhoto.objects.filter(pk=photo_id, request__reference=reference).first()
    if found is None or not (_staff(web) or _holds_link(web, reference)):
        raise Http404
    response = FileResponse(
        found.image.open("rb"),
        content_type="image/jpeg",
        as_attachment=True,
        filename=f"{reference}-{photo_id}.jpg",
    )
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response.headers["X-Content-Type-Options"] = "nosniff"
    kept_private(response)
    return response


def _staff(web: HttpRequest) -> bool:
    return web.user.is_authenticated and web.user.has_perm("intake.view_case")


def _holds_link(web: HttpRequest, reference: str) -> bool:
    try:
        request_opened(reference=reference, token=web.COOKIES.get(COOKIE), now=timezone.now())
    except LinkRefused:
        return False
    return True


@require_POST
@draft_only
def photo_removed(web: HttpRequest, hire_request: HireRequest, photo_id: int) -> HttpResponse:
    """Take a photo away and go back to its row."""
    found = hire_request.photos.filter(pk=photo_id).first()
    if found is None:
        raise Http404
    load_id = found.load_id
    photo_remove(request=hire_request, photo=found, now=timezone.now())
    if load_id is None:
        return redirect("intake:equipment", reference=hire_request.reference)
    return redirect("intake:load", reference=hire_request.reference, load_id=load_id)
