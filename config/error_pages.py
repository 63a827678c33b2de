"""The pages shown when a request cannot be answered, each with the reference to quote."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "400.html", status=400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def csrf_refused(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form that came without the cookie of the page it was on."""
    return render(request, "403_form.html", status=403)


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer without the database or the session: whatever broke, this page must not."""
    context = {"request_id": request.META.get("REQUEST_ID", "")}
    return HttpResponse(render_to_string("500.html", context), status=500)
