"""What the customer reads when a quantity or a nameplate cannot be taken, by the refusal's code."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.questions.question import Measure, Words
from sizing.errors import QuantityRefused
from sizing.quantity import written

_QUANTITY: dict[str, Words] = {
    "no_unit": gettext_lazy("Add the unit after the number, like “{example}”."),
    "not_a_number": gettext_lazy("“{text}” is not a number. Enter it like “{example}”."),
    "unknown_unit": gettext_lazy("We do not know the unit in “{text}”. Enter it like “{example}”."),
    "wrong_dimension": gettext_lazy(
        "“{text}” is measured in a unit that does not fit here. Enter it like “{example}”."
    ),
    "negative": gettext_lazy("“{text}” is below zero. Enter zero or more."),
    "absurd": gettext_lazy("“{text}” cannot be right. Enter a value from {low} to {high}."),
}


def quantity_sentence(refusal: QuantityRefused, text: str, measure: Measure) -> str:
    """The refusal as a sentence for the field it happened at."""
    pattern = _QUANTITY.get(refusal.code)
    if pattern is None:
        return refusal.message
    return str(pattern).format(
        text=shortened(text),
        example=f"50 {measure.shown}",
        low=_shown(measure.low, measure),
        high=_shown(measure.high, measure),
    )


def _shown(value: float, measure: Measure) -> str:
    """A bound in the unit that stands beside the field."""
    from sizing.quantity import read_quantity

    factor = read_quantity(1, measure.unit, default_unit=measure.assumed)
    offset = read_quantity(0, measure.unit, default_unit=measure.assumed)
    return written((value - offset) / (factor - offset), str(measure.shown))


def shortened(text: str, longest: int = 40) -> str:
    """What was typed, short enough to be quoted in a sentence."""
    text = " ".join(text.split())
    return text if len(text) <= longest else f"{text[:longest]}…"


def too_long(text: str, longest: int) -> str:
    """The sentence for a text that is longer than the field takes."""
    return _("That is {length} characters; {longest} fit here. Shorten it.").format(
        length=f"{len(text):,}", longest=f"{longest:,}"
    )
