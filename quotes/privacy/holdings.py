"""Where personal data lies. A test reads every model and fails for a field that is not judged here.

A customer is known by requests, so each table says how its rows hang on a request.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import models

from intake.models import (
    Answer,
    Case,
    CaseFinding,
    CaseQuestion,
    Event,
    HireRequest,
    RequestLoad,
    RequestPhoto,
    SizingRun,
)
from quotes.models import (
    Acceptance,
    CustomerWord,
    EmergencyPlan,
    FuelPlan,
    HireChange,
    Need,
    Order,
    PlanChoice,
    Quote,
    QuoteLine,
    Reading,
    ServiceCase,
    SignOff,
    SignOffPhoto,
    SiteRecord,
    SiteRecordLine,
    StatementLine,
    Tick,
)

ERASED = "[erased]"
PERSONAL_ANSWERS = frozenset(
    {"contact_name", "company", "email", "phone", "site_contact", "note", "night_phone"}
)


@dataclass(frozen=True, slots=True)
class Holding:
    """One table: how a row hangs on a request, what is blanked, what is searched for the names.

    ``blank`` fields say who somebody is, or what somebody said in own words; ``search`` fields are
    kept, but every name, address and number of the person in them is blanked. Standing sites and
    their contacts are the public body's own and are changed on its pages.
    """

    model: type[models.Model]
    path: str
    blank: Mapping[str, Any] = field(default_factory=dict)
    search: tuple[str, ...] = ()
    file: str = ""
    given: bool = True  # to the person who asks; what also tells of others is not

    def rows(self, requests: Iterable[HireRequest]) -> Any:
        """The rows of these requests, past the manager that lets the record only grow."""
        pks = [request.pk for request in requests]
        return self.model._base_manager.filter(**{f"{self.path}__in": pks}).order_by("pk")


HOLDINGS = (
    Holding(Answer, "request", search=("value", "reason")),
    Holding(RequestLoad, "request", search=("name", "nameplate", "draft", "reason")),
    Holding(RequestPhoto, "request", file="image"),
    Holding(SizingRun, "request", search=("requirement", "result")),
    Holding(
        Case,
        "request",
        blank={"headline": ERASED, "customer_words": "", "search_text": ""},
    ),
    Holding(CaseFinding, "case__request", search=("detail", "question", "evidence", "reason")),
    Holding(CaseQuestion, "case__request", blank={"answer": ERASED}, search=("words",)),
    Holding(Event, "request", search=("subject", "actor_label", "data")),
    Holding(Quote, "request", search=("content", "choices", "reason")),
    Holding(QuoteLine, "quote__request", search=("label", "why")),
    Holding(Acceptance, "order__request", blank={"name": ERASED, "role": "", "address": None}),
    Holding(CustomerWord, "quote__request", blank={"words": ERASED}),
    Holding(
        SignOff,
        "out_unit__order__request",
        blank={"name": ERASED, "role": "", "connector": "", "note": ""},
    ),
    Holding(Tick, "sign_off__out_unit__order__request", blank={"note": ""}, search=("by",)),
    Holding(SignOffPhoto, "sign_off__out_unit__order__request", file="image"),
    Holding(Reading, "out_unit__order__request", search=("by", "notes")),
    Holding(
        ServiceCase,
        "out_unit__order__request",
        blank={"name": "", "phone": "", "words": ""},
        search=("path_words", "resolution"),
    ),
    Holding(HireChange, "order__request", blank={"name": ERASED}),
    Holding(StatementLine, "statement__order__request", search=("label", "why")),
    Holding(Order, "request"),
    Holding(
        Need,
        "request",
        blank={
            "name": ERASED,
            "contact_name": ERASED,
            "night_phone": ERASED,
            "place": "",
            "call_note": "",
        },
        search=("requirement", "options", "findings", "connection_data", "person_reason"),
    ),
    Holding(SiteRecord, "need__request", search=("note",)),
    Holding(SiteRecordLine, "record__need__request", search=("label", "why")),
    Holding(PlanChoice, "need__request", search=("reason",)),
    Holding(
        EmergencyPlan, "event__needs__request", search=("problem", "result", "reason"), given=False
    ),
    Holding(FuelPlan, "event__needs__request", search=("problem", "result"), given=False),
)
