"""Questions of one kind of job alone: the water, the trailer's day, the show, the facility."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions.answers import Answers
from intake.questions.applications import application_is
from intake.questions.power import YES_NO
from intake.questions.question import Choice, Kind, Measure, Question

# ---- a pump -------------------------------------------------------------------------------


def _floats(answers: Answers) -> bool:
    return answers.application == "dewatering" and answers.has_float_switch


FLOAT_STARTS_SET = Question(
    key="float_starts_set",
    kind=Kind.CHOICE,
    label=_("What should the float switch start?"),
    why=_("To start the set itself, two wires run from the float to the set's control panel."),
    missing=_("Choose what the float switch starts, or choose Not sure."),
    figure="selector",
    choices=(
        Choice(
            "set",
            _("The generator set"),
            _("The set starts when the water rises and stops when it is gone"),
        ),
        Choice(
            "pump", _("Only the pump"), _("The set runs all the time, the float switches the pump")
        ),
    ),
    applies=_floats,
)
INFLOW = Question(
    key="inflow",
    kind=Kind.QUANTITY,
    label=_("How much water comes in?"),
    help=_("In gallons a minute (gpm), on a wet day."),
    why=_("It tells how often the pump starts and how much fuel it takes."),
    missing=_("Enter the inflow, or choose Not sure."),
    measure=Measure(_("gpm"), "gpm", "L/s", 0.0, 5000.0),
    path="site.sump.inflow",
)
PUMP_RATE = Question(
    key="pump_rate",
    kind=Kind.QUANTITY,
    label=_("How much can the pump move?"),
    help=_("In gallons a minute (gpm), from its plate or its papers."),
    missing=_("Enter the pump's rate, or choose Not sure."),
    measure=Measure(_("gpm"), "gpm", "L/s", 0.01, 5000.0),
    path="site.sump.pump_rate",
)
ACTIVE_VOLUME = Question(
    key="active_volume",
    kind=Kind.QUANTITY,
    label=_("How much water lies between pump on and pump off?"),
    help=_("The volume of the pit between the two levels of the float."),
    missing=_("Enter the volume, or choose Not sure."),
    measure=Measure(_("gal"), "gal", "L", 1.0, 10_000_000.0),
    path="site.sump.active_volume",
    figure="sump",
    applies=_floats,
)
LIFT = Question(
    key="lift",
    kind=Kind.QUANTITY,
    label=_("How high must the water be lifted?"),
    help=_("From the water's surface to the highest point of the hose."),
    missing=_("Enter the height, or choose Not sure."),
    measure=Measure(_("ft"), "ft", "m", 0.0, 500.0),
    optional=True,
)

# ---- a jobsite trailer --------------------------------------------------------------------

WORK_FROM = Question(
    key="work_from",
    kind=Kind.TIME,
    label=_("When does work start in the morning?"),
    missing=_("Enter the time, or choose Not sure."),
)
WORK_UNTIL = Question(
    key="work_until",
    kind=Kind.TIME,
    label=_("When does work end?"),
    missing=_("Enter the time, or choose Not sure."),
)
OVERNIGHT = Question(
    key="overnight",
    kind=Kind.CHOICE,
    label=_("Does heat or air conditioning run overnight?"),
    why=_("A set that idles through the night with little load wears badly."),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
)

# ---- lights and events --------------------------------------------------------------------

LIGHTS_UNTIL = Question(
    key="lights_until",
    kind=Kind.TIME,
    label=_("Until when do the lights burn?"),
    help=_("They start at sunset, which we work out from the place and the day."),
    missing=_("Enter the time, or choose Not sure."),
    path="site.lights_until",
)
DIMMERS = Question(
    key="dimmers",
    kind=Kind.CHOICE,
    label=_("Are any lights on dimmers?"),
    why=_("Dimmers load the neutral wire and can upset a small set."),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
)
CHILDREN = Question(
    key="children",
    kind=Kind.CHOICE,
    label=_("Can children reach the set or its cables?"),
    why=_("Then fences and cable covers are part of the job."),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
)

# ---- a building in an emergency -----------------------------------------------------------

FACILITY = Question(
    key="facility",
    kind=Kind.CHOICE,
    label=_("What kind of building is it?"),
    why=_("Life safety comes first, and some buildings need a person to plan the hook-up."),
    missing=_("Choose the kind of building, or choose Not sure."),
    choices=(
        Choice("medical", _("Hospital, clinic or nursing home")),
        Choice("rescue", _("Fire, police or emergency center")),
        Choice("water", _("Water or sewage plant")),
        Choice("shelter", _("Shelter, school or church")),
        Choice("communications", _("Radio, phone or data")),
        Choice("store", _("Store, office or workshop")),
        Choice("home", _("Home or farm")),
    ),
)
LIFE_SUPPORT = Question(
    key="life_support",
    kind=Kind.CHOICE,
    label=_("Does anybody's life depend on this power?"),
    help=_("For example oxygen, dialysis, fire pumps, exit lights or elevators."),
    why=_("Then a person checks everything before you get a quote."),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
)
STANDING_SET = Question(
    key="standing_set",
    kind=Kind.CHOICE,
    label=_("Is there a generator in the building already?"),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
    applies=application_is("emergency"),
)
