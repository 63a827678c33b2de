"""The usual cautions in the customer's language, by the code of each in the method's table."""

# ruff: noqa: E501 - one caution a line, as a table

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions.question import Words

CAUTION_WORDS: dict[str, Words] = {
    "local_codes": _("Nothing here authorises any work. Local codes and the authority having jurisdiction decide; a licensed electrician makes and checks the connections."),
    "backfeed": _("Never feed a building without transfer equipment that keeps the two sources apart: power sent back into the utility line kills line workers."),
    "carbon_monoxide": _("Exhaust holds carbon monoxide. Run outdoors only, at least 20 ft from doors, windows and vents, exhaust pointing away. Feeling sick or dizzy: get to fresh air and call for help."),
    "voltage_selector": _("Check the selector position and measure the voltage before any load is connected. Never turn the selector while the set runs."),
    "grounding": _("Bond and ground as the site requires: the frame may serve as the ground only for cord-and-plug loads through the set's own receptacles; a set that feeds a building is grounded as a separately derived system where the neutral is switched."),
    "ground_fault": _("Receptacles of 125 V, 15, 20 and 30 A for people at work need ground-fault protection. Press the test button before use."),
    "cam_lock": _("Only a qualified person connects single-pole connectors: ground first, then neutral, then phases; the reverse to disconnect. Never under load or live."),
    "refuelling": _("Let the set stop and cool before refuelling. No smoking or open flame; keep an extinguisher and a spill kit at hand."),
    "hot_parts": _("Exhaust and engine parts burn. Keep people, dry grass and anything that catches fire away; keep the doors shut."),
    "unattended_start": _("A set on automatic start can start without warning. Lock it off before anyone works on it or on what it feeds."),
    "hearing": _("Wear hearing protection beside the running set."),
    "towing": _("Before towing: coupler locked, chains crossed, breakaway cable on, lights working, brakes tested, jack up, tires at pressure. Stay within the ratings of hitch and vehicle."),
}  # fmt: skip


def caution_words(code: str) -> str:
    """One caution; in English word for word as the table has it."""
    return str(CAUTION_WORDS[code])
