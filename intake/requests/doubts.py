"""Doubts that the intake itself sees, beside those of the method: about people, dates and place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from intake.questions.answers import Answers

Doubt = dict[str, Any]


def intake_doubts(answers: Answers) -> list[Doubt]:
    """Every doubt that these answers raise, the gravest first."""
    found = [doubt for rule in RULES for doubt in rule(answers)]
    return sorted(found, key=lambda doubt: doubt["severity"] != "needs_person")


def _doubt(code: str, severity: str, subject: str, detail: str, question: str = "") -> Doubt:
    return {
        "code": code,
        "severity": severity,
        "subject": subject,
        "detail": detail,
        "question": question,
        "evidence": {},
    }


def life_safety(answers: Answers) -> list[Doubt]:
    """A life may depend on the power: a person decides, whatever the numbers say."""
    if answers.application != "emergency":
        return []
    kind, depends = answers.given("facility"), answers.given("life_support")
    if kind.value in ("medical", "rescue") or depends.value == "yes":
        detail = "Somebody's life depends on this power, or the building serves life safety."
    elif depends.unsure or kind.unsure:
        detail = "It is not known whether somebody's life depends on this power."
    else:
        return []
    question = "Which equipment must never lose power, and what takes over if the set stops?"
    return [_doubt("life_safety", "needs_person", "life_support", detail, question)]


def came_by_express(answers: Answers) -> list[Doubt]:
    """An express request holds the least there is: a person calls back before anything is sent."""
    if answers.value("came_by") != "express":
        return []
    by = str(answers.value("need_by") or "")[:16].replace("T", " ")
    detail = f"An express emergency request, needed by {by}, site time. Only the least was asked."
    question = "Call back: is what was entered right, and what must run first?"
    return [_doubt("express_request", "needs_person", "came_by", detail, question)]


def dates_open(answers: Answers) -> list[Doubt]:
    """Without both days there is no set to hold and no price to give."""
    if answers.value("hire_start") and answers.value("hire_end"):
        return []
    detail = "The days of the hire are not known."
    question = "From which day to which day is the set needed?"
    return [_doubt("dates_unsure", "needs_person", "hire.start", detail, question)]


def place_open(answers: Answers) -> list[Doubt]:
    """Without a place there is no delivery to price."""
    if answers.value("zip"):
        return []
    detail = "The place of the site is not known."
    question = "Where will the set stand? The nearest town is enough."
    return [_doubt("place_unsure", "needs_person", "site.zip", detail, question)]


def standing_set(answers: Answers) -> list[Doubt]:
    """A set that is there already must never run against the hired one."""
    if answers.application != "emergency" or answers.given("standing_set").value != "yes":
        return []
    detail = "The building has a generator of its own; two sources must never feed it together."
    question = "Is the building's own set out of order, and is it locked out?"
    return [_doubt("standing_set", "warning", "standing_set", detail, question)]


def float_wiring(answers: Answers) -> list[Doubt]:
    """What the float starts decides whether a two-wire cable goes along."""
    asked = answers.application == "dewatering" and answers.has_float_switch
    if not asked or not answers.given("float_starts_set").unsure:
        return []
    detail = "It is not known whether the float switch starts the set or only the pump."
    question = "Do two wires run from the float switch to the set's control panel?"
    return [_doubt("float_wiring", "note", "float_starts_set", detail, question)]


def dimmers(answers: Answers) -> list[Doubt]:
    """Dimmed lamps load the neutral."""
    given = answers.given("dimmers")
    if answers.application != "event_lighting" or not (given.unsure or given.value == "yes"):
        return []
    detail = "Lights on dimmers load the neutral and distort the voltage."
    question = "How many kilowatts of the lights are on dimmers?"
    return [_doubt("neutral_harmonics", "note", "dimmers", detail, question)]


def word_of_the_customer(answers: Answers) -> list[Doubt]:
    """What was written freely is read by a person before the set leaves the yard."""
    note = str(answers.value("note") or "").strip()
    if not note:
        return []
    return [_doubt("customer_note", "note", "note", f"The customer wrote: {note}")]


RULES: tuple[Callable[[Answers], list[Doubt]], ...] = (
    life_safety,
    came_by_express,
    dates_open,
    place_open,
    standing_set,
    float_wiring,
    dimmers,
    word_of_the_customer,
)
