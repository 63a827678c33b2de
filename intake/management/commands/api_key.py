"""``setwright api_key``: keys of programs made, listed, rotated, revoked."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from intake.api.keys import KEY_DAYS, SCOPES, key_make, key_revoke, key_rotate
from intake.models import ApiKey, Organisation
from intake.requests.errors import ServiceRefusal


class Command(BaseCommand):
    help = "Make, list, rotate and revoke the keys of programs that use the API."

    def add_arguments(self, parser: ArgumentParser) -> None:
        acts = parser.add_subparsers(dest="act", required=True)
        make = acts.add_parser("make", help="make a key and print it, this once")
        make.add_argument("client", help="name of the program or its owner")
        make.add_argument("--scope", action="append", required=True, choices=list(SCOPES))
        make.add_argument("--acts-as", help="sign-in of the person, for the scopes of the desk")
        make.add_argument("--organisation", help="name of the public body, for the scopes of sites")
        make.add_argument("--days", type=int, default=KEY_DAYS, help="how long the key holds")
        acts.add_parser("list", help="list the keys by their first letters")
        rotate = acts.add_parser("rotate", help="make the successor of a key and print it")
        rotate.add_argument("start", help="first letters of the key, as listed")
        rotate.add_argument("--overlap-hours", type=int, default=24, help="until the old one ends")
        revoke = acts.add_parser("revoke", help="end a key at once")
        revoke.add_argument("start")

    def handle(self, *args: Any, act: str, **options: Any) -> None:
        try:
            getattr(self, act)(timezone.now(), **options)
        except ServiceRefusal as refusal:
            raise CommandError(str(refusal)) from refusal

    def make(
        self,
        now: datetime,
        client: str,
        scope: list[str],
        acts_as: str | None,
        organisation: str | None,
        days: int,
        **_: Any,
    ) -> None:
        if not 1 <= days <= 3650:
            raise CommandError("Give 1 to 3650 days.")
        person = User.objects.filter(username=acts_as, is_active=True).first() if acts_as else None
        if acts_as and person is None:
            raise CommandError(f"Nobody signs in as {acts_as}.")
        _key, text = key_make(
            client_name=client, scopes=scope, now=now, acts_as=person, days=days,
            organisation=body_named(organisation) if organisation else None,
        )  # fmt: skip
        self.stdout.write(text)

    def list(self, now: datetime, **_: Any) -> None:
        for key in ApiKey.objects.select_related("client").order_by("client__name", "pk"):
            self.stdout.write(
                f"{key.start}…  {standing(key, now):8}  until {key.expires_at:%Y-%m-%d}  "
                f"{key.client.name}  {', '.join(key.scopes)}"
            )

    def rotate(self, now: datetime, start: str, overlap_hours: int, **_: Any) -> None:
        if not 0 <= overlap_hours <= 24 * 90:
            raise CommandError("Give 0 to 2160 hours of overlap.")
        overlap = timedelta(hours=overlap_hours)
        _key, text = key_rotate(key=key_named(start), now=now, overlap=overlap)
        self.stdout.write(text)

    def revoke(self, now: datetime, start: str, **_: Any) -> None:
        key_revoke(key=key_named(start), now=now)
        self.stdout.write(f"{start}… has ended.")


def body_named(name: str) -> Organisation:
    """The one public body of that name."""
    found = list(Organisation.objects.filter(name=name, public_body=True)[:2])
    if len(found) != 1:
        raise CommandError(f"There is no public body “{name}” on file; the owner enters it first.")
    return found[0]


def key_named(start: str) -> ApiKey:
    """The one key that begins so."""
    found = list(ApiKey.objects.filter(start__startswith=start.rstrip("…"))[:2])
    if len(found) != 1:
        raise CommandError("No key begins so." if not found else "Several keys begin so.")
    return found[0]


def standing(key: ApiKey, now: datetime) -> str:
    if key.revoked_at is not None:
        return "revoked"
    return "holds" if key.expires_at > now else "over"
