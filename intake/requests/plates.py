"""What a typed plate says, whether it agrees with itself and with the voltage asked for."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from intake.questions.answers import Answers
from intake.questions.finding_words import finding_words
from intake.questions.plate_words import PlateLine, plate_lines, plate_missing, plate_sentence
from sizing.errors import SizingError
from sizing.finding import Finding
from sizing.nameplate import Nameplate, NameplateRefused, read_nameplate
from sizing.requirement import Load
from sizing.running import load_demand
from sizing.supply import suits

LONGEST_READ = 500


@dataclass(frozen=True, slots=True)
class PlateReading:
    """A plate as it was understood. ``doubts`` are contradictions, said gently; nothing blocks."""

    lines: tuple[PlateLine, ...] = ()
    missing: tuple[str, ...] = ()
    not_understood: tuple[str, ...] = ()
    problem: str = ""
    doubts: tuple[str, ...] = ()


def plate_reading(text: str, kind: str, answers: Answers) -> PlateReading | None:
    """The reading of a plate; ``None`` while nothing has been typed."""
    text = text.strip()
    if not text or len(text) > LONGEST_READ:
        return None
    try:
        plate = read_nameplate(text)
    except NameplateRefused as refusal:
        return PlateReading(problem=plate_sentence(refusal.problems[0], text))
    return PlateReading(
        tuple(plate_lines(plate)),
        tuple(plate_missing(plate, kind)),
        plate.not_understood,
        doubts=tuple(_doubts(plate, kind, str(answers.value("supply") or ""))),
    )


def _doubts(plate: Nameplate, kind: str, supply: str) -> list[str]:
    doubts = _contradictions(plate, kind, supply or _likely_supply(plate))
    if supply and suits(plate, kind, supply).verdict == "never":
        doubts.append(
            _("This plate does not fit the {supply} V you asked for. Check both; "
              "you can also send it as it is and a rep will call.").format(supply=supply)
        )  # fmt: skip
    return doubts


def _contradictions(plate: Nameplate, kind: str, supply: str) -> list[str]:
    """Figures of the plate that do not agree with each other."""
    try:
        _demand, findings = load_demand(Load(_("This plate"), kind, plate), 0, supply, None)
    except SizingError:
        return []
    return [
        contradiction_words(finding)
        for finding in findings
        if finding.code == "nameplate_contradiction"
    ]


def contradiction_words(finding: Finding) -> str:
    """What does not agree, with its figures, and what to look at."""
    facts = finding.evidence
    if "stamped_amps" not in facts:
        return finding_words(finding.code, finding.detail)
    words = _(
        "The plate says {amps:g} A, but {hp:g} hp at {volts:g} V usually draws about "
        "{expected:.3g} A. Look once more: one of them may be misread."
    ).format(
        amps=facts["stamped_amps"],
        hp=facts["hp"],
        volts=facts["volts"],
        expected=facts["expected_amps"],
    )
    if facts["fits_volts"]:
        words += " " + _("At {volts:g} V it would fit.").format(volts=facts["fits_volts"][0])
    return words


def _likely_supply(plate: Nameplate) -> str:
    """The system whose voltage stands on the plate, to test the plate against itself."""
    systems = {
        115.0: "120/240", 120.0: "120/240", 230.0: "120/240", 240.0: "120/240",
        200.0: "208Y/120", 208.0: "208Y/120", 460.0: "480Y/277", 480.0: "480Y/277",
        277.0: "480Y/277",
    }  # fmt: skip
    three = plate.phases == 3
    found = [systems[v] for v in plate.volts if v in systems]
    if plate.system:
        return plate.system
    if found and found[0] == "120/240" and three:
        return "240/120"
    return found[0] if found else "480Y/277"
