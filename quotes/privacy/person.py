"""Who a person is to the installation: the requests of an e-mail address, and their names."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import phonenumbers
from django.contrib.auth.models import User

from intake.models import Answer, HireRequest
from quotes.models import (
    Acceptance,
    DutyTurn,
    HireChange,
    Need,
    PublicBody,
    ServiceCase,
    SignOff,
)
from quotes.privacy.holdings import ERASED, PERSONAL_ANSWERS

SHORTEST = 4  # a shorter name would be found inside other words
NAMED = (
    (Acceptance, "order__request", ("name",)),
    (SignOff, "out_unit__order__request", ("name", "connector")),
    (ServiceCase, "out_unit__order__request", ("name", "phone")),
    (HireChange, "order__request", ("name",)),
    (Need, "request", ("contact_name", "night_phone")),
)


@dataclass(frozen=True, slots=True)
class Names:
    """What a person is called, mailed and rung by, to be found in any text."""

    pattern: re.Pattern[str] | None

    def blanked(self, value: Any) -> Any:
        """A text, list or document with every one of the names blanked."""
        if self.pattern is None:
            return value
        if isinstance(value, str):
            return self.pattern.sub(ERASED, value)
        if isinstance(value, list):
            return [self.blanked(item) for item in value]
        if isinstance(value, dict):
            return {key: self.blanked(item) for key, item in value.items()}
        return value


def requests_of(email: str) -> list[HireRequest]:
    """Every request that gave this address."""
    given = Answer.objects.filter(key="email").values_list("request_id", "value")
    wanted = email.strip().lower()
    pks = [pk for pk, value in given.iterator() if str(value or "").lower() == wanted]
    return list(HireRequest.objects.filter(pk__in=pks).order_by("pk"))


def names_of(requests: Iterable[HireRequest]) -> Names:
    """The names, addresses and numbers that these requests and what followed them give."""
    pks = [request.pk for request in requests]
    answers = Answer.objects.filter(request__in=pks, key__in=PERSONAL_ANSWERS - {"note"})
    said = {str(value) for value in answers.values_list("value", flat=True) if value}
    for model, path, fields in NAMED:
        rows: Any = model._base_manager.filter(**{f"{path}__in": pks})
        for row in rows.values_list(*fields):
            said.update(row)
    spelt = {form for text in said - {ERASED} for form in spellings(text)}
    forms = sorted((form for form in spelt if len(form) >= SHORTEST), key=len, reverse=True)
    joined = "|".join(map(re.escape, forms))
    return Names(re.compile(joined, re.IGNORECASE) if forms else None)


def spellings(text: str) -> set[str]:
    """A text as it was given; a telephone number also as it is written elsewhere."""
    text = text.strip()
    try:
        number = phonenumbers.parse(text, "US")
    except phonenumbers.NumberParseException:
        return {text}
    styles = phonenumbers.PhoneNumberFormat
    formats = (styles.E164, styles.NATIONAL, styles.INTERNATIONAL)
    plain = str(number.national_number)
    return {text, plain, *(phonenumbers.format_number(number, style) for style in formats)}


def kept_elsewhere(email: str) -> list[str]:
    """Where this address belongs to somebody who is needed: staff, an emergency's contact.

    Blanking a contact of a standing site could cost lives: a person names another one first.
    """
    wanted = email.strip()
    staff = User.objects.filter(email__iexact=wanted)
    bodies = PublicBody.objects.filter(contact_email__iexact=wanted)
    turns = DutyTurn.objects.filter(email__iexact=wanted)
    return [
        *(f"staff account {user.get_username()}" for user in staff),
        *(f"emergency contact of {body}" for body in bodies.select_related("organisation")),
        *(f"on duty, turn {turn.pk}" for turn in turns),
    ]
