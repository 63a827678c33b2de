"""What every template may ask about the installation."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import phonenumbers
from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject
from django.utils.translation import get_language

from quotes.documents.facts import COMPANY


def installation(request: HttpRequest) -> dict[str, Any]:
    """The language, if this is the demo, and the hire company, read only where a page shows it."""
    return {
        "LANGUAGE_CODE": get_language(),
        "is_demo": settings.SETWRIGHT_DEMO,
        "request_id": request.META.get("REQUEST_ID", ""),
        "hire_company": SimpleLazyObject(hire_company),
    }


def hire_company() -> dict[str, str] | None:
    """Return the owner's name and phone, the phone also as a link can dial it."""
    company = COMPANY.first()
    if company is None:
        return None
    return {
        "name": company.name,
        "phone": company.phone,
        "phone_link": phone_link(company.phone),
        "email": company.email,
        "emergency_phone": company.emergency_phone,
    }


@lru_cache(maxsize=64)
def phone_link(phone: str) -> str:
    """Return a US phone number in the international form of RFC 3966, else its digits."""
    try:
        number = phonenumbers.parse(phone, "US")
    except phonenumbers.NumberParseException:
        return "".join(filter(str.isdigit, phone))
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
