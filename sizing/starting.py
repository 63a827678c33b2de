"""Chapter 3: what a load asks for in the moment it starts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.motor_tables import kva_of, locked_rotor_kva_of_table, phase_root
from sizing.piece import defaults_row, is_cooling_unit, locked_rotor_at
from sizing.plate import LoadDemand, Nameplate
from sizing.tables import source_line, table
from sizing.trace import Trace

ACROSS = "across_the_line"
THREE_PHASE_ONLY = frozenset(
    ("wye_delta", "autotransformer_50", "autotransformer_65", "autotransformer_80",
     "part_winding", "vfd")
)  # fmt: skip
DISCHARGE_LAMPS = frozenset(("metal halide", "high pressure sodium", "mercury vapor"))


@dataclass(frozen=True, slots=True)
class StartDemand:
    """Starting demand of one piece: apparent and real power on the line and their ratio.

    ``basis`` is ``code_letter``, ``locked_rotor_amps``, ``table`` (published largest by size, or
    the method's own limit), ``inrush`` (a multiple of running kVA) or ``none``.
    """

    index: int
    name: str
    quantity: int
    start_kva: float
    start_kw: float
    start_power_factor: float
    basis: str
    method: str


@dataclass(slots=True)
class _Start:
    """One start as it is worked out: what is known, and where lines and doubts are written."""

    demand: LoadDemand
    plate: Nameplate
    trace: Trace | None
    findings: list[Finding]

    @property
    def volts(self) -> float:
        """Voltage at the load's terminals [V]: the stamped one where a transformer feeds it."""
        if self.demand.via == "transformer":
            return max(self.plate.volts, default=self.demand.volts)
        return self.demand.volts

    def note(self, line: str, source: str) -> None:
        """Write one line of the worked sheet."""
        if self.trace is not None:
            self.trace.add("starting", f"{self.demand.name}: {line}", source)

    def doubt(self, code: str, severity: Severity, detail: str, question: str) -> None:
        """Keep a finding about this load's plate."""
        name, subject = self.demand.name, f"loads[{self.demand.index}].nameplate"
        asked = f"{name}: {question}" if question else ""
        self.findings.append(Finding(code, severity, subject, f"{name}: {detail}", asked))


def start_demand(
    demand: LoadDemand, plate: Nameplate, trace: Trace | None = None
) -> tuple[StartDemand, list[Finding]]:
    """Return what one piece asks of the line when it starts, and the doubts about it.

    Parameters
    ----------
    demand : LoadDemand
        What it draws while it runs [-]
    plate : Nameplate
        What is stamped [-]
    trace : Trace, optional
        Takes a line for each figure where given [-]

    Returns
    -------
    tuple of StartDemand and list of Finding
        Starting kVA, never under the running kVA, and kW by starting power factor [-]

    Raises
    ------
    TableRefused
        The starting method or the code letter is not in its table.

    Notes
    -----
    Locked-rotor kVA: S = sqrt(3) V I_LR / 1000 where amperes are stamped; else hp times the top of
    the code letter's band; else the largest that the code's table allows for the size. The open
    band V, and design A, have no top: a person asks for the amperes. A reduced-voltage method
    multiplies it by its share of line kVA; a current limit counts from running kVA instead. Other
    kinds: a multiple of running kVA.

    Source: code_letters, locked_rotor tables, starting_methods, starting_power_factor, load_kinds.
    """
    found, findings = _read(demand, plate) if trace is None else _written(demand, plate, trace)
    return found, list(findings)


@lru_cache(maxsize=2048)
def _read(demand: LoadDemand, plate: Nameplate) -> tuple[StartDemand, tuple[Finding, ...]]:
    """As `start_demand`, remembered: the corners of what is not sure share most of their rows."""
    return _written(demand, plate, None)


def _written(
    demand: LoadDemand, plate: Nameplate, trace: Trace | None
) -> tuple[StartDemand, tuple[Finding, ...]]:
    """As `start_demand`, worked out, with its lines where a trace is given."""
    start = _Start(demand, plate, trace, [])
    kva, pf, basis, method = _motor_start(start) if demand.is_motor else _switched_on(start)
    kva = max(kva, demand.running_kva)
    start.note(f"P = {kva:.2f} kVA x {pf:.3g} = {kva * pf:.2f} kW", _pf_source(demand, plate))
    found = StartDemand(
        demand.index, demand.name, demand.quantity, kva, kva * pf, pf, basis, method
    )
    return found, tuple(start.findings)


def _pf_source(demand: LoadDemand, plate: Nameplate) -> str:
    if demand.is_motor:
        return source_line("starting_power_factor")
    return source_line("load_kinds", defaults_row(demand.kind, plate))


def _motor_start(start: _Start) -> tuple[float, float, str, str]:
    """Starting kVA, power factor, basis and method of a motor."""
    demand, method = start.demand, _method(start)
    row = table("starting_methods").row(method)
    locked, basis = _locked_rotor(start)
    pf = starting_power_factor(demand.hp or 1.0)
    if row["kva_share"] is not None:
        kva = locked * row["kva_share"]
        if method != ACROSS:
            line = f"{method}: S = {locked:.2f} kVA x {row['kva_share']:g} = {kva:.2f} kVA"
            start.note(line, source_line("starting_methods", method))
        return kva, pf, basis, method
    kva = min(locked, demand.running_kva * row["full_load_multiple"])
    line = f"{method}: S = {demand.running_kva:.2f} kVA x {row['full_load_multiple']:g}"
    start.note(f"{line}, at most locked rotor, = {kva:.2f} kVA", source_line("starting_methods"))
    return kva, demand.power_factor if method == "vfd" else pf, "table", method


def _method(start: _Start) -> str:
    """Starting method that counts; the hardest where it is not known or cannot be."""
    method = start.demand.starting
    if method == "unsure":
        if start.demand.kind == "hvac":
            return ACROSS  # its compressor starts by its own contactor
        detail = "starting method not known; across the line counts, the most it can ask."
        question = "how is it started: across the line, reduced voltage, soft starter or drive?"
        start.doubt("start_assumed", Severity.NOTE, detail, question)
        return ACROSS
    if start.demand.phases == 1 and method in THREE_PHASE_ONLY:
        detail = f"{method} is for three-phase motors; across the line counts."
        question = "is it single-phase, and how is it started?"
        start.doubt("start_assumed", Severity.WARNING, detail, question)
        return ACROSS
    return method


def starting_power_factor(hp: float) -> float:
    """Return power factor of a motor at standstill [-].

    Parameters
    ----------
    hp : float
        Rated power; over 1,000 hp the last value holds, as its source says [hp]

    Returns
    -------
    float
        Power factor, falling with size [-]

    Raises
    ------
    OutsideTable
        ``hp`` is negative.

    Source: starting_power_factor.
    """
    return table("starting_power_factor").between("power_factor", min(hp, 1000.0))


def _locked_rotor(start: _Start) -> tuple[float, str]:
    """Locked-rotor kVA across the line and what it rests on."""
    locked = locked_rotor_at(start.plate, start.volts)
    if locked is not None:
        return _by_amps(start, *locked)
    if start.plate.code_letter is not None and start.demand.hp is not None:
        return _by_letter(start, start.plate.code_letter, start.demand.hp)
    return _by_size(start)


def _by_amps(start: _Start, amps: float, volts: float) -> tuple[float, str]:
    """From stamped locked-rotor amperes; a letter whose band begins above them counts instead."""
    demand, plate = start.demand, start.plate
    kva = kva_of(amps, volts, demand.phases)
    root = "sqrt(3) x " if demand.phases == 3 else ""
    line = f"S = {root}{volts:g} V x {amps:g} A / 1000 = {kva:.2f} kVA"
    start.note(f"locked rotor {line}", "nameplate")
    if plate.code_letter is not None and demand.hp is not None:
        lowest = table("code_letters").row(plate.code_letter)["kva_per_hp_from"] * demand.hp
        if lowest > 1.1 * kva:
            return _by_letter(start, plate.code_letter, demand.hp)
    return kva, "locked_rotor_amps"


def _by_letter(start: _Start, letter: str, hp: float) -> tuple[float, str]:
    row = table("code_letters").row(letter)
    top = row["kva_per_hp_to"]
    if top is None:
        return _by_open_letter(start, letter, row["kva_per_hp_from"] * hp), "code_letter"
    kva = top * hp
    line = f"S = {hp:.4g} hp x {top:g} kVA/hp = {kva:.2f} kVA, code {letter}, top of its band"
    start.note(line, source_line("code_letters"))
    return float(kva), "code_letter"


def _by_open_letter(start: _Start, letter: str, least_kva: float) -> float:
    detail = f"code {letter} has no upper end; {least_kva:.0f} kVA is the least it can be."
    question = "what are the locked-rotor amps (LRA) on the plate?"
    start.doubt("code_letter_open", Severity.NEEDS_PERSON, detail, question)
    start.note(f"S is {least_kva:.2f} kVA or more, code {letter}", source_line("code_letters"))
    return least_kva


def _by_size(start: _Start) -> tuple[float, str]:
    """From the code's table by size; from running kVA where the plate gives no size."""
    if start.plate.hp is None and start.plate.shaft_kw is None and start.plate.watts is None:
        return _by_running(start), "inrush"
    if is_cooling_unit(start.demand.kind, start.plate):
        return _by_running(start), "inrush"
    demand, hp = start.demand, float(start.demand.hp or 0.0)
    try:
        kva = locked_rotor_kva_of_table(hp, demand.phases, start.volts)
    except OutsideTable as outside:
        detail = f"{outside}; locked rotor taken as a multiple of running kVA."
        question = "what are the locked-rotor amps (LRA) on the plate?"
        start.doubt("outside_table", Severity.NEEDS_PERSON, detail, question)
        return _by_running(start), "inrush"
    _note_table(start, hp, kva)
    return _by_design(start, kva), "table"


def _note_table(start: _Start, hp: float, kva: float) -> None:
    detail = "no code letter and no locked-rotor amps; the largest that the table allows counts."
    question = "what are the code letter and the locked-rotor amps (LRA) on the plate?"
    start.doubt("start_assumed", Severity.NOTE, detail, question)
    if start.trace is not None:
        name = "three" if start.demand.phases == 3 else "single"
        amps = kva * 1000 / (phase_root(start.demand.phases) * start.volts)
        line = f"{hp:.4g} hp: at most {amps:.4g} A at {start.volts:g} V, S = {kva:.2f} kVA"
        start.note(f"locked rotor, {line}", source_line(f"locked_rotor_{name}_phase"))


def _by_design(start: _Start, kva: float) -> float:
    """Design A has no limit in the table: a margin on it, and a person asks."""
    if start.plate.design_letter != "A":
        return kva
    factor = table("start_rules").at("value", "design_a")
    detail = "design A has no largest locked-rotor current."
    question = "what are the locked-rotor amps (LRA) on the plate?"
    start.doubt("code_letter_open", Severity.NEEDS_PERSON, detail, question)
    start.note(f"design A: S = {kva:.2f} kVA x {factor:g}", source_line("start_rules", "design_a"))
    return float(kva * factor)


def _by_running(start: _Start) -> float:
    """From running kVA where neither size, letter nor locked-rotor amperes are stamped."""
    row = defaults_row(start.demand.kind, start.plate)
    multiple = table("load_kinds").at("start_multiple", row)
    kva = start.demand.running_kva * multiple
    detail = f"locked rotor taken as {multiple:g} times running; the plate gives no LRA."
    question = "what are the locked-rotor amps (LRA) on the plate?"
    start.doubt("start_assumed", Severity.WARNING, detail, question)
    line = f"S = {start.demand.running_kva:.2f} kVA x {multiple:g} = {kva:.2f} kVA"
    start.note(line, source_line("load_kinds", row))
    return float(kva)


def _switched_on(start: _Start) -> tuple[float, float, str, str]:
    """Starting kVA, power factor, basis and method of a load that is no motor."""
    demand = start.demand
    row_name = defaults_row(demand.kind, start.plate)
    row = table("load_kinds").row(row_name)
    multiple = row["start_multiple"]
    kva = demand.running_kva * multiple
    line = f"S = {demand.running_kva:.2f} kVA x {multiple:g} = {kva:.2f} kVA at switch-on"
    start.note(line, source_line("load_kinds", row_name))
    if demand.kind == "panel":
        detail = f"what starts behind the panel is not known; {multiple:g} times running counts."
        start.doubt(
            "start_assumed", Severity.NOTE, detail, "which is the largest motor behind the panel?"
        )
    if demand.kind == "lamp" and start.plate.lamp_type in DISCHARGE_LAMPS:
        minutes = table("start_rules").at("value", "restrike_min")
        detail = f"after a dip or a stop they need up to {minutes:g} min to strike again."
        start.doubt("lamp_restrike", Severity.NOTE, detail, "")
    return kva, row["start_power_factor"], "inrush" if multiple > 1 else "none", "switched_on"
