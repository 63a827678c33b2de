"""The demo company in the database, and the customer's browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from intake.models import HireRequest
from intake.requests.links import COOKIE, link_token
from quotes.demo.company import company_load
from tests.quotes.cast import NOW


@pytest.fixture
def company(db: None) -> None:
    """The demo's branches, fleet, rates and taxes."""
    company_load(now=NOW)


@pytest.fixture
def holder(client: Client) -> Callable[[HireRequest], Client]:
    """A browser that holds a request's key."""

    def hold(request: HireRequest) -> Client:
        client.cookies[COOKIE] = link_token(request.reference, request.link_generation)
        return client

    return hold
