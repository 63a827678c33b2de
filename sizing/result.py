"""The answer to a requirement: outcome, demand, recommendation, alternatives, findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from sizing.accessories import Accessory
from sizing.cautions import Caution
from sizing.check import Check
from sizing.combinations import Option, Part
from sizing.demand import Demand
from sizing.duty import DutyProfile
from sizing.finding import Finding, Severity
from sizing.leads import Leads
from sizing.trace import TraceLine

OUTCOMES = ("recommended", "needs_person", "no_fit")
Document = dict[str, Any]
Flat = TraceLine | Caution | DutyProfile | Accessory | Check | Leads
NAMES = {
    kind: tuple(one.name for one in fields(kind))
    for kind in (TraceLine, Caution, DutyProfile, Accessory, Check, Leads)
}


@dataclass(frozen=True, slots=True)
class Result:
    """What the method answers. ``demands`` holds one demand a supply, the main one first."""

    demands: tuple[Demand, ...] = ()
    options: tuple[Option, ...] = ()
    findings: tuple[Finding, ...] = ()
    trace: tuple[TraceLine, ...] = ()
    cautions: tuple[Caution, ...] = ()
    versions: Mapping[str, str] = field(default_factory=dict)

    @property
    def outcome(self) -> str:
        """One of ``OUTCOMES``: a doubt that needs a person weighs more than a set that fits."""
        if any(finding.severity is Severity.NEEDS_PERSON and finding.code != "no_set_fits"
               for finding in self.findings):  # fmt: skip
            return "needs_person"
        return "recommended" if self.options else "no_fit"

    @property
    def recommendation(self) -> Option | None:
        """The first option, if any."""
        return self.options[0] if self.options else None

    def document(self) -> Document:
        """Return the result as the JSON document of the command line and the API.

        Returns
        -------
        dict
            Plain values only; figures rounded to four digits behind the point [-]

        Raises
        ------
        TypeError
            A field holds what JSON cannot say.
        """
        provisional = self.outcome != "recommended"
        documents = [option_document(option, provisional) for option in self.options]
        return {
            "outcome": self.outcome,
            "demand": demand_document(self.demands),
            "recommendation": documents[0] if documents else None,
            "alternatives": documents[1:],
            "findings": [finding_document(finding) for finding in self.findings],
            "trace": [_document(line) for line in self.trace],
            "cautions": [_document(caution) for caution in self.cautions],
            "versions": dict(self.versions),
        }


def option_document(option: Option, provisional: bool) -> Document:
    """Return one option as a document.

    Parameters
    ----------
    option : Option
        One way to carry the job [-]
    provisional : bool
        Whether a person must still release it [-]

    Returns
    -------
    dict
        The shape of ``recommendation`` and of each alternative [-]

    Raises
    ------
    IndexError
        The option has no part.
    """
    main = option.parts[0]
    figures = [_part_figures(part) for part in option.parts]
    return {
        "kind": option.kind,
        "why": option.why,
        "provisional": provisional,
        "sets": [_set_document(part) for part in option.parts],
        "supply": main.evaluation.supply,
        **_joint_figures(figures),
        "leads": _leads_document(main.evaluation.leads),
        "accessories": _accessory_documents(option.parts),
        "checks": [_check_document(check, part) for part in option.parts
                   for check in part.checks],
        "frequency_curve": _curve(main),
        "parts": [] if len(figures) == 1 else [
            {"supply": part.evaluation.supply, **numbers,
             "leads": _leads_document(part.evaluation.leads)}
            for part, numbers in zip(option.parts, figures, strict=True)
        ],
    }  # fmt: skip


def demand_document(demands: Sequence[Demand]) -> Document:
    """Return what the loads ask for: the main supply's figures, and each load.

    Parameters
    ----------
    demands : sequence of Demand
        One a supply; may be empty [-]

    Returns
    -------
    dict
        Figures of the first demand, ``loads`` of all [-]

    Raises
    ------
    AttributeError
        An item is no demand.
    """
    if not demands:
        return {}
    main = demands[0]
    step = main.sequence.worst
    return {
        "supply": main.supply,
        "running_kw": _round(main.sequence.peak_kw),
        "running_kva": _round(main.sequence.peak_kva),
        "power_factor": _round(main.power_factor),
        "phase_amps": [_round(amps) for amps in main.spread.phase_amps],
        "neutral_amps": _round(main.neutral_amps),
        "unbalance_percent": _round(main.spread.unbalance_percent),
        "nonlinear_kva": _round(main.nonlinear_kva),
        "start_kva": _round(step.start_kva),
        "start_kw": _round(step.start_kw),
        "worst_step": step.name,
        "order": [main.loads[0].name] if len(main.loads) == 1 else _order(main),
        "duty": _duty_document(main),
        "loads": [load for demand in demands for load in _load_documents(demand)],
    }


def finding_document(finding: Finding) -> Document:
    """Return one finding as a document.

    Parameters
    ----------
    finding : Finding
        A doubt [-]

    Returns
    -------
    dict
        ``code``, ``severity``, ``subject``, ``detail``, ``question`` and ``evidence`` [-]

    Raises
    ------
    AttributeError
        The item is no finding.
    """
    return {
        "code": finding.code,
        "severity": str(finding.severity),
        "subject": finding.subject,
        "detail": finding.detail,
        "question": finding.question,
        "evidence": {name: _round(value) for name, value in finding.evidence.items()},
    }


def _document(record: Flat) -> Document:
    """A flat record's fields by name; ``asdict`` would copy each value deeply first."""
    return {name: _round(getattr(record, name)) for name in NAMES[type(record)]}


def _round(value: Any) -> Any:
    """A figure to four digits behind the point; lists inside alike; anything else as it is."""
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, (list, tuple)):
        return [_round(item) for item in value]
    return value


def _order(demand: Demand) -> list[str]:
    names = {load.index: load.name for load in demand.loads}
    return [names[index] for index in demand.sequence.order if index in names]


def _duty_document(demand: Demand) -> Document:
    return _document(demand.profile)


def _load_documents(demand: Demand) -> Iterable[Document]:
    starts = {start.index: start for start in demand.starts}
    for load in demand.loads:
        start = starts[load.index]
        yield {
            "name": load.name, "kind": load.kind, "quantity": load.quantity,
            "supply": demand.supply, "via": load.via, "volts": load.volts, "phases": load.phases,
            "amps": _round(load.amps), "running_kw": _round(load.running_kw),
            "running_kva": _round(load.running_kva), "power_factor": _round(load.power_factor),
            "start_kva": _round(start.start_kva), "start_kw": _round(start.start_kw),
            "start_basis": start.basis, "starting": start.method,
        }  # fmt: skip


def _set_document(part: Part) -> Document:
    return {
        "code": part.set_.code,
        "name": part.set_.name,
        "quantity": part.quantity,
        "supply": part.evaluation.supply,
    }


def _part_figures(part: Part) -> Document:
    """Figures of the sets at one supply."""
    found = part.evaluation
    assert found.fuel is not None
    assert found.voltage is not None
    assert found.frequency is not None
    return {
        "rated_kw": _round(part.quantity * part.set_.prime_kw),
        "site_kw": _round(found.rating.site_kw),
        "load_percent": _round(found.load_percent),
        "mean_load_percent": _round(found.fuel.mean_load_percent),
        "voltage_dip_percent": _round(found.voltage.percent),
        "frequency_dip_percent": _round(found.frequency.percent),
        "fuel_l_per_day": _round(found.fuel.l_per_day),
        "autonomy_h": _round(found.fuel.autonomy_h),
        "refuel_visits": found.fuel.refuel_visits,
        "running_hours_per_day": _round(found.demand.profile.running_hours),
        "light_hours_share": _round(found.fuel.light_hours_share),
        "sound_dba": _round(found.sound_dba),
    }


def _joint_figures(figures: Sequence[Document]) -> Document:
    """Figures of the whole option: power and fuel add, the worst of the rest counts."""
    if len(figures) == 1:
        return figures[0]
    added = ("rated_kw", "site_kw", "fuel_l_per_day")
    least = ("autonomy_h",)
    joint: Document = {}
    for name in figures[0]:
        values = [numbers[name] for numbers in figures if numbers[name] is not None]
        if name in added:
            joint[name] = _round(sum(values))
        else:
            joint[name] = (min if name in least else max)(values, default=None)
    return joint


def _leads_document(leads: Leads | None) -> Document | None:
    if leads is None:
        return None
    return {**_document(leads), "basis": leads.basis and asdict(leads.basis)}


def _accessory_documents(parts: Sequence[Part]) -> list[Document]:
    return [_document(one) for part in parts for one in part.accessories]


def _check_document(check: Check, part: Part) -> Document:
    return {**_document(check), "set": part.set_.code}


def _curve(part: Part) -> list[list[float]]:
    frequency = part.evaluation.frequency
    if frequency is None:
        return []
    return [[round(seconds, 4), round(hertz, 4)] for seconds, hertz in frequency.points]
