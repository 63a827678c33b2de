"""Questions about one row of equipment, by its kind."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from intake.questions.power import YES_NO
from intake.questions.question import Choice, Kind, Question, Words
from intake.questions.typical import typical_of

MOTORS = ("pump", "motor", "compressor", "hvac")
LARGEST_QUANTITY = 500
MOST_ROWS = 1000


@dataclass(frozen=True, slots=True)
class EquipmentKind:
    """A kind of load as the customer sees it: name, what it covers, and a plate as example."""

    code: str
    label: Words
    covers: Words
    example: str


EQUIPMENT_KINDS: dict[str, EquipmentKind] = {
    kind.code: kind
    for kind in (
        EquipmentKind(
            "pump",
            _("Pump"),
            _("Sump, trash, well or booster pump"),
            "15 hp 460 V 3 ph 60 Hz 21 A code G",
        ),
        EquipmentKind(
            "lamp",
            _("Lights"),
            _("Flood lights, strings, light towers"),
            "1000 W metal halide 480 V 1 ph",
        ),
        EquipmentKind(
            "panel", _("Panel"), _("A trailer's or building's panel"), "100 A 120/240 V 1 ph"
        ),
        EquipmentKind(
            "hvac",
            _("Air conditioner"),
            _("Cooling or a heat pump"),
            "3 ton 230 V 1 ph 60 Hz MCA 22 A",
        ),
        EquipmentKind(
            "heater", _("Heater"), _("Electric heat, water heater, kitchen"), "10 kW 240 V 1 ph"
        ),
        EquipmentKind(
            "motor",
            _("Motor"),
            _("Fan, conveyor, mixer, saw"),
            "5 hp 230/460 V 3 ph 60 Hz 13.2/6.6 A code J",
        ),
        EquipmentKind(
            "compressor", _("Compressor"), _("Air or refrigeration"), "7.5 hp 230 V 3 ph 60 Hz 22 A"
        ),
        EquipmentKind("welder", _("Welder"), _("Stick, wire or plasma"), "230 V 1 ph 50 A"),
        EquipmentKind(
            "electronics", _("Electronics"), _("Computers, sound, screens"), "1500 W 120 V 1 ph"
        ),
        EquipmentKind(
            "charger", _("Charger"), _("Batteries, lifts, vehicles"), "7.2 kW 240 V 1 ph"
        ),
        EquipmentKind(
            "ups", _("Battery backup (UPS)"), _("Keeps computers alive"), "10 kVA 208 V 3 ph"
        ),
        EquipmentKind(
            "transformer",
            _("Transformer"),
            _("Steps the voltage up or down"),
            "30 kVA 3 ph 480 V - 208Y/120",
        ),
        EquipmentKind("other", _("Something else"), _("Anything with a plate"), "20 A 120 V 1 ph"),
    )
}

NAME = Question(
    key="name",
    kind=Kind.TEXT,
    label=_("What do you call it?"),
    missing=_("Enter a name for it."),
    not_sure=False,
    longest=120,
)
QUANTITY = Question(
    key="quantity",
    kind=Kind.WHOLE,
    label=_("How many of them?"),
    missing=_("Enter how many there are."),
    not_sure=False,
)
NAMEPLATE = Question(
    key="nameplate",
    kind=Kind.NAMEPLATE,
    label=_("What does its nameplate say?"),
    help=_("Type it as it is stamped; order does not matter."),
    why=_("Horsepower or watts, volts, phase and amps decide the size of the set."),
    missing=_("Type what the nameplate says, pick typical equipment, or choose Not sure."),
    figure="nameplate",
    longest=500,
)
FLOAT_SWITCH = Question(
    key="float_switch",
    kind=Kind.CHOICE,
    label=_("Does a float switch start it?"),
    why=_("Then it can start at any moment, on top of everything else."),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
)
RESTARTS_ITSELF = Question(
    key="restarts_itself",
    kind=Kind.CHOICE,
    label=_("Does it start by itself?"),
    help=_("For example by a thermostat or a pressure switch."),
    why=_("Then it can start at any moment, on top of everything else."),
    missing=_("Choose Yes or No, or choose Not sure."),
    choices=YES_NO,
)
STARTING = Question(
    key="starting",
    kind=Kind.CHOICE,
    label=_("How is it started?"),
    why=_("A motor can draw six times its running current while it starts."),
    missing=_("Choose how it is started, or choose Not sure."),
    choices=(
        Choice("across_the_line", _("Straight on"), _("A plain switch or contactor")),
        Choice("soft_starter", _("Soft starter"), _("A box that ramps it up")),
        Choice("vfd", _("Drive"), _("A variable-frequency drive (VFD) sets its speed")),
        Choice("wye_delta", _("Wye-delta starter"), rare=True),
        Choice("part_winding", _("Part-winding starter"), rare=True),
        Choice("autotransformer_80", _("Autotransformer, 80 % tap"), rare=True),
        Choice("autotransformer_65", _("Autotransformer, 65 % tap"), rare=True),
        Choice("autotransformer_50", _("Autotransformer, 50 % tap"), rare=True),
    ),
)
DEMAND_PERCENT = Question(
    key="demand_percent",
    kind=Kind.CHOICE,
    label=_("How much of the panel is used at the same time?"),
    help=_("A panel is seldom used to the last ampere."),
    why=_("It decides whether the set fits what really runs, or stands half idle."),
    missing=_("Choose how much is used, or choose Not sure."),
    choices=(
        Choice("100", _("All of it")),
        Choice("80", _("Most of it, about four fifths")),
        Choice("60", _("More than half, about three fifths")),
        Choice("40", _("Less than half, about two fifths")),
    ),
)
STARTS_AFTER = Question(
    key="starts_after",
    kind=Kind.PICK,
    label=_("It starts only after"),
    missing="",
    optional=True,
    not_sure=False,
    longest=120,
    fixed=False,
)
NEVER_WITH = Question(
    key="never_with",
    kind=Kind.PICK,
    label=_("It never runs together with"),
    missing="",
    optional=True,
    not_sure=False,
    longest=120,
    fixed=False,
)
TYPICAL = Question(
    key="typical_code",
    kind=Kind.CHOICE,
    label=_("No plate to read? Pick typical equipment"),
    help=_("We size with its usual figures and mark them as typical."),
    missing="",
    optional=True,
    not_sure=False,
    fixed=False,
)


def equipment_questions(kind: str, others: tuple[str, ...] = ()) -> tuple[Question, ...]:
    """What is asked about a row of that kind, in order; ``others`` are the other rows' names."""
    typical = _typical(kind, get_language() or "")
    return (
        NAMEPLATE, *typical, QUANTITY, *running_questions(kind), NAME, *_order(others),
    )  # fmt: skip


def running_questions(kind: str) -> tuple[Question, ...]:
    """Those of them about how it starts and how much of it is used."""
    starts = (STARTING,) if kind in MOTORS else ()
    automatic = (FLOAT_SWITCH,) if kind == "pump" else (RESTARTS_ITSELF,) if kind in MOTORS else ()
    panel = (DEMAND_PERCENT,) if kind == "panel" else ()
    return (*panel, *automatic, *starts)


@lru_cache(maxsize=64)
def _typical(kind: str, language: str) -> tuple[Question, ...]:
    """The question of a kind and language, with typical equipment as its choices."""
    choices = tuple(Choice(typical.code, typical.name) for typical in typical_of(kind))
    return (replace(TYPICAL, choices=choices, fixed=True),) if choices else ()


def _order(others: tuple[str, ...]) -> tuple[Question, ...]:
    """Rules between rows, once there is another row to name."""
    if not others:
        return ()
    choices = tuple(Choice(name, name) for name in others)
    return (replace(STARTS_AFTER, choices=choices), replace(NEVER_WITH, choices=choices))


EQUIPMENT_QUESTIONS = (
    NAME,
    QUANTITY,
    NAMEPLATE,
    TYPICAL,
    FLOAT_SWITCH,
    RESTARTS_ITSELF,
    STARTING,
    DEMAND_PERCENT,
    STARTS_AFTER,
    NEVER_WITH,
)
