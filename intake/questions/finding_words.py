"""Findings in the customer's words: by code, so that they can be read in every language."""

# ruff: noqa: E501 - one finding a line, as a table

from __future__ import annotations

from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from intake.questions.question import Words

PRICED_BY_A_PERSON = _("This price needs a person. A rep works it out.")
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
    "express_request": _("A person calls you back at night or by day, before anything is sent."),
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
    "carbon_monoxide": _("Exhaust gas would reach a building. The set must stand at least 20 ft from doors, windows and vents."),
    "engine_starts": _("The engine would start often. It is better that it runs through and the float switch starts the pump alone."),
    "float_switch_unsure": _("Whether a float switch starts the pump changes which set is right."),
    "ground_fault": _("Receptacles of 125 V for people at work need ground-fault protection, those of the set included."),
    "grounding_building": _("The set feeds a building, so it is grounded and bonded with the building's wiring. A licensed electrician decides how."),
    "grounding_cord_and_plug": _("The set feeds equipment with cord and plug: its frame may serve as the ground. Leads by connectors or lugs need what the authority having jurisdiction asks for."),
    "hours_unsure": _("How many hours a day the set runs is not settled; it changes fuel and price."),
    "lamp_restrike": _("After a dip or a stop these lamps need minutes to come back."),
    "lead_length_unsure": _("How far the set stands from the load is not settled; it changes the leads."),
    "lead_protection": _("The set's main breaker lets more current through than the leads stand. A qualified person sets it down, or larger leads go."),
    "leads_long": _("The leads are long, so their voltage drop was counted."),
    "leads_outside": _("No leads of ours carry that current so far. A person looks for a way."),
    "lights_end_in_daylight": _("The lights would end in daylight, so we counted them from sunset to sunrise."),
    "nameplate_refused": _("We could not use a nameplate as it was typed."),
    "noise_distance_assumed": _("Where the noise is heard was not given, so we took the usual distance."),
    "other_tap": _("A motor must be connected for the set's voltage in its terminal box. Its plate allows that."),
    "panel_rating": _("What stands behind a panel is not known, so we counted its whole rating."),
    "phases_refused": _("The load could not be spread over the phases. A person does it."),
    "place_refused": _("We do not know that place well enough to count with it."),
    "plug_shared": _("Some plugs share one receptacle of the set."),
    "plug_unknown": _("Which plugs your equipment has is not settled."),
    "plug_unserved": _("The set has no receptacle for one of your plugs."),
    "pump_rate_doubtful": _("The pump would move an unusual amount of water. Its rate may be misread."),
    "reduced_heat": _("A heater gives less heat at this voltage."),
    "refuel_unsure": _("How often the tank can be filled changes the fuel plan."),
    "restarts_itself_unsure": _("Whether the equipment comes back by itself after a stop changes which set is right."),
    "season_assumed": _("The season is not known, so of heating and cooling we counted the larger."),
    "sequence_refused": _("The order in which things start does not work out. A person settles it."),
    "sizing_refused": _("This job could not be worked out. A person does it by hand."),
    "softer_start_proposed": _("With a soft starter a smaller set would do."),
    "sump_assumed": _("The inflow or the pump's rate was not given, so we counted the pump as running all the time."),
    "sump_overrun": _("More water may come in than the pumps move."),
    "sun_never_sets": _("The sun does not set there in those days, so we counted the hours of lamps that you gave."),
    "sunset_assumed": _("The days or the place are not known, so we took a long night for the lamps."),
    "table_refused": _("A published table could not be read. A person works it out."),
    "typical_equipment": _("A usual machine of its kind was taken for one that is not known."),
    "dates_open": _("We need the days of the hire to give a price."),
    "place_open": _("We need the ZIP code of the site to give a price."),
    "nothing_free": _("No set for this job is free on those days. A rep looks for a way."),
    "change_asked": _("You asked for a change. A rep reads it and makes you a new quote."),
    "pricing_refused": PRICED_BY_A_PERSON,
    "too_heavy_to_deliver": _("The set is too heavy for our delivery vehicles. A rep arranges the transport."),
    "hire_too_long": _("So long a hire is priced by a person."),
    "rate_missing": PRICED_BY_A_PERSON,
    "no_rate_card": PRICED_BY_A_PERSON,
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
