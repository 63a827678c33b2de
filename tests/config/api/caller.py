"""A program that calls the API with a key of its own."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any
from uuid import uuid4

from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from intake.api.keys import key_make

ALL = ("sizing", "catalogue", "requests", "quotes")
# The demo's dewatering story as a program sends it.
LOADS: list[dict[str, Any]] = [
    {
        "kind": "pump",
        "name": "Sump pump",
        "nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G",
        "float_switch": True,
        "starting": "across_the_line",
    },
    {"kind": "lamp", "name": "Flood light", "quantity": 4, "nameplate": "250 W LED 277 V 1 ph"},
]
ANSWERS: dict[str, Any] = {
    "float_starts_set": "set",
    "inflow": "200 gpm",
    "pump_rate": "400 gpm",
    "active_volume": "2000 gal",
    "supply": "480Y/277",
    "zip": "80424",
    "altitude": "9600 ft",
    "ambient": "90 degF",
    "delivery": "deliver",
    "hire_start": "2027-06-01",
    "hire_end": "2027-06-14",
    "hours_per_day": "24",
    "refuel_every": "24",
    "lead_length": "75 ft",
    "crossing": False,
    "public_nearby": True,
    "noise_distance": "50 ft",
    "noise_limit": "65",
    "contact_name": "Ann Field",
    "email": "ann@example.com",
    "phone": "970 555 0142",
}
WHOLE = {"application": "dewatering", "answers": ANSWERS, "loads": LOADS}


@dataclass
class Caller:
    """Sends JSON with its key; ``tags`` remembers the last ETag of an address."""

    name: str = "site office"
    scopes: tuple[str, ...] = ALL
    acts_as: Any = None
    organisation: Any = None
    text: str = ""
    client: Client = field(default_factory=Client)

    def __post_init__(self) -> None:
        if not self.text:
            _key, self.text = key_make(
                client_name=self.name,
                scopes=self.scopes,
                now=timezone.now(),
                acts_as=self.acts_as,
                organisation=self.organisation,
            )

    def call(
        self, method: str, path: str, body: Any = None, *, once: str = "", seen: str = ""
    ) -> HttpResponse:
        headers = {"Authorization": f"Bearer {self.text}"}
        headers |= {"Idempotency-Key": f'"{once}"'} if once else {}
        headers |= {"If-Match": seen} if seen else {}
        return self.client.generic(
            method.upper(),
            f"/api/v1/{path}",
            b"" if body is None else json.dumps(body).encode(),
            content_type="application/json",
            headers=headers,
        )

    def get(self, path: str) -> HttpResponse:
        return self.call("GET", path)

    def make(self, path: str, body: Any = None, *, seen: str = "", once: str = "") -> HttpResponse:
        """A creating call with a fresh key."""
        return self.call("POST", path, body, once=once or str(uuid4()), seen=seen)


def document(response: HttpResponse, status: int = 200) -> Any:
    """The body, where the answer has the status that was expected."""
    assert response.status_code == status, response.content
    return json.loads(response.content)


def problem(response: HttpResponse, status: int, code: str) -> Any:
    """The problem document of a refusal."""
    found = document(response, status)
    assert response["Content-Type"] == "application/problem+json"
    assert found["code"] == code
    assert found["status"] == status
    return found
