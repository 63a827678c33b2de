"""Chapter 11: around the set: sound, exhaust, grounding, towing, tanks and the length of stay."""

from __future__ import annotations

from sizing.check import Check
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.requirement import Requirement
from sizing.sound import satisfying_distance_m, sound_at
from sizing.trace import Trace


def around_checks(
    set_: GeneratorSet, requirement: Requirement, count: int = 1, trace: Trace | None = None
) -> tuple[tuple[Check, ...], list[Finding]]:
    """Return the checks around the set."""
    site = requirement.site
    if site.noise_limit_dba is None or site.noise_distance_m is None:
        return (), []
    level = sound_at(set_, site.noise_distance_m, count, site.barrier_db)
    passed = level <= site.noise_limit_dba
    check = Check("sound", site.noise_limit_dba, level, "dBA", passed, "sound_rules")
    if passed:
        return (check,), []
    far = satisfying_distance_m(set_.sound_dba_7m, site.noise_limit_dba, count, site.barrier_db)
    finding = Finding("noise_limit", Severity.WARNING, "site.noise_limit", f"{far:.0f} m would do")
    return (check,), [finding]
