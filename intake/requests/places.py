"""The site's place in words, and the yard that is nearest to it. All of it offline."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any, Protocol

from django.conf import settings
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _

from intake.models import HireRequest
from intake.prepared import A_KEY, PreparedUpdate
from intake.questions.towns import town
from sizing.places import PlaceRefused

KM_PER_MILE = Decimal("1.609344")
ASSIGNED = PreparedUpdate(
    lambda pk, code: (HireRequest.objects.filter(pk=pk), {"branch_code": code}), A_KEY, "a code"
)


class Branch(Protocol):
    """What the intake needs to know of a yard."""

    code: str
    name: str


def nearest_branch(five_digits: str) -> tuple[Branch, Decimal] | None:
    """The yard nearest to a ZIP and its distance in km; ``None`` where there is none."""
    if not five_digits:
        return None
    source: Callable[[str], Sequence[tuple[Any, Decimal]]] = import_string(
        settings.SETWRIGHT_BRANCH_SOURCE
    )
    try:
        found = source(five_digits)
    except PlaceRefused:
        return None
    return found[0] if found else None


def branch_assign(request: HireRequest, five_digits: str) -> None:
    """Give a request that is being sent to the yard nearest to its site."""
    nearest = nearest_branch(five_digits)
    request.branch_code = nearest[0].code if nearest else ""
    ASSIGNED.update(request.pk, request.branch_code)


def place_sentence(five_digits: str) -> str:
    """The town of a ZIP and how far the nearest yard is; empty where neither is known."""
    named, nearest = town(five_digits), nearest_branch(five_digits)
    if not named:
        return ""
    if nearest is None:
        return _("That is {town}.").format(town=named)
    miles = round(nearest[1] / KM_PER_MILE)
    if miles < 1:
        return _("That is {town}, where our yard {yard} is.").format(
            town=named, yard=nearest[0].name
        )
    return _("That is {town}, about {miles} miles from our yard {yard}.").format(
        town=named, miles=miles, yard=nearest[0].name
    )
