"""The hook-up of a need as people read it: what the set connects to, how, and who may do it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.questions.caution_words import caution_words
from intake.questions.question import UNSURE
from quotes.models import PARTS_FROM_UTILITY, Need, Order, SiteConnection, TransferEquipment
from sizing.conversions import FOOT_M
from sizing.tables import table

Words = Any  # text, or text that is said in the language of the page
NO_TRANSFER_WORDS = gettext_lazy(
    "Nobody connects a set here: nothing parts the building from the utility. A licensed "
    "electrician puts transfer equipment in first."
)
ASK_TRANSFER = gettext_lazy(
    "Nobody connects a set here before it is known what parts the building from the utility. Ask."
)
# Common practice, no source.
THREE_PHASES = gettext_lazy(
    "Three phases: their order is compared with the building's by a meter before any load is "
    "connected; with two of them changed over, motors turn backwards."
)
# In the order in which who connects the set needs them; each under its name in connection_data.
NOTES: tuple[tuple[str, Words], ...] = (
    ("transfer_note", gettext_lazy("Transfer equipment, more")),
    ("route_note", gettext_lazy("Route of the leads")),
    ("connect_material_note", gettext_lazy("Material needed to connect")),
    ("main_breaker_a", gettext_lazy("Main breaker, amps")),
    ("phases_note", gettext_lazy("Special volts, hertz or phases")),
    ("service_note", gettext_lazy("Service entry")),
    ("load", gettext_lazy("Load as it was said")),
    ("must_run", gettext_lazy("What must run first")),
    ("access_note", gettext_lazy("Access")),
    ("ground_note", gettext_lazy("Where the set stands")),
    ("noise_note", gettext_lazy("Neighbours of noise and exhaust")),
    ("fuel_note", gettext_lazy("Fuel")),
    ("existing_set_note", gettext_lazy("Standby sets there")),
    ("hazards_note", gettext_lazy("Hazards on site")),
    ("sketch_note", gettext_lazy("Sketch in words")),
)


@dataclass(frozen=True, slots=True)
class HookUp:
    """What is known of a hook-up; ``asked`` names what is still to be asked."""

    transfer: str
    voltage: str
    connection: str
    leads: str
    lines: tuple[tuple[str, str], ...]
    who: tuple[str, ...]
    parted: bool
    asked: tuple[str, ...]

    @property
    def short(self) -> str:
        """What is known of the three that decide, in one line."""
        known = [one for one in (self.connection, self.leads) if one]
        return "; ".join((self.transfer, *(known or [_("hook-up not said")])))

    @property
    def landing(self) -> str:
        """How and how far away the leads are landed, as far as that was said."""
        connection = self.connection or _("connection not said")
        return f"{connection}; {self.leads or _('way of the leads not said')}"

    @property
    def rows(self) -> tuple[tuple[str, str], ...]:
        """What is connected to what, each fact under its name, as every page and paper has it."""
        decide = (
            (_("Utility"), self.transfer),
            (_("Voltage there"), self.voltage or _("not settled")),
            (_("Leads"), self.landing),
        )
        return (*decide, *self.lines)


def hook_up(need: Need) -> HookUp:
    """The hook-up as it is known now, in the language of the page."""
    known = need.connection_data
    transfer = str(TransferEquipment(need.transfer_equipment).label)
    voltage, connection, leads = _voltage(need), _connection(known), _leads(known)
    parted = need.transfer_equipment in PARTS_FROM_UTILITY
    unsaid = (
        (_("transfer equipment"), need.transfer_equipment == TransferEquipment.UNSURE),
        (_("the voltage"), not voltage),
        (_("how the leads are connected"), not connection),
        (_("the way of the leads"), not leads),
    )
    return HookUp(
        transfer=_("transfer equipment: {said}").format(said=transfer),
        voltage=voltage,
        connection=connection,
        leads=leads,
        lines=tuple(_lines(need, known)),
        who=who_may_connect(need),
        parted=parted,
        asked=tuple(name for name, missing in unsaid if missing),
    )


def _voltage(need: Need) -> str:
    """The system the building is wired for; empty till it is settled."""
    supply = _supply(need)
    return f"{supply} V" if supply else ""


def _supply(need: Need) -> str:
    supply = str(need.requirement.get("supply") or UNSURE)
    return "" if supply == UNSURE else supply


def _connection(known: Mapping[str, Any]) -> str:
    kind = known.get("connection")
    if kind in (None, "", SiteConnection.UNSURE) or kind not in SiteConnection.values:
        return ""
    return str(SiteConnection(kind).label)


def _leads(known: Mapping[str, Any]) -> str:
    """The way from the set to the connection, in feet, whichever unit it was given in."""
    if feet := known.get("lead_length_ft"):
        return _("{feet} ft of leads").format(feet=f"{Decimal(str(feet)).normalize():f}")
    if metres := known.get("lead_length_m"):
        return _("{feet} ft of leads").format(feet=round(float(metres) / FOOT_M))
    return ""


def _lines(need: Need, known: Mapping[str, Any]) -> list[tuple[str, str]]:
    found = [(str(label), str(known[name])) for name, label in NOTES if known.get(name)]
    second = " ".join(str(known.get(name) or "") for name in ("second_contact", "second_phone"))
    if second.strip():
        found.append((_("Second contact"), second.strip()))
    site = need.site
    if site is not None and site.assessed_by:
        on = f", {site.assessed_on}" if site.assessed_on else ""
        found.append((_("Assessed by"), f"{site.assessed_by}{on}"))
    return found


def who_may_connect(need: Need) -> tuple[str, ...]:
    """Who may connect a set there; nobody, where it could feed back into the street."""
    if need.transfer_equipment == TransferEquipment.NONE:
        return (str(NO_TRANSFER_WORDS),)
    first = () if need.transfer_equipment in PARTS_FROM_UTILITY else (str(ASK_TRANSFER),)
    single_pole = need.connection_data.get("connection") == SiteConnection.CAM
    more = (caution_words("cam_lock"),) if single_pole else ()
    supply = _supply(need)
    if supply and table("supply_systems").at("phases", supply) == 3:
        more = (*more, str(THREE_PHASES))
    return (*first, who_connects(), *more)


def who_connects() -> str:
    """Who makes and checks the connections. Source: NEC 2023, 90.4, as the cautions cite it."""
    return caution_words("local_codes")


def hook_up_of_order(order: Order) -> dict[str, Any]:
    """The hook-up an order goes to, where its request was made for a need; else nothing."""
    need = Need.objects.select_related("site").filter(request=order.request_id).first()
    return {"need": need, "hook_up": hook_up(need)} if need is not None else {}
