"""Every kind of event and the sentence it reads as. Owners of a kind add it here."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from intake.models import Event
from intake.steps.catalogue import QUESTIONS

KINDS: dict[str, str] = {
    # the customer
    "request_started": "{actor} started the request.",
    "answer_saved": "{actor} answered “{subject}”: {value}.",
    "load_saved": "{actor} entered {subject}: {nameplate}.",
    "photo_added": "{actor} added a photo of {subject}.",
    "photo_removed": "{actor} removed a photo of {subject}.",
    "load_removed": "{actor} removed {subject}.",
    "request_submitted": "{actor} sent the request.",
    "question_answered": "{actor} answered the question “{words}”: {answer}",
    # the method
    "sizing_run": "Sizing run {number}: {outcome}.",
    # the desk
    "case_opened": "The request went to a sales rep: {reason}. Promised by {promised_at}.",
    "case_claimed": "{actor} took the case.",
    "case_taken_over": "{actor} took the case over from {before}.",
    "case_given_back": "{actor} put the case back into the queue.",
    "case_passed_on": "{actor} passed the case on to {to}: {reason}",
    "case_snoozed": "{actor} put the case off until {until}: {reason}",
    "note_added": "{actor} noted: {text}",
    "answer_overridden": "{actor} changed “{subject}” from {before} to {after}: {reason}",
    "answer_confirmed": "{actor} confirmed “{subject}” as {value}.",
    "finding_settled": "{actor} settled “{subject}” ({state}): {reason}",
    "finding_reopened": "{actor} opened “{subject}” again: {reason}",
    "finding_seconded": "{actor} agreed with the decision on “{subject}”.",
    "question_asked": "{actor} asked the customer by mail: “{words}”",
    "phone_logged": "{actor} asked on the phone: “{words}” The customer said: {answer}",
    "choice_made": "{actor} chose {set}; failing checks: {failing}. {reason}",
    "choice_dropped": "{actor} went back to the method's own choice, {set}: {reason}",
    "case_released": "{actor} released the request to quoting: {set}, sizing run {run}.",
    "case_declined": "{actor} declined the request: {words}",
    # quoting
    "quote_asked": "{actor} asked for a new price: {reason}",
    "quote_offered": "Quote {subject} was offered at {total} USD.",
    "quote_referred": "Quote {subject} needs a sales rep: {reason}",
    "quote_accepted": "{name} accepted quote {subject}, order {order}.",
    "quote_declined": "{actor} declined quote {subject}: {words}",
    "quote_change_asked": "{actor} asked to change quote {subject}: {words}",
    "quote_expired": "Quote {subject} expired.",
    "quote_reminded": "{actor} reminded the customer of quote {subject}.",
    "quote_adjusted": "{actor} changed the price of {subject} by {amount} USD: {reason}",
    # the handover
    "unit_delivered": "{name} signed for {subject}, {hours} h on the meter, fuel {fuel} %.",
    "unit_returned": "{subject} came back: {hours} h on the meter, fuel {fuel} %.",
    "unit_swapped": "{actor} put {after} in the place of {subject}: {reason}",
    "reading_added": "{by} read {subject}: {hours} h, fuel {fuel} %. {notes}",
    "service_case_opened": "{actor} reported {subject} ({end}): {words}",
    "service_case_closed": "{actor} closed the report on {subject}: {words}",
    "hire_changed": "{name} agreed to {kind_of} until {until_day}, {difference} USD: {subject}.",
    "statement_made": "{actor} made the final statement of {subject}: {due} USD due.",
    # emergencies
    "need_accepted": "{actor} asked for emergency power for {subject}, rank {rank}, by {need_by}.",
    "need_detailed": "{actor} added what {subject} connects to: {added}.",
    "duty_paged": "The duty rep was called about {subject}: {targets}.",
    "call_back_overdue": "No call to {subject} by {promised_at}; called {whom}: {targets}.",
    "called_back": "{actor} called back about {subject}: {note}",
    "site_saved": "{actor} saved the standing site {subject}.",
    "site_archived": "{actor} took the standing site {subject} off the list.",
    "site_reviewed": "{actor} looked through the standing site {subject}; nothing had changed.",
    "sites_brought_in": "{actor} brought in {count} rows of {subject}, {left} left to put right.",
    "need_cleared": "{actor} cleared {subject} to be served: {reason}",
    "need_ranked": "{subject} had rank {before}. {reason}",
    "need_moved": "{actor} moved {subject} from {before} to {after}.",
    "emergency_opened": "{actor} opened the event {subject}.",
    "emergency_closed": "{actor} closed the event {subject}.",
    "emergency_planned": "Plan {number} of {subject}: {served} served, {unmet} not. {reason}",
    "emergency_in_force": "{actor} put plan {number} of {subject} in force: {units}.",
    "fuel_planned": "{actor} made fuel plan {number} of {subject}: {stops} stops, {short} short.",
    "site_recorded": "{actor} kept the record of {subject} from {started}: {total} USD.",
    "emergency_choice": "{actor} {choice} {unit} for {subject}: {reason}",
    "emergency_choice_ended": "{actor} took back what was said of {unit} for {subject}.",
    "emergency_unit_failed": "{actor} took {subject} out of service: {reason}",
    "emergency_unit_back": "{actor} put {subject} back in service.",
    # the owner's tables
    "owner_record_changed": "{actor} changed {subject}: {changes}",
    "owner_table_changed": "{actor} brought in {subject}: {added} added, {changed} changed.",
    # personal data
    "person_exported": "{actor} gave out what is kept of the person.",
    "person_erased": "{actor} erased the personal data of this request.",
    # who may do what
    "staff_changed": "{actor} made {subject} {role} for {branches}; before {before}.",
    "codes_on": "{actor} now signs in with one-time codes.",
    "codes_off": "{actor} switched off the one-time codes of {subject}.",
    "sessions_ended": "{actor} signed out of {count} other sessions.",
    "webhook_changed": "{actor} changed the webhook {subject}: {changes}",
    "webhook_switched_off": "{actor} switched off the webhook {subject}: {reason}",
    "four_eyes_changed": "{actor} wants two people for {codes}, and above {over_kw} kW.",
}
TIMES = ("promised_at", "until")
OUTCOMES = {"needs_person": "needs a person", "no_fit": "no set fits", "recommended": "clear"}


class _Blank(dict[str, object]):
    def __missing__(self, key: str) -> str:
        return "–"


def sentence(event: Event) -> str:
    """An event as one sentence."""
    facts = {name: _written(name, value) for name, value in event.data.items()}
    actor = "The customer" if event.actor_label == "customer" else event.actor_label
    subject = QUESTIONS[event.subject].label if event.subject in QUESTIONS else event.subject
    return KINDS[event.kind].format_map(_Blank(facts, actor=actor, subject=subject))


def _written(name: str, value: object) -> str:
    if name in TIMES and isinstance(value, str):
        return f"{timezone.localtime(datetime.fromisoformat(value)):%b %-d, %H:%M %Z}"
    if name == "outcome":
        return OUTCOMES.get(str(value), str(value))
    if isinstance(value, list):
        return ", ".join(str(item) for item in value) or "nothing"
    return "nothing" if value is None else str(value)
