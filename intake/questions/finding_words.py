"""Findings in the customer's words: by code, so that they can be read in every language."""

# ruff: noqa: E501 - one finding a line, as a table

from __future__ import annotations

from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from intake.questions.question import Words

FINDING_WORDS: dict[str, Words] = {
    "supply_unsure": _("The voltage is not settled yet. The wrong one destroys equipment, so a rep settles it with you."),
    "voltage_mismatch": _("A nameplate and the voltage do not fit together."),
    "frequency_mismatch": _("A nameplate is not for 60 Hz, which is what our sets give."),
    "phase_mismatch": _("A nameplate and the supply differ in single and three phase."),
    "two_voltages": _("Your equipment needs two different voltages, and one set gives one at a time."),
    "high_leg": _("One wire of that supply carries 208 V to neutral. No 120 V equipment may be on it."),
    "nameplate_contradiction": _("The figures on the plate do not agree with each other. One of them may be misread."),
    "nameplate_incomplete": _("The nameplate leaves something open, so we used the usual figure."),
    "nameplate_not_understood": _("We could not read all of a nameplate."),
    "code_letter_open": _("The plate's code letter has no upper end; the locked-rotor amps would settle it."),
    "locked_rotor_outlier": _("The starting current on a plate is far from the usual."),
    "start_assumed": _("How a motor is started is not known, so we counted on the hardest way."),
    "altitude_unsure": _("How high the site is changes which set is right."),
    "ambient_unsure": _("How hot it gets changes which set is right."),
    "outside_table": _("A value lies outside what the published tables cover."),
    "light_load": _("The set would carry little of what it can. Diesel engines do not like that for long."),
    "load_unsure": _("A piece of equipment is not known well enough to size the set."),
    "life_safety": _("A life may depend on this power, so a person checks everything first."),
    "backfeed": _("A building may be fed only through transfer equipment. Without it, power could flow into the street and kill."),
    "noise_limit": _("The set may be louder than the limit allows."),
    "no_set_fits": _("No single set in our fleet fits. A rep looks for a way."),
    "no_fit": _("No single set in our fleet fits. A rep looks for a way."),
    "order_proposed": _("Starting your equipment in a certain order allows a smaller set."),
    "starts_per_hour": _("The pump would start more often than its motor allows."),
    "twelve_months": _("After a year in one place other rules apply to the engine."),
    "tank_threshold": _("That much fuel on site is subject to rules of its own."),
    "towing_limit": _("The set with its fuel may be too heavy for your vehicle."),
    "transformer_needed": _("A transformer goes along for some of your equipment."),
    "neutral_harmonics": _("Dimmers and electronics load the neutral wire. We take that into account."),
    "dates_unsure": _("We need the days of the hire to hold a set and give a price."),
    "place_unsure": _("We need the place to plan the delivery and give a price."),
    "standing_set": _("The building has a set of its own. The two must never feed it together."),
    "float_wiring": _("It is open what the float switch starts. Two wires to the set's control panel start the set itself."),
    "customer_note": _("Your note goes to the rep with your answers."),
}  # fmt: skip


def finding_words(code: str, detail: str) -> str:
    """A finding for the customer: the words of its code, with the figures where English is read."""
    words = FINDING_WORDS.get(code)
    if words is None:
        return detail
    english = (get_language() or "en").startswith("en")
    return f"{words} {detail}" if english and code in WITH_FIGURES else str(words)


WITH_FIGURES = frozenset(
    {
        "nameplate_contradiction",
        "voltage_mismatch",
        "frequency_mismatch",
        "phase_mismatch",
        "outside_table",
        "noise_limit",
    }
)
