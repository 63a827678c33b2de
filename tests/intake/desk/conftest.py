from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client

from intake.models import Case
from tests.intake.desk import cast


@pytest.fixture(autouse=True)
def _the_day() -> Iterator[None]:
    """The clock stands just after the cast's requests were sent, in whatever year this runs."""
    with time_machine.travel(cast.NOW + timedelta(minutes=5)):
        yield


@pytest.fixture(autouse=True)
def _demo_fleet(settings: Any) -> None:
    settings.SETWRIGHT_FLEET_SOURCE = "tests.intake.desk.cast.fleet_source"
    settings.AXES_ENABLED = False


@pytest.fixture
def rep(db: None) -> User:
    return cast.person("rosa", "rep")


@pytest.fixture
def colleague(db: None) -> User:
    return cast.person("cole", "rep")


@pytest.fixture
def senior(db: None) -> User:
    return cast.person("sena", "senior_rep")


@pytest.fixture
def manager(db: None) -> User:
    return cast.person("mara", "manager")


@pytest.fixture
def viewer(db: None) -> User:
    return cast.person("vito", "viewer")


@pytest.fixture
def case(db: None) -> Case:
    return cast.unsure_voltage()


@pytest.fixture
def as_rep(rep: User, client: Client) -> Client:
    client.force_login(rep)
    return client
