"""What the customer may choose differently on a quote's page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Any

from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from quotes.acceptance.forms import ServicesForm, option_chosen, services_chosen
from quotes.documents.facts import Facts
from quotes.models import Quote


def choices_shown(quote: Quote, facts: Facts) -> dict[str, Any]:
    """The sets and the services, each with the one that is chosen."""
    known = (
        ("load_percent", "load", _("Peak load %(load)s %%")),
        ("voltage_dip_percent", "dip", _("dip %(dip)s %%")),
        ("sound_dba", "sound", _("%(sound)s dBA at the listener")),
    )
    return {
        "options": [{**one, "figures": _figures(one, known)} for one in facts["options"]],
        "option": option_chosen(quote),
        "services": _services_drawn(get_language(), **services_chosen(quote.choices)),
    }


def _figures(option: Mapping[str, Any], known: Iterable[tuple[str, str, str]]) -> str:
    """``Peak load 62 % · dip 18 % · 64 dBA at the listener``, as far as it is known."""
    return " · ".join(
        words % {name: _whole(option[key])}
        for key, name, words in known
        if option.get(key) is not None
    )


def _whole(figure: float) -> str:
    return str(Decimal(str(figure)).quantize(Decimal(1), ROUND_HALF_UP))


@lru_cache(maxsize=64)
def _services_drawn(language: str | None, **chosen: Any) -> SafeString:
    """The services: the same on every quote in a language for which the same were chosen."""
    form = ServicesForm(initial=chosen)
    return render_to_string("quotes/offers/services.html", {"form": form})
