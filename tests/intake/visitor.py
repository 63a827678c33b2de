"""A customer's browser without a screen: it fills in pages as they are served."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from bs4 import BeautifulSoup
from django.http import HttpResponse
from django.test import Client

from sizing.fleet import GeneratorSet, read_fleet

ROOT = Path(__file__).resolve().parents[2]
DEMO_FLEET = ROOT / "demo_fixtures" / "fleet.csv"

# The demo's dewatering story, as a customer types it page by page.
PUMP = {
    "nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G",
    "quantity": "1",
    "float_switch": "yes",
    "starting": "across_the_line",
    "name": "Sump pump",
}
LAMPS = {"nameplate": "1000 W metal halide 480 V 1 ph", "quantity": "4", "name": "Flood light"}
STEPS: dict[str, dict[str, str]] = {
    "water": {
        "float_starts_set": "set",
        "inflow": "200",
        "pump_rate": "400",
        "active_volume": "2000",
    },
    "voltage": {"supply": "480Y/277"},
    "site": {"zip": "80424", "altitude": "9600", "ambient": "90", "delivery": "deliver"},
    "dates": {
        "hire_start": "2027-06-01",
        "hire_end": "2027-06-14",
        "hours_per_day": "24",
        "refuel_every": "24",
    },
    "around": {
        "lead_length": "75",
        "crossing": "no",
        "public_nearby": "yes",
        "noise_distance": "50",
        "noise_limit": "65",
    },
    "contact": {
        "contact_name": "Ann Field",
        "email": "ann@example.com",
        "phone": "970 555 0142",
    },
}


def demo_fleet(**asked: Any) -> tuple[GeneratorSet, ...]:
    """The demo company's fleet, whatever the dates."""
    return read_fleet(DEMO_FLEET)


@dataclass(frozen=True)
class Yard:
    code: str
    name: str


def demo_branches(zip_code: str) -> list[tuple[Yard, Decimal]]:
    return [(Yard("RIDGE", "Ridge yard"), Decimal("4.8")), (Yard("FRONT", "Front"), Decimal(99))]


class Visitor:
    """One customer with a browser; ``reference`` is the request that was started."""

    def __init__(self) -> None:
        self.client = Client()
        self.reference = ""

    def start(self, application: str = "dewatering") -> str:
        """Start a request; returns where the customer is led."""
        response = self.client.post("/", {"application": application})
        address: str = response["Location"]
        self.reference = address.split("/")[2]
        return address

    def at(self, page: str = "") -> str:
        return f"/request/{self.reference}/{page}"

    def get(self, page: str) -> BeautifulSoup:
        response = self.client.get(self.at(page))
        assert response.status_code == 200, response.headers.get("Location", response)
        return soup(response)

    def post(self, page: str, answers: dict[str, Any] | None = None) -> HttpResponse:
        """Send a page's form with its hidden fields as they were served."""
        shown = self.client.get(self.at(page))
        hidden = hidden_fields(soup(shown)) if shown.status_code == 200 else {}
        response: HttpResponse = self.client.post(self.at(page), {**hidden, **(answers or {})})
        return response

    def load_page(self) -> str:
        """The page of the newest row of equipment."""
        from intake.models import RequestLoad

        newest = RequestLoad.objects.filter(request__reference=self.reference).latest("id")
        return f"equipment/{newest.pk}/"

    def fill_equipment(self) -> None:
        self.post(self.load_page(), PUMP)
        self.client.post(self.at("equipment/add/"), {"kind": "lamp"})
        self.post(self.load_page(), LAMPS)

    def fill(self, **changed: dict[str, str]) -> None:
        """Answer everything as the demo's dewatering story does, but for what is changed."""
        self.start()
        self.fill_equipment()
        for step, answers in STEPS.items():
            response = self.post(f"{step}/", changed.get(step, answers))
            assert response.status_code == 302, errors(response)

    def send(self) -> HttpResponse:
        return self.post("check/")


def soup(response: HttpResponse) -> BeautifulSoup:
    return BeautifulSoup(response.content, "html.parser")


def hidden_fields(page: BeautifulSoup) -> dict[str, str]:
    fields = page.select("main form input[type=hidden]")
    return {f["name"]: f["value"] for f in fields if f["name"] != "csrfmiddlewaretoken"}


def errors(response: HttpResponse) -> dict[str, str]:
    """The sentence at each field, by the field's name."""
    found = {}
    for wrong in soup(response).select(".field-wrong"):
        name = wrong.select_one("[name]")["name"]
        found[str(name)] = wrong.select_one(".error-text").get_text(strip=True)
    return found


def summary(response: HttpResponse) -> list[str]:
    return [a.get_text(strip=True) for a in soup(response).select(".error-summary a")]
