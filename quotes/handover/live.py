"""The page behind the code on a set: no sign-in, nothing private, and help when it does not run."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import get_language
from django.views.decorators.http import require_http_methods, require_safe

from intake.questions.caution_words import caution_words
from intake.requests.errors import LinkRefused
from intake.views.access import kept_private, link_refused
from quotes.handover.asking import help_page
from quotes.handover.card import start_card
from quotes.handover.facts import head_facts
from quotes.handover.units import job_of_unit, unit_by_token
from quotes.models import OutUnit
from sizing.cautions import cautions

View = Callable[..., HttpResponse]


def at_the_set(view: View) -> View:
    """Give the view the unit whose token the address holds; else it is not there."""

    @wraps(view)
    def opened(web: HttpRequest, token: str, **path: Any) -> HttpResponse:
        try:
            out = unit_by_token(token)
        except LinkRefused:
            return link_refused(web)
        return kept_private(view(web, out, token=token, **path))

    return opened


@require_safe
@at_the_set
def set_page(web: HttpRequest, out: OutUnit, token: str) -> HttpResponse:
    """What the set is switched to, how it is started and stopped, and whom to call."""
    job = job_of_unit(out)
    shown = ("carbon_monoxide", "backfeed", "unattended_start", "refuelling")
    context = {
        **_public(out),
        "token": token,
        "parts": start_card(job, get_language() or "en"),
        "cautions": [caution_words(one.code) for one in cautions() if one.code in shown],
    }
    return render(web, "quotes/handover/set.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@at_the_set
def set_help(web: HttpRequest, out: OutUnit, token: str) -> HttpResponse:
    """The questions, from the cheapest."""
    return help_page(web, out, template="quotes/handover/help.html", context={"token": token})


def _public(out: OutUnit) -> dict[str, Any]:
    """Nothing of the customer: no name, no order, no price, no address."""
    facts = head_facts(out)
    return {key: facts[key] for key in ("unit", "set", "supply", "company")}
