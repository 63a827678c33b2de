"""Signing in: throttled, one-time codes for those who chose them, sessions that end."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings as conf
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from intake.models import Event
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db
PASSWORD = "a long pass phrase"


def sign_in(client: Client, **more: str) -> Any:
    return client.post(
        reverse("login"), {"username": "rosa", "password": PASSWORD, "otp_token": "", **more}
    )


@pytest.fixture
def coded(rep: User) -> TOTPDevice:
    return TOTPDevice.objects.create(user=rep, name="authenticator", confirmed=True)


def code_of(device: TOTPDevice) -> str:
    return f"{totp(device.bin_key):06d}"


def test_a_password_opens_the_desk_without_codes(client: Client, rep: User) -> None:
    assert sign_in(client).status_code == 302
    assert client.get(reverse("desk:queue")).status_code == 200


def test_with_codes_on_the_password_alone_opens_nothing(client: Client, coded: TOTPDevice) -> None:
    refused = sign_in(client)
    assert refused.status_code == 200
    assert client.get(reverse("desk:queue")).status_code == 302


def test_a_right_code_opens_once(client: Client, coded: TOTPDevice) -> None:
    code = code_of(coded)
    assert sign_in(client, otp_token=code).status_code == 302
    client.logout()
    assert sign_in(client, otp_token=code).status_code == 200


def test_a_wrong_code_opens_nothing(client: Client, coded: TOTPDevice) -> None:
    wrong = f"{(int(code_of(coded)) + 1) % 1_000_000:06d}"
    assert sign_in(client, otp_token=wrong).status_code == 200


def test_codes_are_switched_on_with_a_first_code(as_rep: Client, rep: User) -> None:
    as_rep.get(reverse("desk:codes"))
    device = TOTPDevice.objects.get(user=rep, confirmed=False)
    shown = as_rep.post(reverse("desk:codes"), {"token": code_of(device)})
    assert len(shown.context["paper"]) == 10
    assert Event.objects.filter(kind="codes_on", actor=rep).exists()


def test_a_code_on_paper_works_once(client: Client, as_rep: Client, rep: User) -> None:
    as_rep.get(reverse("desk:codes"))
    device = TOTPDevice.objects.get(user=rep, confirmed=False)
    paper = as_rep.post(reverse("desk:codes"), {"token": code_of(device)}).context["paper"]
    client.logout()
    assert sign_in(client, otp_token=paper[0]).status_code == 302
    client.logout()
    assert sign_in(client, otp_token=paper[0]).status_code == 200


def test_a_first_code_that_is_wrong_switches_nothing_on(as_rep: Client, rep: User) -> None:
    as_rep.get(reverse("desk:codes"))
    assert as_rep.post(reverse("desk:codes"), {"token": "000000"}).status_code == 422
    assert not TOTPDevice.objects.filter(user=rep, confirmed=True).exists()


def test_guessing_is_throttled_by_name_and_address(
    client: Client, rep: User, settings: Any
) -> None:
    settings.AXES_ENABLED = True
    for _ in range(conf.AXES_FAILURE_LIMIT):
        sign_in(client, password="a wrong one")
    assert sign_in(client).status_code == 429
    colleague = cast.person("cole", "rep")
    assert sign_in(client, username=colleague.username).status_code == 302


def test_a_session_ends_after_the_working_day(client: Client, rep: User) -> None:
    sign_in(client)
    ends = client.session.get_expiry_date()
    assert ends <= timezone.now() + timedelta(hours=12, minutes=1)


def test_the_owners_tables_have_no_door_of_their_own(client: Client, coded: TOTPDevice) -> None:
    answered = client.post("/admin/login/?next=/admin/", {"username": "rosa", "password": PASSWORD})
    assert answered.status_code == 302
    assert answered.url.startswith(reverse("login"))
    assert client.get(reverse("desk:queue")).status_code == 302
