"""Questions about the voltage and how the set is connected."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions.answers import Answers
from intake.questions.applications import application_is
from intake.questions.question import Choice, Kind, Question

YES_NO = (Choice("yes", _("Yes")), Choice("no", _("No")))

SUPPLY = Question(
    key="supply",
    kind=Kind.CHOICE,
    label=_("Which voltage does your equipment need?"),
    help=_("Look at the motor plate, the panel label or the plug."),
    why=_("The wrong voltage destroys motors and electronics, so we never guess it."),
    missing=_("Choose the voltage, or choose Not sure."),
    path="supply",
    figure="voltages",
    choices=(
        Choice(
            "120/240",
            _("120/240 volts, single phase"),
            _("House and trailer panels, tools; plates say 115, 120, 230 or 240 V, 1 phase"),
        ),
        Choice(
            "208Y/120",
            _("208 volts, three phase (with 120)"),
            _("Shops, schools, stages; plates say 200 or 208 V, 3 phase"),
        ),
        Choice(
            "480Y/277",
            _("480 volts, three phase (with 277)"),
            _("Bigger pumps and motors; plates say 460 or 480 V, 3 phase"),
        ),
        Choice(
            "240/120",
            _("240 volts, three phase with a high leg"),
            _("Older shops; a delta panel with one orange wire"),
        ),
    ),
)

PLUGS = Question(
    key="plugs",
    kind=Kind.SEVERAL,
    label=_("Which plugs are on your cords?"),
    help=_("Choose all that you see, or none where wires go to a panel."),
    missing=_("Choose the plugs you have."),
    optional=True,
    not_sure=False,
    path="site.plugs",
    figure="plugs",
    choices=(
        Choice(
            "5-20", _("Household plug, 15 or 20 A"), _("120 V, two flat blades and a round pin")
        ),
        Choice("L5-30", _("Locking, 30 A, 3 blades"), _("120 V, marked L5-30")),
        Choice("L6-30", _("Locking, 30 A, 3 blades"), _("240 V, marked L6-30")),
        Choice("L14-30", _("Locking, 30 A, 4 blades"), _("120/240 V, marked L14-30")),
        Choice(
            "14-50",
            _("Range or trailer plug, 50 A"),
            _("120/240 V, four straight blades, marked 14-50"),
        ),
        Choice("L21-30", _("Locking, 30 A, 5 blades"), _("208Y/120 V three phase, marked L21-30")),
        Choice("L16-30", _("Locking, 30 A, 4 blades"), _("480 V three phase, marked L16-30")),
    ),
)

_connects_building = application_is("emergency", "jobsite_trailer", "other")

FEEDS_BUILDING = Question(
    key="feeds_building",
    kind=Kind.CHOICE,
    label=_("Will it feed the wiring of a building or trailer?"),
    help=_("Yes, if it connects to a panel rather than to cords and plugs."),
    why=_("Power fed back into the street can kill a line worker."),
    missing=_("Choose Yes or No, or choose Not sure."),
    path="site.feeds_building",
    choices=YES_NO,
    applies=_connects_building,
)


def _may_feed_building(answers: Answers) -> bool:
    return _connects_building(answers) and answers.given("feeds_building").value != "no"


TRANSFER_EQUIPMENT = Question(
    key="transfer_equipment",
    kind=Kind.CHOICE,
    label=_("Is there a transfer switch, or is the utility service disconnected?"),
    help=_("A transfer switch lets the building take power from one source only, never from both."),
    why=_("Without it the hook-up must be planned by a person before anything is quoted."),
    missing=_("Choose Yes or No, or choose Not sure."),
    path="site.transfer_equipment",
    figure="transfer",
    choices=YES_NO,
    applies=_may_feed_building,
)
