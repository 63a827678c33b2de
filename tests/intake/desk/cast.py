"""The cast of the desk's tests: people with roles, and requests as customers send them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

from django.contrib.auth.models import Group, User

from demo_fixtures import fleet_path
from intake.models import Answer, Case, HireRequest, RequestLoad, StaffProfile
from intake.requests.services import request_start, request_submit
from sizing import GeneratorSet, read_fleet

NOW = datetime(2027, 3, 2, 16, 0, tzinfo=UTC)  # a Tuesday, nine in the morning in Denver
PUMP_PLATE = "10 hp 208-230/460 V 3 ph 60 Hz 28-26/13 A code H"
ROLES = ("viewer", "rep", "senior_rep", "manager")


@lru_cache
def demo_fleet() -> tuple[GeneratorSet, ...]:
    return read_fleet(fleet_path())


def fleet_source(**_: Any) -> tuple[GeneratorSet, ...]:
    """Stands for the owner's fleet, whatever branch and days."""
    return demo_fleet()


def person(name: str, role: str, *branches: str) -> User:
    """Somebody of a role; of all branches where none is named."""
    user = User.objects.create_user(name, password="a long pass phrase", first_name=name.title())
    user.groups.add(Group.objects.get(name=role))
    StaffProfile.objects.create(user=user, all_branches=not branches, branch_codes=list(branches))
    return user


DEWATERING: dict[str, Any] = {
    "application": "dewatering",
    "supply": "unsure",
    "zip": "15222",
    "altitude": "1200",
    "ambient": "85",
    "delivery": "deliver",
    "hire_start": "2027-04-12",
    "hire_end": "2027-04-25",
    "hours_per_day": "24",
    "refuel_every": "24",
    "lead_length": "60",
    "crossing": "no",
    "public_nearby": "no",
    "float_starts_set": "unsure",
    "inflow": "unsure",
    "pump_rate": "unsure",
    "active_volume": "unsure",
    "contact_name": "Ada Brook",
    "company": "Brook Excavating",
    "email": "ada@example.com",
    "phone": "970 555 0142",
}
SHELTER: dict[str, Any] = {
    **DEWATERING,
    "application": "emergency",
    "supply": "208Y/120",
    "facility": "shelter",
    "life_support": "yes",
    "standing_set": "no",
    "redundancy": "no",
    "feeds_building": "yes",
    "transfer_equipment": "yes",
    "company": "Town of Elk Fork",
}


def pump(**changes: Any) -> dict[str, Any]:
    return {
        "name": "Trash pump",
        "kind": "pump",
        "quantity": 1,
        "nameplate": PUMP_PLATE,
        "starting": "across_the_line",
        "float_switch": True,
        **changes,
    }


def panel(**changes: Any) -> dict[str, Any]:
    return {
        "name": "Shelter panel",
        "kind": "panel",
        "quantity": 1,
        "nameplate": "60 A 208Y/120 V 3 ph",
        "starting": "unsure",
        **changes,
    }


def sent(
    answers: dict[str, Any] | None = None,
    *loads: dict[str, Any],
    now: datetime = NOW,
    branch: str = "",
) -> HireRequest:
    """A request, answered and sent as a customer would."""
    request, _token = request_start(language="en", now=now)
    HireRequest.objects.filter(pk=request.pk).update(branch_code=branch)
    for key, value in (answers or DEWATERING).items():
        unsure = value == "unsure"
        Answer.objects.create(
            request=request, key=key, value=None if unsure else value, unsure=unsure, updated_at=now
        )
    for position, load in enumerate(loads or (pump(),)):
        RequestLoad.objects.create(request=request, position=position, updated_at=now, **load)
    request.refresh_from_db()
    return request_submit(request_id=request.pk, version=request.version, now=now)


def unsure_voltage(**more: Any) -> Case:
    """The case of a pump whose plate has two windings and whose voltage is not known."""
    return Case.objects.get(request=sent(**more))


def shelter(**more: Any) -> Case:
    """The case of a shelter on whose power lives depend; the numbers are clear."""
    return Case.objects.get(request=sent(SHELTER, panel(), **more))


HIRE = (date(2027, 4, 12), date(2027, 4, 25))
