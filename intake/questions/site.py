"""Questions about the place and the time of the hire."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions.answers import Answers
from intake.questions.applications import application_is
from intake.questions.power import YES_NO
from intake.questions.question import Choice, Kind, Measure, Question

ZIP = Question(
    key="zip",
    kind=Kind.ZIP,
    label=_("What is the ZIP code of the site?"),
    help=_("Five digits; the ZIP code of the nearest town will do."),
    why=_("It tells us the delivery distance, the time zone and how high and hot it gets."),
    missing=_("Enter the ZIP code of the site, or choose Not sure."),
    path="site.zip",
    autocomplete="shipping postal-code",
)
DIRECTIONS = Question(
    key="directions",
    kind=Kind.LONG_TEXT,
    label=_("Where on the site will it stand?"),
    help=_("An address, a gate, or directions for the driver."),
    missing=_("Enter where it will stand."),
    optional=True,
    not_sure=False,
    longest=1000,
    autocomplete="shipping street-address",
)
ALTITUDE = Question(
    key="altitude",
    kind=Kind.QUANTITY,
    label=_("How high above sea level is the site?"),
    help=_("A guess to the nearest thousand feet is good enough."),
    why=_("Engines lose power in thin air."),
    missing=_("Enter the height, or choose Not sure."),
    measure=Measure(_("ft"), "ft", "m", -100.0, 5500.0),
    path="site.altitude",
)
AMBIENT = Question(
    key="ambient",
    kind=Kind.QUANTITY,
    label=_("How hot can it get while the set is there?"),
    help=_("The hottest afternoon you expect."),
    why=_("Engines and cables lose capacity in the heat."),
    missing=_("Enter the temperature, or choose Not sure."),
    measure=Measure(_("°F"), "degF", "degC", -40.0, 60.0),
    path="site.ambient",
)
DELIVERY = Question(
    key="delivery",
    kind=Kind.CHOICE,
    label=_("Who brings the set to the site?"),
    missing=_("Choose who brings it, or choose Not sure."),
    choices=(
        Choice("deliver", _("You deliver it")),
        Choice("tow", _("We tow it ourselves")),
    ),
)
HIRE_START = Question(
    key="hire_start",
    kind=Kind.DATE,
    label=_("First day you need it"),
    missing=_("Enter the first day, or choose Not sure."),
    path="hire.start",
)
HIRE_END = Question(
    key="hire_end",
    kind=Kind.DATE,
    label=_("Last day you need it"),
    help=_("Your best guess; you can extend later."),
    missing=_("Enter the last day, or choose Not sure."),
    path="hire.end",
)
HOURS_PER_DAY = Question(
    key="hours_per_day",
    kind=Kind.QUANTITY,
    label=_("How many hours a day does it run?"),
    help=_("24 for a pump or a shelter that never stops."),
    why=_("It decides the fuel and how often the tank is filled."),
    missing=_("Enter the hours a day, or choose Not sure."),
    measure=Measure(_("hours"), "h", "h", 0.5, 24.0),
    path="site.hours_per_day",
)
REFUEL_EVERY = Question(
    key="refuel_every",
    kind=Kind.QUANTITY,
    label=_("How often can somebody refuel it?"),
    help=_("24 for once a day, 72 for a long weekend."),
    missing=_("Enter the hours between two fillings, or choose Not sure."),
    measure=Measure(_("hours"), "h", "h", 1.0, 2000.0),
    path="site.refuel_every",
)
LEAD_LENGTH = Question(
    key="lead_length",
    kind=Kind.QUANTITY,
    label=_("How far is the set from what it powers?"),
    help=_("Measured along the way the cables will lie."),
    why=_("Long cables need to be thicker."),
    missing=_("Enter the distance, or choose Not sure."),
    measure=Measure(_("ft"), "ft", "m", 0.0, 1000.0),
    path="site.lead_length",
)
CROSSING = Question(
    key="crossing",
    kind=Kind.CHOICE,
    label=_("Do people or vehicles cross the cables?"),
    why=_("Then ramps go over the cables."),
    missing=_("Choose Yes or No, or choose Not sure."),
    path="site.crossing",
    choices=YES_NO,
)
PUBLIC_NEARBY = Question(
    key="public_nearby",
    kind=Kind.CHOICE,
    label=_("Are other people near, such as neighbors, visitors or children?"),
    help=_("Near means within about 300 ft."),
    why=_("Then noise, fences and covers for the cables matter."),
    missing=_("Choose Yes or No, or choose Not sure."),
    path="site.public_nearby",
    choices=YES_NO,
)
NOISE_LIMIT = Question(
    key="noise_limit",
    kind=Kind.QUANTITY,
    label=_("Is there a limit on noise?"),
    help=_("From the permit or the town, in decibels (dBA)."),
    missing=_("Enter the limit, or choose Not sure."),
    measure=Measure(_("dBA"), "dBA", "dBA", 30.0, 110.0),
    optional=True,
    path="site.noise_limit",
)
NOISE_DISTANCE = Question(
    key="noise_distance",
    kind=Kind.QUANTITY,
    label=_("How far from the set do the nearest people stay?"),
    missing=_("Enter the distance, or choose Not sure."),
    measure=Measure(_("ft"), "ft", "m", 0.5, 5000.0),
    optional=True,
    path="site.noise_distance",
)
OPENINGS_DISTANCE = Question(
    key="openings_distance",
    kind=Kind.QUANTITY,
    label=_("How far is the nearest door, window or air intake?"),
    why=_("Exhaust gas kills indoors without any smell."),
    missing=_("Enter the distance, or choose Not sure."),
    measure=Measure(_("ft"), "ft", "m", 0.0, 3000.0),
    optional=True,
    path="site.openings_distance",
)


def tows(answers: Answers) -> bool:
    """The customer fetches the set."""
    return bool(answers.value("delivery") == "tow")


VEHICLE_RATING = Question(
    key="vehicle_rating",
    kind=Kind.QUANTITY,
    label=_("How much may your vehicle tow?"),
    help=_("From the sticker in the driver's door or the vehicle's manual."),
    missing=_("Enter the towing limit, or choose Not sure."),
    measure=Measure(_("lb"), "lb", "kg", 100.0, 40_000.0),
    path="site.towing.vehicle_rating",
)
HITCH_CLASS = Question(
    key="hitch_class",
    kind=Kind.CHOICE,
    label=_("Which class is your hitch?"),
    help=_("The class is stamped on the hitch receiver."),
    missing=_("Choose the class, or choose Not sure."),
    path="site.towing.hitch_class",
    choices=tuple(
        Choice(str(n), label)
        for n, label in enumerate(
            (_("Class 1"), _("Class 2"), _("Class 3"), _("Class 4"), _("Class 5")), start=1
        )
    ),
)
BRAKE_CONTROLLER = Question(
    key="brake_controller",
    kind=Kind.CHOICE,
    label=_("Does your vehicle have a trailer brake controller?"),
    missing=_("Choose Yes or No, or choose Not sure."),
    path="site.towing.brake_controller",
    choices=YES_NO,
)
REDUNDANCY = Question(
    key="redundancy",
    kind=Kind.CHOICE,
    label=_("Must the power stay on if one set fails?"),
    help=_("Then one set more than needed stands ready."),
    missing=_("Choose Yes or No, or choose Not sure."),
    path="site.redundancy",
    choices=YES_NO,
    applies=application_is("emergency"),
)
