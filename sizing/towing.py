"""Chapter 11: whether the customer may tow the set, or it must be delivered."""

from __future__ import annotations

from typing import NamedTuple

from sizing.check import Check
from sizing.conversions import GALLON_L, POUND_KG
from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.requirement import Towing
from sizing.tables import source_line, table
from sizing.trace import Trace


class TowNeeds(NamedTuple):
    """What a trailer of a gross weight asks of the vehicle that tows it."""

    gross_kg: float
    hitch_class: int
    tongue_low_kg: float
    tongue_high_kg: float
    coupling_break_kg: float  # least strength in tension
    chains_break_kg: float  # both chains together
    brakes: bool
    breakaway: bool
    ball: str


def gross_mass_kg(set_: GeneratorSet) -> float:
    """Mass of a towed set with a full tank [kg]: dry mass + tank x density of diesel.

    Parameters
    ----------
    set_ : GeneratorSet
        Dry mass with its trailer [kg] and tank [L]

    Returns
    -------
    float
        Gross mass [kg]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: the set's record; density from memory (sizing/tables/fuel_rules.csv).
    """
    return set_.dry_mass_kg + set_.tank_l * float(table("fuel_rules").at("value", "diesel_density"))


def hitch_class(gross_kg: float) -> int:
    """Least hitch class for a gross trailer mass.

    Parameters
    ----------
    gross_kg : float
        Gross mass [kg], up to 4,535.9 (10,000 lb)

    Returns
    -------
    int
        Class 1 to 4 [-]

    Raises
    ------
    OutsideTable
        Above 10,000 lb: no class of ball hitch covers it.

    Examples
    --------
    >>> hitch_class(7500 * POUND_KG), hitch_class(3500 * POUND_KG)
    (4, 2)

    Source: SAE J684 (2005), classes by gross trailer weight.
    """
    gross_lb = gross_kg / POUND_KG
    rows = table("hitch_classes").rows
    fits = [row for row in rows if gross_lb <= row["gross_trailer_lb"] * (1 + 1e-12)]
    if not fits:
        raise OutsideTable("hitch_classes", gross_lb, 0.0, rows[-1]["gross_trailer_lb"], "lb")
    return int(fits[0]["class"])


def needs_brakes(gross_kg: float) -> bool:
    """Whether the trailer needs brakes on all wheels: over 3,000 lb gross.

    Parameters
    ----------
    gross_kg : float
        Gross mass [kg]

    Returns
    -------
    bool
        True over 3,000 lb [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    States differ (1,500 to 4,500 lb); some ask for brakes on lighter trailers.

    Examples
    --------
    >>> needs_brakes(3000 * POUND_KG), needs_brakes(3001 * POUND_KG)
    (False, True)

    Source: 49 CFR 393.42.
    """
    return gross_kg / POUND_KG > _rule("brakes_over") * (1 + 1e-12)


def _rule(name: str) -> float:
    return float(table("towing_rules").at("value", name))


def tow_needs(gross_kg: float) -> TowNeeds:
    """What towing a gross mass takes.

    Tongue 10 to 15 % of gross; coupling 3 x gross; chains together 1 x gross.

    Parameters
    ----------
    gross_kg : float
        Gross mass [kg], up to 10,000 lb

    Returns
    -------
    TowNeeds
        Class, tongue load [kg], strengths [kg], brakes [-]

    Raises
    ------
    OutsideTable
        Above 10,000 lb.

    Examples
    --------
    >>> needs = tow_needs(7500 * POUND_KG)
    >>> needs.hitch_class, round(needs.tongue_low_kg / POUND_KG), needs.brakes
    (4, 750, True)

    Source: SAE J684 (2005); 49 CFR 393.42, 393.43, 393.70(d); tongue share by common practice.
    """
    brakes, class_ = needs_brakes(gross_kg), hitch_class(gross_kg)
    return TowNeeds(
        gross_kg,
        class_,
        gross_kg * _rule("tongue_low") / 100,
        gross_kg * _rule("tongue_high") / 100,
        gross_kg * _rule("coupling_tension"),
        gross_kg,
        brakes,
        brakes,
        str(table("hitch_classes").at("ball", class_)),
    )


def towing_checks(
    set_: GeneratorSet, towing: Towing | None, trace: Trace | None = None
) -> tuple[tuple[Check, ...], list[Finding]]:
    """Checks of towing by the customer; they warn, since the set can be delivered instead.

    Parameters
    ----------
    set_ : GeneratorSet
        Its masses [kg]
    towing : Towing or None
        Vehicle rating [kg], hitch class and brake controller; ``None`` means delivery [-]
    trace : Trace or None
        Takes the line where given [-]

    Returns
    -------
    tuple of Check
        Vehicle rating [kg], hitch class [-], brakes [-]; not binding
    list of Finding
        ``towing_limit`` with what fails: deliver instead [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Notes
    -----
    What the customer did not say fails: nobody tows on a guess.

    Source: SAE J684 (2005); 49 CFR 393.42.
    """
    if towing is None:
        return (), []
    gross_kg = gross_mass_kg(set_)
    if trace:
        _write(trace, set_, gross_kg)
    try:
        needs = tow_needs(gross_kg)
    except OutsideTable as outside:
        return (), [_deliver(set_, [f"{outside}"], gross_kg)]
    checks = _checks(needs, towing)
    failed = [check.name.replace("_", " ") for check in checks if not check.passed]
    return checks, [_deliver(set_, failed, gross_kg)] if failed else []


def _checks(needs: TowNeeds, towing: Towing) -> tuple[Check, ...]:
    rating_kg, class_ = towing.vehicle_rating_kg or 0.0, towing.hitch_class or 0
    checks = [
        Check("vehicle_rating", needs.gross_kg, rating_kg, "kg", rating_kg >= needs.gross_kg,
              "rating of the towing vehicle", binding=False),
        Check("hitch_class", needs.hitch_class, class_, "-", class_ >= needs.hitch_class,
              source_line("hitch_classes"), binding=False),
    ]  # fmt: skip
    if needs.brakes:
        given = "yes" if towing.brake_controller else "no"
        source = str(table("towing_rules").at("source", "brakes_over"))
        checks.append(
            Check("brake_controller", "yes", given, "-", given == "yes", source, binding=False)
        )
    return tuple(checks)


def _deliver(set_: GeneratorSet, failed: list[str], gross_kg: float) -> Finding:
    detail = (
        f"{set_.code} weighs {gross_kg:.0f} kg ({gross_kg / POUND_KG:,.0f} lb) with fuel; "
        f"not enough for towing: {', '.join(failed)}. It is delivered instead."
    )
    ask = "What may the vehicle tow, which class is its hitch, and has it a brake controller?"
    return Finding(
        "towing_limit", Severity.WARNING, "site.towing", detail, ask, {"gross_kg": gross_kg}
    )


def _write(trace: Trace, set_: GeneratorSet, gross_kg: float) -> None:
    density = float(table("fuel_rules").at("value", "diesel_density"))
    line = f"Gross = {set_.dry_mass_kg:g} kg + {set_.tank_l:g} L x {density:g} kg/L"
    gallons = set_.tank_l / GALLON_L
    line = f"{line} = {gross_kg:.0f} kg = {gross_kg / POUND_KG:.0f} lb ({gallons:.0f} gal)"
    trace.add("around", line, source_line("hitch_classes"))
