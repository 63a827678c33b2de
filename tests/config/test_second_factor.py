"""A password alone opens neither the owner's tables nor, where the owner wants it, the desk."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from tests.config.test_settings import settings_of
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db
PASSWORD = "a long pass phrase"
TABLES = "/admin/quotes/ratecard/"


@pytest.fixture
def manager() -> User:
    made = cast.person("mara", "manager")
    User.objects.filter(pk=made.pk).update(is_staff=True)
    made.refresh_from_db()
    return made


@pytest.fixture
def coded(manager: User) -> TOTPDevice:
    return TOTPDevice.objects.create(user=manager, name="authenticator", confirmed=True)


@pytest.fixture(autouse=True)
def _needed(settings: Any) -> None:
    settings.SETWRIGHT_CODES_FOR = "admin"
    settings.AXES_ENABLED = False


def code_of(device: TOTPDevice) -> str:
    return f"{totp(device.bin_key):06d}"


def sign_in(client: Client, code: str = "") -> int:
    given = {"username": "mara", "password": PASSWORD, "otp_token": code}
    return client.post(reverse("login"), given).status_code


def lands_at(client: Client, address: str) -> str:
    """Where a browser ends that follows every redirect; a circle fails."""
    return str(client.get(address, follow=True).request["PATH_INFO"])


def test_a_manager_without_codes_is_led_to_where_they_are_had(
    client: Client, manager: User
) -> None:
    assert sign_in(client) == 302
    assert lands_at(client, TABLES) == reverse("desk:codes")
    assert b"A code is needed" in client.get(reverse("desk:codes")).content
    assert client.get(reverse("desk:queue")).status_code == 200, "the desk is another matter"


def test_the_first_code_opens_the_tables_at_once(client: Client, manager: User) -> None:
    sign_in(client)
    client.get(reverse("desk:codes"))
    device = TOTPDevice.objects.get(user=manager, confirmed=False)
    client.post(reverse("desk:codes"), {"token": code_of(device)})
    assert client.get(TABLES).status_code == 200


def test_signed_in_with_a_code_the_tables_are_open(client: Client, coded: TOTPDevice) -> None:
    assert sign_in(client, code_of(coded)) == 302
    assert client.get(TABLES).status_code == 200


def test_a_session_from_before_the_codes_stays_out(client: Client, manager: User) -> None:
    client.force_login(manager)
    TOTPDevice.objects.create(user=manager, name="authenticator", confirmed=True)
    assert lands_at(client, TABLES) == reverse("desk:codes")
    assert b"this session began without one" in client.get(reverse("desk:codes")).content
    refused = client.post(reverse("desk:codes"), {"off": "1"})
    assert refused.status_code == 422
    assert TOTPDevice.objects.filter(user=manager).exists(), "a stolen session removes no codes"


def test_who_has_no_business_there_is_refused_not_sent_in_circles(client: Client) -> None:
    client.force_login(cast.person("rosa", "rep"))
    assert client.get(TABLES, follow=True).status_code == 403


def test_a_stranger_comes_to_the_one_sign_in_and_back(client: Client) -> None:
    chain = client.get(TABLES, follow=True).redirect_chain
    assert chain[-1][0] == f"{reverse('login')}?next={TABLES}"


def test_the_owner_may_want_codes_from_everybody(
    client: Client, manager: User, coded: TOTPDevice, settings: Any
) -> None:
    settings.SETWRIGHT_CODES_FOR = "everybody"
    client.force_login(cast.person("rosa", "rep"))
    assert lands_at(client, reverse("desk:queue")) == reverse("desk:codes")
    assert lands_at(client, reverse("quotes:desk_list")) == reverse("desk:codes")
    client.logout()
    sign_in(client, code_of(coded))
    assert client.get(reverse("desk:queue")).status_code == 200


def test_only_the_demo_goes_without(tmp_path: Any) -> None:
    name = "SETWRIGHT_CODES_FOR"
    assert settings_of(tmp_path, name)[name] == "admin"
    assert settings_of(tmp_path, name, SETWRIGHT_DEMO="1")[name] == "nobody"
