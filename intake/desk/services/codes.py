"""One-time codes: an authenticator of one's own, and ten codes on paper for when it is lost."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from intake.desk.errors import CodeWrong
from intake.desk.services.holding import name_of
from intake.events.services import event_record

PAPER_CODES = 10


@transaction.atomic
def device_offered(*, user: User) -> TOTPDevice:
    """The authenticator that waits to be confirmed; made anew only where there is none."""
    device, _made = TOTPDevice.objects.get_or_create(
        user=user, confirmed=False, defaults={"name": "authenticator"}
    )
    return device


@transaction.atomic
def device_confirm(*, user: User, token: str, now: datetime) -> tuple[TOTPDevice, list[str]]:
    """Switch codes on with a first right code; the codes for the paper are shown this once."""
    device = TOTPDevice.objects.select_for_update().filter(user=user, confirmed=False).first()
    if device is None or not device.verify_token(token.replace(" ", "")):
        raise CodeWrong
    TOTPDevice.objects.filter(user=user, confirmed=True).delete()
    device.confirmed = True
    device.save()
    event_record(kind="codes_on", now=now, actor=user, subject=name_of(user))
    return device, _paper_codes(user)


def _paper_codes(user: User) -> list[str]:
    StaticDevice.objects.filter(user=user).delete()
    paper = StaticDevice.objects.create(user=user, name="paper")
    codes = [StaticToken.random_token() for _ in range(PAPER_CODES)]
    for code in codes:
        paper.token_set.create(token=code)
    return codes


@transaction.atomic
def devices_remove(*, user: User, actor: User, now: datetime) -> None:
    """Switch a person's codes off."""
    TOTPDevice.objects.filter(user=user).delete()
    StaticDevice.objects.filter(user=user).delete()
    event_record(kind="codes_off", now=now, actor=actor, subject=name_of(user))
