"""The world that the contract is tried in: one company with a request in every state."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.core.cache import cache
from django.db import transaction

from intake.api.keys import SCOPES
from intake.models import ApiClient, ApiRequest, HireRequest
from intake.webhooks.endpoints import endpoint_make
from intake.webhooks.kinds import KINDS
from intake.webhooks.services import webhook_emit
from quotes.acceptance.services import Signature, quote_accept
from quotes.demo.company import company_load
from quotes.emergency.sites.tables import uploads_keep
from quotes.models import Booking, CardFee, Rate, RateCard, SetType, Unit
from tests.config.api.caller import Caller
from tests.intake.desk.cast import person, shelter
from tests.quotes.cast import NOW, quoted
from tests.quotes.emergency.conftest import body_made, site_made


@dataclass
class World:
    """A key for everything, and for each operation the values that lead to something."""

    key: str
    paths: dict[str, dict[str, Any]] = field(default_factory=dict)

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.key}"}


def world_made() -> World:
    """The demo company, a manager's program, and what it can work on."""
    cache.clear()
    company_load(now=NOW)
    manager = person("mia", "manager")
    county = body_made()
    caller = Caller(
        name="everything", scopes=tuple(SCOPES), acts_as=manager, organisation=county.organisation
    )
    client = ApiClient.objects.get()
    draft = caller.make("requests", {"application": "dewatering"})
    ordered, offered, case = quoted(), quoted("dewatering"), shelter()
    quote_accept(
        quote_id=ordered.pk, terms_version=ordered.terms_version, signature=Signature("A"), now=NOW
    )
    for one in (ordered.request, offered.request, case.request):
        ApiRequest.objects.create(request=one, client=client)
    hook, _secret = endpoint_make(
        name="all", url="https://hooks.example.com/", kinds=KINDS, actor=manager, now=NOW
    )
    with transaction.atomic():
        (told,) = webhook_emit(kind="case.opened", payload={}, now=NOW)
    request = HireRequest.objects.get(reference=draft.json()["reference"])  # type: ignore[attr-defined]
    (table,) = uploads_keep(
        organisation=county.organisation, file_name="", data=b"key,name,zip\nA,A,80424", now=NOW
    )
    paths = _paths(request, offered, ordered, case, hook, told)
    paths |= {"sites": {"id": site_made(county).pk}, "tables": {"id": table.pk}}
    return World(caller.text, paths)


def _paths(request: Any, offered: Any, ordered: Any, case: Any, hook: Any, told: Any) -> Any:
    """Values of path parameters by the group an operation's address begins with."""
    load, finding = request.loads.first(), case.findings.first()
    rate, fee = Rate.objects.select_related("card").first(), CardFee.objects.first()
    assert rate is not None
    assert fee is not None
    return {
        "requests": {"reference": request.reference, "id": load.pk},
        "quote": {"reference": offered.request.reference, "revision": offered.revision},
        "order": {
            "reference": ordered.request.reference, "unit": Booking.objects.get().unit.number,
        },
        "cases": {"reference": case.request.reference, "id": finding.pk, "key": "supply"},
        "bookings": {"id": Booking.objects.get().pk},
        "fleet": {
            "code": SetType.objects.all()[0].code, "number": Unit.objects.all()[0].number,
        },
        "rates": {"card": rate.card.code, "item": rate.item_code, "fee": fee.code},
        "webhooks": {"id": hook.pk, "delivery": str(told.pk)},
        "cards": {"card": RateCard.objects.all()[0].code},
    }  # fmt: skip


def group_of(path: str) -> str:
    """Which of the world's things an address is about."""
    for name in ("order", "quote", "tables"):
        if f"/{name}" in path:
            return name
    return path.split("/")[3]
