"""What one tab saves while another keeps what is being typed is not written over."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import pytest
from django.utils import timezone

from intake.models import HireRequest
from intake.questions.answers import Given
from intake.requests import answering, equipment
from intake.requests.errors import VersionConflict
from intake.requests.selectors import answers_of, answers_stamp, load_stamp
from intake.requests.starting import request_start
from intake.steps.catalogue import STEP_BY_KEY

pytestmark = pytest.mark.django_db
SITE = STEP_BY_KEY["site"]


@pytest.fixture
def draft() -> HireRequest:
    return request_start(language="en", now=timezone.now())[0]


def meanwhile(patch: pytest.MonkeyPatch, module: ModuleType, act: Callable[[], object]) -> None:
    """Do this after a tab has read what is stored, and before it holds the draft."""
    touch = module.draft_touch

    def touched(request: HireRequest, **now: object) -> None:
        patch.setattr(module, "draft_touch", touch)
        act()
        touch(request, **now)

    patch.setattr(module, "draft_touch", touched)


def test_an_answer_saved_while_another_is_typed(
    draft: HireRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    now, seen = timezone.now(), answers_stamp(answers_of(draft), SITE.questions)

    def save() -> None:
        given = {"zip": Given("80424")}
        answering.answers_save(request=draft, step=SITE, given=given, seen=seen, now=now)

    meanwhile(monkeypatch, answering, save)
    with pytest.raises(VersionConflict) as refused:
        answering.answers_keep(
            request=draft, step=SITE, typed={"zip": Given("804")}, seen=seen, now=now
        )
    assert refused.value.data["theirs"] == {"zip": Given("80424")}


def test_another_answer_of_the_page_saved_meanwhile_stays(
    draft: HireRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    now, seen = timezone.now(), answers_stamp(answers_of(draft), SITE.questions)

    def save() -> None:
        given = {"altitude": Given("9600")}
        answering.answers_save(request=draft, step=SITE, given=given, seen=seen, now=now)

    meanwhile(monkeypatch, answering, save)
    typed = {"zip": Given("80424")}
    after = answering.answers_keep(request=draft, step=SITE, typed=typed, seen=seen, now=now)
    stored = answers_of(draft)
    assert (stored.value("zip"), stored.value("altitude")) == ("80424", "9600")
    assert after == answers_stamp(stored, SITE.questions)


def test_a_row_saved_while_it_is_typed(draft: HireRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    now = timezone.now()
    load = equipment.load_add(request=draft, kind="pump", now=now)
    seen, plate = load_stamp(load), "15 hp 460 V 3 ph 60 Hz 21 A code G"
    tab = draft.loads.get()

    def save() -> None:
        given = {"nameplate": Given(plate), "quantity": Given("1"), "name": Given("Pump")}
        equipment.load_save(request=draft, load=tab, given=given, seen=seen, now=now)

    meanwhile(monkeypatch, equipment, save)
    with pytest.raises(VersionConflict) as refused:
        equipment.load_keep(
            request=draft, load=load, typed={"nameplate": Given("15 h")}, seen=seen, now=now
        )
    assert refused.value.data["theirs"] == {"nameplate": Given(plate)}
