"""Whether what was acknowledged is there, once, and what is there was acknowledged.

Asked of the database itself. A call without an answer is unsure: it may have taken effect.
Import it only where Django runs on the installation's own settings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain

from django.db.models import QuerySet
from django.utils import timezone
from PIL import Image

from intake.audit.breach import Breach
from intake.audit.snapshot import snapshot
from intake.models import Answer, Event, HireRequest, OutboxMessage, RequestPhoto, Status
from quotes.management.commands.audit import breaches
from quotes.models import Booking, Order, SignOff, SignOffPhoto
from tests.faults.customers import OURS
from tests.faults.ledger import Entry, Ledger

# Under way these two only say that something waits; in the end they must hold as well.
NOT_YET = ("message_stuck", "message_parked")


@dataclass
class Verdict:
    """What was found wrong: lost, doubled, told to nobody, or against a promise of the audit."""

    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    untold: list[str] = field(default_factory=list)
    breaches: list[Breach] = field(default_factory=list)

    @property
    def sound(self) -> bool:
        return not (self.lost or self.doubled or self.untold or self.breaches)

    def lines(self) -> list[str]:
        told = [f"lost: {one}" for one in self.lost] + [f"doubled: {one}" for one in self.doubled]
        told += [f"told to nobody: {one}" for one in self.untold]
        return told + [f"{one.code}: {one.subject}: {one.detail}" for one in self.breaches]


def judged(ledger: Ledger, *, at_rest: bool) -> Verdict:
    """Compare the customers' notes with one moment of the database, and run the audit.

    What was acknowledged is noted before the database is read, and what is there is read before it
    is looked up among the notes: customers call all the while.
    """
    verdict, entries = Verdict(), ledger.copy()
    with snapshot():
        verdict.lost += lost(entries)
        verdict.lost += files_lost(entries) if at_rest else []
        verdict.doubled += doubled(entries)
        effects = effects_there()
    verdict.untold += untold(effects, ledger)
    found = breaches(now=timezone.now())
    verdict.breaches += [one for one in found if at_rest or one.code not in NOT_YET]
    return verdict


def lost(entries: list[Entry]) -> Iterator[str]:
    """What was acknowledged and is not there."""
    requests = {one.reference: one for one in HireRequest.objects.all()}
    orders = set(Order.objects.values_list("number", flat=True))
    answers = set(Answer.objects.filter(key="email").values_list("request__reference", "value"))
    for entry in entries:
        request = requests.get(entry.reference)
        if request is None:
            yield f"{entry.kind} {entry.key}: no request {entry.reference}"
        elif entry.kind == "sent" and request.status == Status.DRAFT:
            yield f"sent {entry.key}: {entry.reference} is a draft"
        elif entry.kind == "accepted" and entry.detail not in orders:
            yield f"accepted {entry.key}: no order {entry.detail}"
        elif entry.kind == "answered" and (entry.reference, entry.detail) not in answers:
            yield f"answered {entry.key}: {entry.reference} has no such answer"
    yield from photos_lost(entries)
    yield from signatures_lost(entries)


def photos_lost(entries: list[Entry]) -> Iterator[str]:
    """Photos that were taken but have no row."""
    kept = set(RequestPhoto.objects.values_list("request__reference", flat=True))
    for entry in entries:
        if entry.kind == "photo" and entry.reference not in kept:
            yield f"photo {entry.key}: {entry.reference} has none"


def signatures_lost(entries: list[Entry]) -> Iterator[str]:
    """Sign-offs that were taken and are not there, and photos of them that are missing."""
    there = {one.out_unit.order.number: one for one in signed_here()}
    for entry in entries:
        if entry.kind in ("signed", "sign photo") and entry.key not in there:
            yield f"{entry.kind} {entry.key}: no sign-off"
        elif entry.kind == "sign photo" and there[entry.key].photos_missing:
            yield f"sign photo {entry.key}: it is missing"
        elif entry.kind == "sign photo" and not there[entry.key].photos.all():
            yield f"sign photo {entry.key}: there is none"


def signed_here() -> QuerySet[SignOff]:
    """The sign-offs of the customers' orders, each of which has one photo or misses it."""
    mine = [pk for pk, _value in addresses()]
    found = SignOff.objects.filter(out_unit__order__request__in=mine)
    return found.select_related("out_unit__order__request").prefetch_related("photos")


def files_lost(entries: list[Entry]) -> Iterator[str]:
    """Photos of the customers whose file is not there, or cannot be opened to its last line."""
    told = {entry.reference for entry in entries}
    asked = RequestPhoto.objects.filter(request__reference__in=told)
    signed = SignOffPhoto.objects.filter(sign_off__out_unit__order__request__reference__in=told)
    for photo in chain(asked, signed):
        try:
            with Image.open(photo.image.path) as picture:
                picture.load()
        except OSError as trouble:
            yield f"{photo.image.name}: {trouble}"


def addresses() -> list[tuple[int, str]]:
    """Return the customers' requests and the mail address of each."""
    said = Answer.objects.filter(key="email").values_list("request_id", "value")
    return [(pk, value) for pk, value in said if str(value).endswith(OURS)]


def doubled(entries: list[Entry]) -> Iterator[str]:
    """What a customer asked for once and is there twice."""
    for value, times in Counter(value for _pk, value in addresses()).items():
        if times > 1:
            yield f"{times} requests of {value}"
    by_key: dict[tuple[str, str], set[str]] = {}
    for entry in entries:
        by_key.setdefault((entry.kind, entry.key), set()).add(entry.reference)
    for (_kind, key), references in by_key.items():
        if len(references) > 1:
            yield f"{key} was made {len(references)} times"
    yield from accepted_twice(entries)
    for signed in signed_here():
        if len(signed.photos.all()) + len(signed.photos_missing) > 1:
            yield f"{signed} has its photo twice"


def accepted_twice(entries: list[Entry]) -> Iterator[str]:
    """Two calls in a race were both told that they made the order."""
    signed = Counter(entry.reference for entry in entries if entry.kind == "accepted")
    for reference, times in signed.items():
        if times > 1:
            yield f"{reference} was accepted {times} times"


def effects_there() -> Counter[tuple[str, str]]:
    """Count what the customers' calls have made: by kind, and by key or number of the request."""
    keys = {pk: value.removesuffix(OURS) for pk, value in addresses()}
    mine = list(keys)
    sent = HireRequest.objects.filter(pk__in=mine).exclude(submitted_at=None)
    orders = Order.objects.filter(request__in=mine).values_list("request__reference", flat=True)
    photos = RequestPhoto.objects.filter(request__in=mine)
    found = Counter(("made", key) for key in keys.values())
    found.update(("sent", one) for one in sent.values_list("reference", flat=True))
    found.update(("accepted", one) for one in orders)
    signed = [(one.out_unit.order.request.reference, one) for one in signed_here()]
    found.update(("signed", one) for one, _signed in signed)
    found.update(("sign photo", one) for one, it in signed if it.photos.all())
    found.update(("photo", one) for one in photos.values_list("request__reference", flat=True))
    return found


def untold(effects: Counter[tuple[str, str]], ledger: Ledger) -> Iterator[str]:
    """What is there although nobody was told so and no call is unsure."""
    unsure = [(kind, key, reference) for (kind, key), reference in ledger.unsure().items()]
    told = [(one.kind, one.key, one.reference) for one in ledger.copy()]
    known = Counter(effect_of(*call) for call in {*told, *unsure})
    for (kind, name), times in (effects - known).items():
        yield f"{kind} {name}, {times} more than were acknowledged or are unsure"


def effect_of(kind: str, key: str, reference: str) -> tuple[str, str]:
    """Name the effect of a call as the database knows it; a program's and a person's are alike."""
    if kind in ("made", "answered"):
        return "made", key.lower()
    return kind, reference


def unsure_in_the_end(ledger: Ledger) -> list[str]:
    """Say of each call that was never answered whether it took effect."""
    there, told = effects_there(), {effect_of(o.kind, o.key, o.reference) for o in ledger.copy()}
    lines = []
    for (kind, key), reference in sorted(ledger.unsure().items()):
        effect = effect_of(kind, key, reference)
        took = "by another call" if effect in told else "yes" if there[effect] else "no"
        took = took if kind != "begun" else "unknown, as nothing in it says whose it is"
        lines.append(f"{kind} {key} {reference}: took effect: {took}")
    return lines


def letters() -> set[str]:
    """Return the Message-IDs of the letters that count as sent."""
    mails = OutboxMessage.objects.filter(queue="mail", done_at__isnull=False)
    return {f"<{pk}@setwright>" for pk in mails.values_list("pk", flat=True)}


def letters_asked() -> set[str]:
    """Return the Message-IDs of all letters asked for so far."""
    mails = OutboxMessage.objects.filter(queue="mail")
    return {f"<{pk}@setwright>" for pk in mails.values_list("pk", flat=True)}


def counts() -> dict[str, int]:
    """Rows of what may be neither lost nor doubled."""
    mine = HireRequest.objects.filter(pk__in=[pk for pk, _value in addresses()])
    told = Event.objects.filter(request__in=mine, kind="request_submitted")
    return {
        "requests": mine.count(),
        "sent": mine.exclude(submitted_at=None).count(),
        "recorded as sent": told.count(),
        "signed for": signed_here().count(),
        "orders": Order.objects.filter(request__in=mine).count(),
        "bookings": Booking.objects.filter(order__request__in=mine).count(),
    }


def parked() -> list[OutboxMessage]:
    return list(OutboxMessage.objects.filter(parked_at__isnull=False, done_at=None))


def waiting() -> int:
    return OutboxMessage.objects.filter(done_at=None, parked_at=None).count()
