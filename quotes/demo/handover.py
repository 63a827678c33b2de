"""A demo order from acceptance to its final statement, at the speed of the story, not the clock."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from decimal import Decimal
from uuid import uuid4
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User

from quotes.acceptance.services import Signature, quote_accept
from quotes.demo.people import people_load
from quotes.handover.calls import Caller, service_case_close, service_case_open
from quotes.handover.changing import WITH_ALL, change_agree, change_propose, hire_end
from quotes.handover.checklist import items_of
from quotes.handover.facts import card_facts, sheet_facts, statement_facts
from quotes.handover.pdf import handover_pdf
from quotes.handover.readings import Entered, reading_add
from quotes.handover.settling import Charge, sent_accessories, statement_make
from quotes.handover.signing import Signed, sign_off_receive
from quotes.handover.units import WITH_ALL as UNIT_WITH_ALL
from quotes.handover.units import job_of_unit
from quotes.models import Order, OutUnit, Quote, QuoteState

RECEIVER = "Alma Reyes-Demo"
ELECTRICIAN = "Ira Volt-Demo"
METER = Decimal("2140.0")
CALL = "danger.no~symptom.nothing~pressed.out~disconnect.on~display.lit~lamp_start.none"


class NoOffer(Exception):
    """There is no open offer to walk."""


@dataclass
class Walked:
    """What happened, and the documents it left."""

    told: list[str] = field(default_factory=list)
    documents: dict[str, bytes] = field(default_factory=dict)


def handover_walk(*, now: datetime) -> Walked:
    """Accept the first open demo offer of dewatering, and live its hire through."""
    people_load()
    rep = User.objects.get(username="rep")
    walked = Walked()
    order = _accepted(now, walked)
    out = OutUnit.objects.select_related(*UNIT_WITH_ALL).filter(order=order).order_by("id")[0]
    start = _morning(order, 14)
    _delivered(out, rep, start, walked)
    _run(out, rep, start, walked)
    _changed(order, start + timedelta(days=3), walked)
    _returned(order, out, rep, start, walked)
    return walked


def _accepted(now: datetime, walked: Walked) -> Order:
    offers = Quote.objects.filter(state=QuoteState.OFFERED, valid_until__gte=now)
    quote = next((q for q in offers if q.run.requirement["application"] == "dewatering"), None)
    if quote is None:
        raise NoOffer("No open offer of a dewatering job; load the demo and let a worker price it.")
    order = quote_accept(
        quote_id=quote.pk,
        terms_version=quote.terms_version,
        signature=Signature(name=RECEIVER, role="site manager", purchase_order="PO 0417"),
        now=now,
    )
    walked.told.append(f"{RECEIVER} accepted order {order.number}, {quote.total} USD.")
    return order


def _morning(order: Order, hour: int) -> datetime:
    """An hour of the first day, at the branch."""
    assert order.quote.branch is not None
    assert order.quote.starts_on is not None
    zone = ZoneInfo(order.quote.branch.timezone)
    return datetime.combine(order.quote.starts_on, time(hour), tzinfo=zone)


def _signed(out: OutUnit, kind: str, at: datetime, hours: Decimal, fuel: int) -> Signed:
    return Signed(
        client_key=uuid4(),
        kind=kind,
        name=RECEIVER,
        role="site manager",
        connector=ELECTRICIAN,
        engine_hours=hours,
        fuel_percent=fuel,
        signed_at=at,
        ticked=frozenset(items_of(job_of_unit(out), kind)),
        accessories=_counted(out, kind),
    )


def _counted(out: OutUnit, kind: str) -> dict[str, int]:
    """All that went; on return one piece of what there are most of is missing."""
    sent = dict(sent_accessories(out.order.quote))
    if kind == "return" and sent:
        most = max(sent, key=lambda code: sent[code])
        sent[most] -= 1
    return sent


def _delivered(out: OutUnit, rep: User, start: datetime, walked: Walked) -> None:
    made_at = out.opened_at
    walked.documents["start-card"] = handover_pdf("card", card_facts(out), made_at=made_at)
    signed = _signed(out, "delivery", start, METER, 100)
    sign_off_receive(out_unit_id=out.pk, signed=signed, photos={}, driver=rep, now=start)
    walked.documents["delivery-sheet"] = handover_pdf("sheet", sheet_facts(out), made_at=start)
    walked.told.append(f"{out.unit.number} was delivered and signed for, {METER} h, fuel 100 %.")


def _run(out: OutUnit, rep: User, start: datetime, walked: Walked) -> None:
    """A report that is settled, and two readings, the second with notes."""
    path = f"{CALL}~mode_auto.auto~water.up~pair.damaged"
    case = service_case_open(
        out=out,
        path=path,
        client_key=uuid4(),
        caller=Caller(RECEIVER, "(303) 555-0100", "The loader drove over the cable."),
        now=start + timedelta(hours=20),
    )
    walked.told.append(f"Reported: {case.end}, after {len(case.path_words)} questions.")
    service_case_close(
        case_id=case.pk,
        resolution="New start cable, laid in a ramp.",
        actor=rep,
        now=start + timedelta(hours=23),
    )
    for day, hours, fuel, load in ((1, 20, 74, None), (2, 44, 30, Decimal(12))):
        entered = Entered(uuid4(), METER + hours, fuel, load)
        reading, _new = reading_add(
            out_unit_id=out.pk,
            entered=entered,
            by=RECEIVER,
            actor="customer",
            now=start + timedelta(days=day),
        )
        notes = "; ".join(text for _code, text in reading.notes) or "as planned"
        walked.told.append(f"Read on day {day}: {reading.engine_hours} h, {fuel} %: {notes}")


def _changed(order: Order, now: datetime, walked: Walked) -> None:
    order = Order.objects.select_related(*WITH_ALL).get(pk=order.pk)
    to_end = hire_end(order) + timedelta(days=2)
    shown = change_propose(order=order, to_end=to_end, now=now)
    made = change_agree(
        order_id=order.pk,
        to_end=to_end,
        difference=shown.difference,
        name=RECEIVER,
        client_key=uuid4(),
        now=now,
    )
    walked.told.append(f"Longer until {to_end}: {made.difference} USD, total {made.total} USD.")


def _returned(order: Order, out: OutUnit, rep: User, start: datetime, walked: Walked) -> None:
    order = Order.objects.select_related(*WITH_ALL).get(pk=order.pk)
    back = datetime.combine(hire_end(order), start.timetz())
    signed = _signed(out, "return", back, METER + 300, 40)
    sign_off_receive(out_unit_id=out.pk, signed=signed, photos={}, driver=rep, now=back)
    sent, counted = sent_accessories(order.quote), signed.accessories
    charges = tuple(
        Charge(code, code.replace("_", " ").capitalize(), Decimal(85), "One did not come back.")
        for code, count in sent.items()
        if counted[code] < count
    )
    made = statement_make(order_id=order.pk, charges=charges, actor=rep, now=back)
    facts = statement_facts(made)
    walked.documents["statement"] = handover_pdf("statement", facts, made_at=back)
    walked.told.append(f"Final statement: {made.total} USD, {made.due} USD due.")
