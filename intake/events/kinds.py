"""Every kind of event and the sentence it reads as. Owners of a kind add it here."""

from __future__ import annotations

from intake.models import Event

KINDS: dict[str, str] = {
    "request_started": "{actor} started the request.",
    "answer_saved": "{actor} answered {subject}: {value}.",
    "answer_overridden": "{actor} changed {subject} from {before} to {after}: {reason}",
    "load_saved": "{actor} entered {subject}: {nameplate}.",
    "load_removed": "{actor} removed {subject}.",
    "request_submitted": "{actor} sent the request.",
    "sizing_run": "Sizing run {number}: {outcome}.",
    "case_opened": "The request went to a sales rep: {reason}.",
    "case_claimed": "{actor} took the case.",
    "finding_settled": "{actor} settled {subject} ({state}): {reason}",
    "case_released": "{actor} released the request to quoting.",
}


class _Blank(dict[str, object]):
    def __missing__(self, key: str) -> str:
        return "-"


def sentence(event: Event) -> str:
    """An event as one sentence."""
    facts = _Blank(event.data, actor=event.actor_label, subject=event.subject)
    return KINDS[event.kind].format_map(facts)
