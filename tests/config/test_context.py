"""What every page knows of the installation."""

from __future__ import annotations

import pytest
from django.test import Client

from config.context import phone_link
from quotes.models import HireCompany


@pytest.mark.parametrize(
    ("written", "dialled"),
    [
        ("(970) 555-0142", "+19705550142"),
        ("970.555.0142 ext. 7", "+19705550142"),
        ("+44 20 7946 0018", "+442079460018"),
        ("ask at the counter", ""),
    ],
)
def test_a_phone_number_as_a_link_dials_it(written: str, dialled: str) -> None:
    assert phone_link(written) == dialled


@pytest.mark.django_db
def test_every_page_names_the_hire_company_and_its_phone() -> None:
    HireCompany.objects.create(name="Alder Hire", phone="(970) 555-0142", email="a@example.com")
    page = Client().get("/accounts/sign-in/").content.decode()
    assert "Alder Hire" in page
    assert 'href="tel:+19705550142"' in page


@pytest.mark.django_db
def test_without_a_hire_company_the_page_still_shows() -> None:
    assert Client().get("/accounts/sign-in/").status_code == 200
