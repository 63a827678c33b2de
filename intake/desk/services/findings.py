"""Findings of a run as rows of a case, kept in step with each new run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from intake.models import Case, CaseFinding, FindingState, FourEyesRule, SizingRun

SETTLED = (FindingState.CONFIRMED, FindingState.ACCEPTED)
NEEDS_PERSON = "needs_person"


def findings_reconcile(*, case: Case, run: SizingRun) -> dict[str, list[str]]:
    """Bring a case's rows in step with a run; returns the codes that are new and that are gone."""
    rows = {(row.code, row.subject): row for row in case.findings.all()}
    rules = {rule.code: rule for rule in FourEyesRule.objects.all()}
    found = {
        (f["code"], f["subject"]): f
        for f in [*run.result.get("findings", []), *_over_size(run, rules)]
    }
    listed = frozenset(rules)
    fresh = [_added(case, run, facts, listed) for key, facts in found.items() if key not in rows]
    back = [_seen(rows[key], run, facts) for key, facts in found.items() if key in rows]
    gone = [_gone(row) for key, row in rows.items() if key not in found]
    return {"new": [c for c in fresh + back if c], "gone": [c for c in gone if c]}


def _over_size(run: SizingRun, rules: Mapping[str, FourEyesRule]) -> list[dict[str, Any]]:
    """A finding of the owner's own: sets above a size take two people."""
    rule = rules.get(FourEyesRule.OVER_SIZE)
    rated_kw = (run.result.get("recommendation") or {}).get("rated_kw", 0)
    if rule is None or rule.over_kw is None or rated_kw <= rule.over_kw:
        return []
    detail = f"{rated_kw:g} kW in all; above {rule.over_kw} kW the owner wants two people."
    return [
        {
            "code": rule.code,
            "severity": NEEDS_PERSON,
            "subject": "recommendation",
            "detail": detail,
            "evidence": {"rated_kw": rated_kw, "limit_kw": rule.over_kw},
        }
    ]


def _added(case: Case, run: SizingRun, facts: dict[str, Any], listed: frozenset[str]) -> str:
    row = CaseFinding(case=case, four_eyes=facts["code"] in listed, code=facts["code"])
    row.subject = facts["subject"]
    _describe(row, run, facts)
    row.full_clean(exclude=["case", "run"])
    row.save()
    return row.code


def _seen(row: CaseFinding, run: SizingRun, facts: dict[str, Any]) -> str:
    """A settled finding stays settled as long as it says the same; else it is open again."""
    same = row.detail == facts["detail"]
    came_back = row.state not in (FindingState.OPEN, *(SETTLED if same else ()))
    _describe(row, run, facts)
    if came_back or (row.state in SETTLED and not same):
        row.state, row.settled_by, row.second_by, row.settled_at = (
            FindingState.OPEN,
            None,
            None,
            None,
        )
        came_back = True
    row.save()
    return row.code if came_back else ""


def _gone(row: CaseFinding) -> str:
    if row.state != FindingState.OPEN:
        return ""
    row.state = FindingState.GONE
    row.save(update_fields=["state"])
    return row.code


def _describe(row: CaseFinding, run: SizingRun, facts: dict[str, Any]) -> None:
    row.run = run
    row.severity = facts["severity"]
    row.detail = facts["detail"]
    row.question = facts.get("question", "")
    row.evidence = facts.get("evidence", {})
