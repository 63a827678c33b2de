"""Chapter 1: what a plate says twice must agree; what it leaves open is said."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.motor_tables import KW_PER_HP, full_load_amps, kva_of, phase_root
from sizing.piece import is_cooling_unit, locked_rotor_at
from sizing.plate import Nameplate
from sizing.plate_shown import SHOWN
from sizing.supply_fit import LOAD_CLASS, NEVER, Fit, phases_assumed
from sizing.tables import source_line, table

if TYPE_CHECKING:
    from sizing.requirement import Load

LOW_HP = 3.0
POLES = (2, 4, 6, 8, 10, 12)
STANDS_IN = ("hp", "watts", "kva", "amps", "lamp_type", "volts", "system")


def plate_findings(load: Load, index: int, fit: Fit) -> list[Finding]:
    """Return the doubts of one plate: contradictions, gaps, and what was not understood.

    Parameters
    ----------
    load : Load
        One row of the requirement [-]
    index : int
        Place of the row [-]
    fit : Fit
        How the plate suits the supply [-]

    Returns
    -------
    list of Finding
        Contradictions name both figures and the band they missed [-]

    Raises
    ------
    TableRefused
        The table of bands is damaged.

    Source: nameplate_bands.
    """
    checks = _MOTOR if LOAD_CLASS[load.kind] == "motor" else _OTHER
    if is_cooling_unit(load.kind, load.nameplate):
        checks = _COOLING
    found = [finding for check in checks for finding in check(load, fit)]
    return [_at(index, finding) for finding in (*found, *_gaps(load, fit))]


def _at(index: int, finding: Finding) -> Finding:
    return Finding(
        finding.code, finding.severity, f"loads[{index}].nameplate", finding.detail,
        finding.question, finding.evidence,
    )  # fmt: skip


def _contradiction(
    load: Load, band: str, detail: str, question: str, evidence: Mapping[str, Any],
    severity: Severity = Severity.NEEDS_PERSON,
) -> Finding:  # fmt: skip
    row = table("nameplate_bands").row(band)
    told = f"{load.name}: {detail} (band {row['low']:g} to {row['high']:g})."
    source = source_line("nameplate_bands", band)
    return Finding(
        "nameplate_contradiction", severity, "", told, f"{load.name}: {question}",
        {**evidence, "band_low": row["low"], "band_high": row["high"], "source": source},
    )  # fmt: skip


def _outside(band: str, ratio: float) -> bool:
    row = table("nameplate_bands").row(band)
    return not row["low"] <= ratio <= row["high"]


def amps_band(hp: float) -> str:
    """Return the band for stamped over tabulated amperes: a wider one for small motors."""
    return "amps_over_table_small" if hp <= LOW_HP else "amps_over_table"


def least_share(hp: float) -> float:
    """Return the lowest believable share of the table's full-load current [-]."""
    return float(table("nameplate_bands").at("low", amps_band(hp)))


def rated_hp(plate: Nameplate) -> float | None:
    """Return the stamped shaft power [hp]."""
    if plate.hp is not None or plate.shaft_kw is None:
        return plate.hp
    return plate.shaft_kw / KW_PER_HP


def _stamped_pairs(plate: Nameplate) -> list[tuple[float, float]]:
    """Volts and amperes that belong together."""
    if len(plate.amps) == len(plate.volts):
        return list(zip(plate.volts, plate.amps, strict=True))
    return [(max(plate.volts), a) for a in plate.amps] if plate.volts else []


def _amps_against_hp(load: Load, fit: Fit) -> Iterator[Finding]:
    """Stamped amperes over the code's full-load current at the stamped volts."""
    hp, phases = rated_hp(load.nameplate), fit.phases
    if hp is None or not load.nameplate.amps:
        return
    band = amps_band(hp)
    for volts, amps in _stamped_pairs(load.nameplate):
        try:
            expected = full_load_amps(hp, phases, volts)
        except OutsideTable:
            return
        if _outside(band, amps / expected):
            yield _amps_contradiction(load, band, hp, volts, amps, expected, phases)
            return


def _amps_contradiction(
    load: Load, band: str, hp: float, volts: float, amps: float, expected: float, phases: int
) -> Finding:
    size = f"{hp:.3g} hp at {volts:g} V, {phases} phase"
    detail = f"{amps:g} A stamped, {size} draws about {expected:.3g} A, ratio {amps / expected:.2f}"
    question = f"the plate gives {amps:g} A for {size}: which of amps, volts and hp is right?"
    evidence = {
        "stamped_amps": amps, "expected_amps": round(expected, 2), "hp": hp, "volts": volts,
        "fits_volts": volts_that_fit(hp, phases, amps, band),
    }  # fmt: skip
    return _contradiction(load, band, detail, question, evidence)


def volts_that_fit(hp: float, phases: int, amps: float, band: str) -> tuple[float, ...]:
    """Return the usual motor voltages at which these amperes would agree with the size [V]."""
    usual = (115.0, 200.0, 208.0, 230.0) if phases == 1 else (200.0, 208.0, 230.0, 460.0, 575.0)
    return tuple(v for v in usual if not _outside(band, amps / full_load_amps(hp, phases, v)))


def _amps_against_volts(load: Load, fit: Fit) -> Iterator[Finding]:
    """Two windings of one machine have the same volts times amperes."""
    pairs = _stamped_pairs(load.nameplate)
    if len(pairs) < 2 or len(load.nameplate.amps) != len(load.nameplate.volts):
        return
    (volts, amps), (other_volts, other_amps) = pairs[0], pairs[-1]
    ratio = volts * amps / (other_volts * other_amps)
    if _outside("winding_kva_ratio", ratio):
        detail = (
            f"{amps:g} A at {volts:g} V and {other_amps:g} A at {other_volts:g} V are not the "
            f"same power, ratio {ratio:.2f}"
        )
        evidence = {"volts": (volts, other_volts), "amps": (amps, other_amps)}
        question = "which amps does the plate give for each voltage?"
        yield _contradiction(load, "winding_kva_ratio", detail, question, evidence)


def _several_amps(load: Load, fit: Fit) -> Iterator[Finding]:
    """More amperes than voltages: which are the running ones?"""
    plate = load.nameplate
    if len(plate.volts) < len(plate.amps) and max(plate.amps) > 1.05 * min(plate.amps):
        stamped = " and ".join(f"{a:g} A" for a in plate.amps)
        detail = f"{stamped} for {len(plate.volts) or 'no'} voltage; the largest is counted"
        evidence = {"amps": plate.amps, "volts": plate.volts}
        question = f"which of {stamped} are the full-load amps at the voltage used?"
        yield _contradiction(load, "winding_kva_ratio", detail, question, evidence)


def _kw_against_hp(load: Load, fit: Fit) -> Iterator[Finding]:
    plate = load.nameplate
    if plate.hp is None or plate.shaft_kw is None:
        return
    ratio = plate.shaft_kw / (plate.hp * KW_PER_HP)
    if _outside("kw_over_hp", ratio):
        detail = (
            f"{plate.hp:g} hp is {plate.hp * KW_PER_HP:.3g} kW, {plate.shaft_kw:g} kW is stamped, "
            f"ratio {ratio:.2f}"
        )
        evidence = {"hp": plate.hp, "shaft_kw": plate.shaft_kw}
        question = f"is it {plate.hp:g} hp or {plate.shaft_kw:g} kW?"
        yield _contradiction(load, "kw_over_hp", detail, question, evidence)


def _full_set(load: Load, fit: Fit) -> Iterator[Finding]:
    """Volts, amperes, power factor and efficiency must give the shaft power."""
    plate, hp = load.nameplate, rated_hp(load.nameplate)
    pairs = _stamped_pairs(plate)
    if hp is None or not pairs or plate.power_factor is None or plate.efficiency is None:
        return
    volts, amps = pairs[-1]
    out_kw = kva_of(amps, volts, fit.phases) * plate.power_factor * plate.efficiency
    ratio = out_kw / (hp * KW_PER_HP)
    if _outside("shaft_power_ratio", ratio):
        detail = (
            f"{volts:g} V, {amps:g} A, power factor {plate.power_factor:g} and efficiency "
            f"{plate.efficiency:g} give {out_kw:.3g} kW, {hp:.3g} hp is {hp * KW_PER_HP:.3g} kW, "
            f"ratio {ratio:.2f}"
        )
        evidence = {"computed_kw": round(out_kw, 2), "stamped_kw": round(hp * KW_PER_HP, 2)}
        question = "which of amps, power factor, efficiency and hp is misread?"
        yield _contradiction(load, "shaft_power_ratio", detail, question, evidence)


def _letter_against_locked_rotor(load: Load, fit: Fit) -> Iterator[Finding]:
    """A code letter's band against the kVA per hp that the locked-rotor amperes give."""
    plate, hp = load.nameplate, rated_hp(load.nameplate)
    used = fit.rated_volts or max(plate.volts, default=0.0)
    stamped = locked_rotor_at(plate, used)
    if stamped is None or hp is None or not used:
        return
    locked, volts = stamped
    kva_per_hp = kva_of(locked, volts, fit.phases) / hp
    evidence = {"locked_rotor_amps": locked, "kva_per_hp": round(kva_per_hp, 2), "hp": hp}
    if _outside("locked_rotor_kva_per_hp", kva_per_hp):
        yield _outlier(load, locked, volts, kva_per_hp, hp, evidence)
    elif plate.code_letter and _outside_letter(plate.code_letter, kva_per_hp):
        row = table("code_letters").row(plate.code_letter)
        detail = (
            f"{locked:g} A locked rotor is {kva_per_hp:.2f} kVA per hp, code {plate.code_letter} "
            f"is {row['kva_per_hp_from']:g} to {row['kva_per_hp_to'] or 'any'}; the larger counts"
        )
        question = (
            f"is the code letter {plate.code_letter}, and the locked-rotor amps {locked:g} A?"
        )
        yield _contradiction(
            load, "locked_rotor_over_letter", detail, question, evidence, Severity.WARNING
        )


def _outlier(
    load: Load, locked: float, volts: float, kva_per_hp: float, hp: float, evidence: dict[str, Any]
) -> Finding:
    row = table("nameplate_bands").row("locked_rotor_kva_per_hp")
    detail = (
        f"{load.name}: {locked:g} A locked rotor at {volts:g} V is {kva_per_hp:.2f} kVA per hp for "
        f"{hp:.3g} hp; motors lie between {row['low']:g} and {row['high']:g}."
    )
    question = f"{load.name}: at which voltage are the locked-rotor amps {locked:g} A stamped?"
    return Finding("locked_rotor_outlier", Severity.NEEDS_PERSON, "", detail, question, evidence)


def _outside_letter(letter: str, kva_per_hp: float) -> bool:
    row, band = table("code_letters").row(letter), table("nameplate_bands")
    slack = band.row("locked_rotor_over_letter")
    low = row["kva_per_hp_from"] * slack["low"]
    high = (row["kva_per_hp_to"] or float("inf")) * slack["high"]
    return not low <= kva_per_hp <= high


def _locked_over_running(load: Load, fit: Fit) -> Iterator[Finding]:
    plate = load.nameplate
    pairs = _stamped_pairs(plate)
    if plate.locked_rotor_amps is None or not pairs:
        return
    running = max(amps for _, amps in pairs)
    ratio = plate.locked_rotor_amps / running
    if _outside("locked_rotor_over_running", ratio):
        detail = (
            f"{plate.locked_rotor_amps:g} A locked rotor over {running:g} A running, "
            f"ratio {ratio:.1f}"
        )
        evidence = {"locked_rotor_amps": plate.locked_rotor_amps, "running_amps": running}
        question = "what are the locked-rotor amps (LRA) and the running amps on the plate?"
        yield _contradiction(load, "locked_rotor_over_running", detail, question, evidence)


def _speed_against_hertz(load: Load, fit: Fit) -> Iterator[Finding]:
    """A speed a believable slip under synchronous speed; 1425 and 2900 rpm are 50 Hz plates."""
    rpm = load.nameplate.rpm
    if rpm is None or fit.verdict == NEVER or LOAD_CLASS[load.kind] != "motor":
        return
    at_sixty, at_fifty = slip_percent(rpm, 60), slip_percent(rpm, 50)
    if _outside("slip_percent", at_sixty) and not _outside("slip_percent", at_fifty):
        detail = (
            f"{rpm:g} rpm is a slip of {at_sixty:.1f} % at 60 Hz and {at_fifty:.1f} % at 50 Hz: "
            "a 50 Hz plate"
        )
        question = "does the plate say 50 Hz or 60 Hz?"
        evidence = {"rpm": rpm, "stamped_hertz": load.nameplate.hertz}
        yield _contradiction(load, "slip_percent", detail, question, evidence)


def slip_percent(rpm: float, hertz: float) -> float:
    """Return the least slip under a synchronous speed 120 f / poles [%]; 100 above all of them."""
    speeds = [120 * hertz / poles for poles in POLES]
    return min((100 * (1 - rpm / n) for n in speeds if n >= rpm), default=100.0)


def _circuit_amps(load: Load, fit: Fit) -> Iterator[Finding]:
    """Circuit ampacity covers the running amperes, the protection covers the ampacity."""
    plate = load.nameplate
    running = max((amps for _, amps in _stamped_pairs(plate)), default=0.0)
    named = (
        ("running amps", running, "minimum circuit ampacity", plate.min_circuit_amps),
        (
            "minimum circuit ampacity", plate.min_circuit_amps or 0.0,
            "maximum overcurrent device", plate.max_overcurrent_amps,
        ),
    )  # fmt: skip
    for low_name, low, high_name, high in named:
        if high is not None and low and _outside("ampacity_order", high / low):
            detail = f"{high_name} {high:g} A is less than {low_name} {low:g} A"
            evidence = {"lower_amps": low, "upper_amps": high}
            question = f"what are the {low_name} and the {high_name} on the plate?"
            yield _contradiction(load, "ampacity_order", detail, question, evidence)


def _power_against_amps(load: Load, fit: Fit) -> Iterator[Finding]:
    """Stamped watts or kVA against volts times amperes of a load that is no motor."""
    plate, pairs = load.nameplate, _stamped_pairs(load.nameplate)
    if not pairs or load.kind in ("panel", "ups", "charger", "lamp"):
        return
    volts, amps = pairs[-1]
    product = phase_root(fit.phases) * volts * amps / 1000
    band = "watts_over_va_heater" if load.kind == "heater" else "watts_over_va"
    for unit, value in (("kW", (plate.watts or 0.0) / 1000), ("kVA", plate.kva or 0.0)):
        if value and _outside(band, value / product):
            detail = (
                f"{value:.3g} {unit} stamped, {volts:g} V x {amps:g} A is {product:.3g} kVA, "
                f"ratio {value / product:.2f}"
            )
            evidence = {"stamped": value, "unit": unit, "product_kva": round(product, 3)}
            question = f"which of {unit}, volts and amps is right?"
            yield _contradiction(load, band, detail, question, evidence)


def _gaps(load: Load, fit: Fit) -> Iterator[Finding]:
    plate = load.nameplate
    if load.kind == "panel" and load.demand_factor == 1.0 and (plate.amps or plate.kva):
        yield _panel_rating(load)
    if plate.typical:
        yield _typical(load, fit)
    if plate.not_understood:
        yield _not_understood(load, plate.not_understood)
    if plate.pieces and plate.pieces > 1 and load.kind != "lamp":
        detail = f"{load.name}: the plate text speaks of {plate.pieces} pieces; one is counted."
        question = f"{load.name}: how many are there? Give the number as the quantity."
        evidence = {"pieces": plate.pieces, "quantity": load.quantity}
        yield Finding(
            "nameplate_not_understood", Severity.NEEDS_PERSON, "", detail, question, evidence
        )
    if _phases_matter(load, fit):
        detail = f"{load.name}: the plate gives no phases; taken as {fit.phases}-phase."
        question = f"{load.name}: is it single-phase or three-phase?"
        evidence = {"assumed_phases": fit.phases}
        yield Finding("nameplate_incomplete", Severity.WARNING, "", detail, question, evidence)


def _panel_rating(load: Load) -> Finding:
    detail = f"{load.name}: the whole rating of the panel counts; what hangs on it may draw less."
    question = f"{load.name}: how much of the panel's rating is in use at the busiest time?"
    return Finding("panel_rating", Severity.NOTE, "", detail, question, {"demand_factor": 1.0})


def _typical(load: Load, fit: Fit) -> Finding:
    """No plate was read: a three-phase machine could be wound for any of several voltages."""
    severity = Severity.NEEDS_PERSON if fit.phases == 3 else Severity.WARNING
    piece = _stands_in(load.nameplate)
    detail = (
        f"{load.name}: no plate was read; a typical piece stands in: {piece}. The set is sized "
        "for these figures alone; the real one may ask for more."
    )
    question = f"{load.name}: what does its plate say, the voltage above all?"
    evidence = {"typical": piece}
    return Finding("typical_equipment", severity, "", detail, question, evidence)


def _stands_in(plate: Nameplate) -> str:
    """The typical piece in words: its text, else its figures one by one."""
    figures = ((name, getattr(plate, name)) for name in STANDS_IN)
    listed = ", ".join(SHOWN[name][1](value) for name, value in figures if value)
    phases = f", {plate.phases} ph" if plate.phases else ""
    return plate.text or f"{listed}{phases}"


def _not_understood(load: Load, words: tuple[str, ...]) -> Finding:
    listed = ", ".join(f"“{word}”" for word in words)
    weighs = any(character.isdigit() for word in words for character in word)
    return Finding(
        "nameplate_not_understood", Severity.WARNING if weighs else Severity.NOTE, "",
        f"{load.name}: not understood on the plate: {listed}.",
        f"{load.name}: what does {listed} mean on the plate?", {"words": words},
    )  # fmt: skip


def _phases_matter(load: Load, fit: Fit) -> bool:
    """True where unstamped phases could change the answer: motors, and large loads."""
    if not phases_assumed(load.nameplate, load.kind):
        return False
    return LOAD_CLASS[load.kind] == "motor" or fit.phases == 3


_MOTOR = (
    _amps_against_hp, _amps_against_volts, _several_amps, _kw_against_hp, _full_set,
    _letter_against_locked_rotor, _locked_over_running, _speed_against_hertz, _circuit_amps,
)  # fmt: skip
_COOLING = (_amps_against_volts, _several_amps, _locked_over_running, _circuit_amps)
_OTHER = (_amps_against_volts, _several_amps, _power_against_amps, _circuit_amps)
