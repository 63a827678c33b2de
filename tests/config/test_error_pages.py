"""Pages for what cannot be answered."""

from __future__ import annotations

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.urls import path

from config import error_pages
from config.urls import handler400, handler403, handler404, handler500
from config.urls import urlpatterns as real

REQUEST_ID = {"x-request-id": "proxy-12345678"}


def breaks(request: HttpRequest) -> HttpResponse:
    raise RuntimeError("a defect")


urlpatterns = [*real, path("breaks", breaks)]
__all__ = ["handler400", "handler403", "handler404", "handler500"]


@pytest.mark.django_db
def test_an_unknown_address_says_what_to_do() -> None:
    answer = Client().get("/no/such/page", headers=REQUEST_ID)
    assert answer.status_code == 404
    assert b"There is nothing at this address" in answer.content
    assert b"proxy-12345678" in answer.content


@override_settings(ROOT_URLCONF=__name__)
def test_a_defect_shows_a_reference_and_no_detail() -> None:
    client = Client(raise_request_exception=False)
    answer = client.get("/breaks", headers=REQUEST_ID)
    assert answer.status_code == 500
    assert b"proxy-12345678" in answer.content
    assert b"RuntimeError" not in answer.content
    assert b"a defect" not in answer.content


def test_the_page_for_a_defect_needs_no_database() -> None:
    """pytest-django forbids database access to a test that does not ask for it."""
    answer = error_pages.server_error(HttpRequest())
    assert answer.status_code == 500


@pytest.mark.django_db
def test_a_form_without_its_cookie_is_told_to_load_the_page_again() -> None:
    answer = Client(enforce_csrf_checks=True).post("/accounts/sign-in/", {"username": "x"})
    assert answer.status_code == 403
    assert b"load the page again" in answer.content


@pytest.mark.django_db
def test_a_host_we_do_not_serve_is_refused() -> None:
    answer = Client().get("/", headers={"host": "evil.example.com"})
    assert answer.status_code == 400
