"""Words that a password at this counter must not be made of."""

from __future__ import annotations

import re

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import DatabaseError
from django.utils.translation import gettext as _

from quotes.models import HireCompany

TRADE_WORDS = frozenset(
    {
        "setwright", "generator", "generators", "genset", "diesel", "power", "rental", "rentals",
        "hire", "quote", "desk", "counter", "manager", "senior", "viewer", "admin", "branch",
        "trailer", "kilowatt",
    }
)  # fmt: skip
SHORTEST = 4


class TradeWordsValidator:
    """Refuse what is left too short once the trade's and the company's words are taken out."""

    def __init__(self, least: int = 8) -> None:
        self.least = least

    def validate(self, password: str, user: User | None = None) -> None:
        words = TRADE_WORDS | company_words()
        spelt = sorted(map(re.escape, words), key=len, reverse=True)
        rest = re.sub("|".join(spelt), "", password.lower())
        if len(re.sub(r"[\W\d_]", "", rest)) < self.least and rest != password.lower():
            raise ValidationError(self.get_help_text(), code="password_of_trade_words")

    def get_help_text(self) -> str:
        return _("Do not build the password around the company's name or words of the trade.")


def company_words() -> frozenset[str]:
    """The words of the company's name, where it has one yet."""
    try:
        names = HireCompany.objects.values_list("name", flat=True)
        found = {word for name in names for word in re.findall(r"\w+", name.lower())}
    except DatabaseError:
        return frozenset()
    return frozenset(word for word in found if len(word) >= SHORTEST)
