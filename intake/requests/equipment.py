"""Rows of equipment: add, save, copy, multiply, reorder, remove."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.db.models import Max

from intake.events.services import event_record
from intake.models import HireRequest, RequestLoad
from intake.questions.answers import Given
from intake.questions.equipment import EQUIPMENT_KINDS, MOST_ROWS
from intake.requests.drafts import draft_touch
from intake.requests.errors import AnswerRefused, VersionConflict
from intake.requests.selectors import load_stamp

TOO_MANY_ROWS = "A request holds up to {most} rows of equipment. Put equal pieces into one row."


@transaction.atomic
def load_add(*, request: HireRequest, kind: str, now: datetime) -> RequestLoad:
    """A new, still empty row at the end."""
    draft_touch(request, now=now)
    _refuse_too_many(request)
    load = RequestLoad(
        request=request,
        position=_last_position(request) + 1,
        kind=kind,
        name=_free_name(request, str(EQUIPMENT_KINDS[kind].label)),
        updated_at=now,
    )
    load.full_clean(exclude=["request"])
    load.save()
    return load


@transaction.atomic
def load_save(
    *, request: HireRequest, load: RequestLoad, given: Mapping[str, Given], seen: str, now: datetime
) -> None:
    """Save a row that passed its checks, unless another tab changed it meanwhile."""
    draft_touch(request, now=now)
    load.refresh_from_db()
    _refuse_overwriting(load, given, seen)
    _take(load, given)
    load.draft, load.updated_at = {}, now
    load.full_clean(exclude=["request"])
    load.save()
    event_record(
        kind="load_saved",
        now=now,
        actor="customer",
        request=request,
        subject=load.name,
        nameplate=load.nameplate or "not sure",
    )


@transaction.atomic
def load_keep(
    *, request: HireRequest, load: RequestLoad, typed: Mapping[str, Given], seen: str, now: datetime
) -> str:
    """Keep a row as it is being typed; it counts only once it was saved."""
    load.refresh_from_db()
    before = load_given(load)
    if all(before.get(key) == answer for key, answer in typed.items()):
        return load_stamp(load)  # late news of what was saved meanwhile
    draft_touch(request, now=now)
    load.refresh_from_db()  # as it stands now that no other tab may write
    _refuse_overwriting(load, typed, seen)
    load.draft = {key: {"value": g.value, "unsure": g.unsure} for key, g in typed.items()}
    load.updated_at = now
    load.save(update_fields=["draft", "updated_at"])
    return load_stamp(load)


def load_given(load: RequestLoad) -> dict[str, Given]:
    """A row as the answers to its questions; what was typed last wins."""
    if load.draft:
        return {key: Given(kept["value"], kept["unsure"]) for key, kept in load.draft.items()}
    nameplate = Given(load.nameplate or None, load.nameplate_unsure)
    fresh = nameplate.empty and not load.typical_code
    return {
        "name": Given(load.name),
        "quantity": Given(str(load.quantity)),
        "nameplate": nameplate,
        "typical_code": Given(load.typical_code or None),
        "float_switch": _yes_no(load.float_switch, fresh),
        "restarts_itself": _yes_no(load.restarts_itself, fresh),
        "starting": Given(
            None if fresh else load.starting, not fresh and load.starting == "unsure"
        ),
        "demand_percent": _percent(load.demand_percent, fresh),
        "starts_after": Given(load.starts_after or None),
        "never_with": Given(load.never_with or None),
    }


@transaction.atomic
def load_copy(*, request: HireRequest, load: RequestLoad, copies: int, now: datetime) -> None:
    """Put copies of a row at the end, each with a name of its own."""
    draft_touch(request, now=now)
    for _ in range(copies):
        _refuse_too_many(request)
        name = _free_name(request, load.name)
        copy = RequestLoad.objects.get(pk=load.pk)
        copy.pk, copy.name, copy.updated_at = None, name, now
        copy.position = _last_position(request) + 1
        copy.full_clean(exclude=["request"])
        copy.save()


@transaction.atomic
def load_remove(*, request: HireRequest, load: RequestLoad, now: datetime) -> None:
    """Take a row out."""
    draft_touch(request, now=now)
    event_record(kind="load_removed", now=now, actor="customer", request=request, subject=load.name)
    load.delete()


@transaction.atomic
def load_move(*, request: HireRequest, load: RequestLoad, up: bool, now: datetime) -> None:
    """Swap a row with its neighbor."""
    draft_touch(request, now=now)
    rows = list(request.loads.all())
    place = next(n for n, row in enumerate(rows) if row.pk == load.pk)
    other = place - 1 if up else place + 1
    if 0 <= other < len(rows):
        rows[place], rows[other] = rows[other], rows[place]
    for position, row in enumerate(rows):
        RequestLoad.objects.filter(pk=row.pk).exclude(position=position).update(position=position)


def _take(load: RequestLoad, given: Mapping[str, Given]) -> None:
    load.name = given["name"].value
    load.quantity = int(given["quantity"].value)
    load.nameplate = given["nameplate"].value or ""
    load.nameplate_unsure = given["nameplate"].unsure
    load.typical_code = "" if load.nameplate else _value(given, "typical_code") or ""
    load.starting = _value(given, "starting") or "unsure"
    load.float_switch = _flag(_value(given, "float_switch"))
    load.restarts_itself = _flag(_value(given, "restarts_itself"))
    percent = _value(given, "demand_percent")
    load.demand_percent = int(percent) if percent else None
    load.starts_after = _value(given, "starts_after") or ""
    load.never_with = _value(given, "never_with") or ""


def _value(given: Mapping[str, Given], key: str) -> str | None:
    return given[key].value if key in given and not given[key].unsure else None


def _flag(value: str | None) -> bool | None:
    return None if value is None else value == "yes"


def _yes_no(flag: bool | None, fresh: bool) -> Given:
    return Given(unsure=not fresh) if flag is None else Given("yes" if flag else "no")


def _percent(percent: int | None, fresh: bool) -> Given:
    return Given(unsure=not fresh) if percent is None else Given(str(percent))


def _refuse_overwriting(load: RequestLoad, given: Mapping[str, Given], seen: str) -> None:
    if load_stamp(load) == seen:
        return
    before = load_given(load)
    theirs = {
        key: before[key]
        for key, answer in given.items()
        if key in before and before[key] != answer and not before[key].empty
    }
    if theirs:
        raise VersionConflict(theirs=theirs)


def _refuse_too_many(request: HireRequest) -> None:
    if request.loads.count() >= MOST_ROWS:
        raise AnswerRefused({"equipment": [TOO_MANY_ROWS.format(most=f"{MOST_ROWS:,}")]})


def _last_position(request: HireRequest) -> int:
    return int(request.loads.aggregate(last=Max("position"))["last"] or 0)


def _free_name(request: HireRequest, name: str) -> str:
    """The name, with a number where the request already has one of that name."""
    taken = set(request.loads.values_list("name", flat=True))
    base = name.rstrip("0123456789").rstrip() or name
    numbered = (f"{base[:110]} {n}" for n in range(2, MOST_ROWS + 3))
    return name if name not in taken else next(n for n in numbered if n not in taken)
