"""How the desk writes codes, times and figures."""

from __future__ import annotations

from datetime import datetime, timedelta

REASONS = {
    "supply_unsure": "Voltage not settled",
    "voltage_mismatch": "Plate and voltage disagree",
    "frequency_mismatch": "Plate is not 60 Hz",
    "phase_mismatch": "Phases disagree",
    "two_voltages": "Two voltages on one site",
    "high_leg": "120 V beside a high leg",
    "nameplate_contradiction": "Nameplate contradicts itself",
    "nameplate_incomplete": "Nameplate incomplete",
    "nameplate_not_understood": "Nameplate not understood",
    "code_letter_open": "Code letter has no upper end",
    "locked_rotor_outlier": "Locked-rotor amps out of line",
    "start_assumed": "Starting method assumed",
    "altitude_unsure": "Altitude not sure",
    "ambient_unsure": "Temperature not sure",
    "outside_table": "Outside a table's range",
    "light_load": "Set lightly loaded",
    "load_unsure": "Load not sure",
    "life_safety": "Life safety",
    "backfeed": "Backfeed: no transfer equipment",
    "express_request": "Express request: call back",
    "noise_limit": "Noise limit",
    "no_set_fits": "No set fits",
    "no_fit": "No set fits",
    "order_proposed": "Order of starting proposed",
    "starts_per_hour": "Too many starts an hour",
    "twelve_months": "A year on one site",
    "tank_threshold": "Tank over a threshold",
    "towing_limit": "Too heavy to tow",
    "transformer_needed": "Transformer needed",
    "over_size": "Over the size for one person",
    "dates_unsure": "Days not known",
    "place_unsure": "Place not known",
    "float_wiring": "Float switch wiring",
    "customer_note": "The customer wrote",
    "standing_set": "Set of its own in the building",
    "neutral_harmonics": "Neutral and harmonics",
}


# Answers under the names a rep calls them by; the customer reads the whole question.
SHORT = {
    "application": "Powers",
    "supply": "Voltage",
    "plugs": "Plugs",
    "feeds_building": "Feeds a building",
    "transfer_equipment": "Transfer switch",
    "zip": "ZIP",
    "directions": "Stands at",
    "altitude": "Altitude",
    "ambient": "Hottest",
    "delivery": "Brought by",
    "vehicle_rating": "Vehicle may tow",
    "hitch_class": "Hitch",
    "brake_controller": "Brake controller",
    "hire_start": "First day",
    "hire_end": "Last day",
    "hours_per_day": "Runs a day",
    "refuel_every": "Refueled every",
    "lead_length": "Cable way",
    "crossing": "Cables crossed",
    "public_nearby": "People near",
    "noise_distance": "Nearest people",
    "noise_limit": "Noise limit",
    "openings_distance": "Nearest opening",
    "redundancy": "One set spare",
    "float_starts_set": "Float starts",
    "inflow": "Inflow",
    "pump_rate": "Pump rate",
    "active_volume": "Pit volume",
    "lift": "Lift",
    "work_from": "Work from",
    "work_until": "Work until",
    "overnight": "Heat or cooling overnight",
    "lights_until": "Lights until",
    "dimmers": "Dimmers",
    "children": "Children near",
    "facility": "Building",
    "life_support": "Lives depend on it",
    "standing_set": "Set of its own",
    "contact_name": "Name",
    "company": "Company",
    "email": "Email",
    "phone": "Phone",
    "site_contact": "On site",
    "note": "Note",
    "nameplate": "Nameplate",
    "quantity": "Pieces",
    "starting": "Started",
    "float_switch": "Float switch",
    "restarts_itself": "Starts by itself",
    "starts_after": "Only after",
    "never_with": "Never with",
}


def short(key: str, label: object) -> str:
    """An answer's name on the desk; the whole question where it has no short one."""
    return SHORT.get(key) or str(label)


def reason_title(code: str) -> str:
    """A finding's code as a title; a code without one is still readable."""
    return REASONS.get(code) or code.replace("_", " ").capitalize()


def full_name(first: str | None, last: str | None, username: str | None) -> str:
    """The name of a person, as the record writes it; nothing where there is nobody."""
    return f"{first or ''} {last or ''}".strip() or username or ""


def span(length: timedelta) -> str:
    """A length of time in its largest unit that says enough: 12 min, 3 h 05, 4 days."""
    minutes = int(abs(length.total_seconds()) // 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        return f"{minutes // 60} h {minutes % 60:02d}"
    return f"{minutes // (24 * 60)} days" if minutes >= 48 * 60 else "1 day"


def against_promise(promised_at: datetime, now: datetime) -> str:
    """What is left of the promised time, or how late it is."""
    left = promised_at - now
    return f"{span(left)} left" if left > timedelta() else f"{span(left)} late"
