"""Reasons that are stored in English, in the customer's language."""

# ruff: noqa: E501 - one reason a line, as a table

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions.question import Words
from quotes.emergency.needs import LIFE_SAFETY, NO_TRANSFER, NOT_SIZED, TRANSFER_UNSURE, UNREADABLE

SAID: dict[str, Words] = {
    LIFE_SAFETY: _("A life may depend on this power: a person decides first."),
    NO_TRANSFER: _("Nothing parts the building from the utility, so no set may feed it: power sent back into the street kills line workers. It gets no quote; a person plans the hook-up first."),
    TRANSFER_UNSURE: _("It is not known what parts the building from the utility. A person asks before any set is promised."),
    NOT_SIZED: _("It is not sized yet."),
    UNREADABLE: _("It cannot be sized as it was entered: a person works it out."),
}  # fmt: skip


def said_words(reason: str) -> str:
    """A reason of our own in the language of the page; any other as it is."""
    return str(SAID.get(reason, reason))
