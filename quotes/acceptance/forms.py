"""Forms on the quote's pages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from quotes.models import Quote
from quotes.pricing.job import Connection, Cover, Refuelling

NAME_MISSING = _("Enter your name.")
TERMS_MISSING = _("Tick the box if you agree to the terms.")
WORDS_MISSING = _("Tell us in a few words what you would like changed.")


class AcceptForm(forms.Form):
    """Who accepts, on whose order."""

    name = forms.CharField(
        label=_("Your full name"),
        max_length=120,
        error_messages={"required": NAME_MISSING},
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    role = forms.CharField(
        label=_("Your role"),
        max_length=120,
        required=False,
        help_text=_("For example site manager."),
        widget=forms.TextInput(attrs={"autocomplete": "organization-title"}),
    )
    purchase_order = forms.CharField(
        label=_("Purchase order number"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    terms = forms.BooleanField(
        label=_("I agree to the terms of this quote"),
        error_messages={"required": TERMS_MISSING},
    )


class WordsForm(forms.Form):
    """What should be changed, or why not."""

    words = forms.CharField(
        label=_("In your words"),
        max_length=2000,
        error_messages={"required": WORDS_MISSING},
        widget=forms.Textarea(attrs={"rows": 4, "autocomplete": "off"}),
    )


class DeclineForm(WordsForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].required = False


class ServicesForm(forms.Form):
    """What the customer may choose besides the set."""

    refuelling = forms.ChoiceField(
        widget=forms.RadioSelect,
        label=_("Refuelling"),
        choices=[
            (Refuelling.CUSTOMER, _("We refuel it ourselves")),
            (Refuelling.OWNER, _("You come and refuel it")),
        ],
    )
    cover = forms.ChoiceField(
        widget=forms.RadioSelect,
        label=_("If the set is damaged"),
        choices=[
            (Cover.WAIVER, _("Damage waiver")),
            (Cover.CERTIFICATE, _("We send a certificate of our insurance")),
        ],
    )
    connection = forms.ChoiceField(
        widget=forms.RadioSelect,
        label=_("Connecting the set"),
        choices=[
            (Connection.CUSTOMER, _("Our licensed electrician connects it")),
            (Connection.OWNER, _("Your licensed electrician connects it")),
        ],
    )


def services_chosen(choices: Mapping[str, Any]) -> dict[str, Any]:
    """The services as they are stored with a quote; what is not stored is as usual."""
    return {
        "refuelling": choices.get("refuelling", Refuelling.CUSTOMER),
        "cover": choices.get("cover", Cover.WAIVER),
        "connection": choices.get("connection", Connection.CUSTOMER),
    }


def option_chosen(quote: Quote) -> Any:
    """The option that a quote is for."""
    return quote.choices.get("option", quote.content["source"]["option"])


class ChoicesForm(ServicesForm):
    """What the customer may choose; the price follows."""

    option = forms.TypedChoiceField(coerce=int)

    def __init__(self, *args: Any, quote: Quote, **kwargs: Any) -> None:
        first = {"option": option_chosen(quote), **services_chosen(quote.choices)}
        super().__init__(*args, **{**kwargs, "initial": first})
        option = self.fields["option"]
        assert isinstance(option, forms.TypedChoiceField)
        option.choices = [(one["index"], str(one["index"])) for one in quote.content["options"]]
