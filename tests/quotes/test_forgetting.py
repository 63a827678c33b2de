"""People's words that a process keeps: gone with an erasure, and by themselves after minutes."""

from __future__ import annotations

import functools
import gc
import importlib
import json
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import time_machine
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse

import config
import intake
import quotes
import sizing
from config.celery import task_ended
from config.forgetting import ForgettingMiddleware
from demo_fixtures import story
from intake.models import HireRequest
from intake.requests import picture
from quotes.fleet.selectors import fleet_for_sizing
from quotes.privacy import forgetting
from quotes.privacy.erase import person_erase
from quotes.privacy.forgetting import FORGET_AFTER, WITH_WORDS, Forgetting
from tests.intake.desk.cast import person, shelter
from tests.quotes.cast import NOW, quoted

Holder = Callable[[HireRequest], Client]
LINES = Path(__file__).with_name("kept_without_words.txt").read_text().splitlines()
JUDGED = {line for line in LINES if not line.startswith("#")}
Kept = type(functools.lru_cache(lambda: None))


@pytest.fixture(autouse=True)
def _frozen() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def sizes() -> dict[str, int]:
    return {named(kept): kept.cache_info().currsize for kept in WITH_WORDS}


def named(kept: Any) -> str:
    return f"{kept.__module__}.{getattr(kept, '__qualname__', '')}"


def all_kept() -> dict[str, Any]:
    """Every function of ours whose results are kept for what it is given."""
    for package in (config, intake, quotes, sizing):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if module.name.rpartition(".")[2] not in ("__main__", "wsgi", "asgi"):
                importlib.import_module(module.name)
    ours = tuple(f"{one.__name__}." for one in (config, intake, quotes, sizing))
    found = [one for one in gc.get_objects() if issubclass(type(one), Kept)]  # asks no lazy one
    return {named(one): one for one in found if named(one).startswith(ours)}


def test_every_kept_result_is_forgotten_or_judged_to_hold_nobodys_words() -> None:
    given = {name for name, kept in all_kept().items() if parameters(kept)}
    forgotten = {named(kept) for kept in WITH_WORDS}
    assert given - forgotten - JUDGED == set(), (
        "say in quotes/privacy/forgetting.py that these are forgotten, or in tests/quotes/"
        "kept_without_words.txt that they hold nobody's words"
    )
    assert JUDGED | forgotten == given
    assert not JUDGED & forgotten


def parameters(kept: Any) -> int:
    return int(kept.__wrapped__.__code__.co_argcount + kept.__wrapped__.__code__.co_kwonlyargcount)


@pytest.fixture
def shown(company: None, holder: Holder) -> HireRequest:
    """A request that was sized, priced and looked at, so that all its words are kept."""
    request = quoted("dewatering").request
    page = holder(request).get(reverse("quotes:offer", args=[request.reference]))
    assert page.status_code == 200
    assert picture._figures(json.dumps(story("dewatering")), picture._Fleet(fleet_for_sizing()))
    shelter()  # a case
    rep = Client()
    rep.force_login(person("ida", "rep"))
    assert rep.get(reverse("desk:queue")).status_code == 200
    assert all(sizes().values()), sizes()
    return request


def test_an_erasure_empties_all_of_it_once_it_is_safe(
    shown: HireRequest, django_capture_on_commit_callbacks: Any
) -> None:
    email = shown.answers.get(key="email").value
    with django_capture_on_commit_callbacks(execute=True):
        assert person_erase(email=email, actor="Morgan", now=NOW) == [shown.reference]
        assert all(sizes().values())
    assert not any(sizes().values())


class Waits:
    """Stands for a timer, and waits for nobody."""

    made: list[Waits]

    def __init__(self, seconds: float, over: Callable[[], None]) -> None:
        self.seconds, self.over, self.daemon, self.alive = seconds, over, False, False
        self.made.append(self)

    def start(self) -> None:
        self.alive = True

    def is_alive(self) -> bool:
        return self.alive


@pytest.fixture
def timers(monkeypatch: pytest.MonkeyPatch) -> list[Waits]:
    monkeypatch.setattr(forgetting, "Timer", Waits)
    Waits.made = []
    return Waits.made


def test_what_work_left_is_forgotten_within_the_stated_minutes_of_its_end(
    shown: HireRequest, timers: list[Waits], monkeypatch: pytest.MonkeyPatch
) -> None:
    purged: list[bool] = []
    monkeypatch.setattr(re, "purge", lambda: purged.append(True))
    one = Forgetting()
    one.work_ended()
    one.work_ended()
    (timer,) = timers
    assert timer.seconds <= 600  # config/SECURITY.md says so
    assert (timer.seconds, timer.daemon) == (FORGET_AFTER.total_seconds(), True)
    timer.over()
    assert not any(sizes().values())
    assert purged  # patterns made of names
    one.work_ended()
    assert len(timers) == 2


def test_a_process_forked_while_another_waits_begins_its_own_wait(timers: list[Waits]) -> None:
    one = Forgetting()
    one.work_ended()
    timers[0].alive = False  # as threads of the parent are after a fork
    one.work_ended()
    assert len(timers) == 2


@pytest.fixture
def ended(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    told: list[bool] = []
    monkeypatch.setattr("config.forgetting.work_ended", lambda: told.append(True))
    monkeypatch.setattr(forgetting, "work_ended", lambda: told.append(True))
    return told


def test_every_request_ends_a_piece_of_work_even_one_that_fails(ended: list[bool]) -> None:
    def view(request: HttpRequest) -> HttpResponse:
        if request.path == "/broken":
            raise ZeroDivisionError
        return HttpResponse()

    ask = RequestFactory()
    ForgettingMiddleware(view)(ask.get("/"))
    with pytest.raises(ZeroDivisionError):
        ForgettingMiddleware(view)(ask.get("/broken"))
    assert ended == [True, True]
    Client().get("/health/live")
    assert len(ended) == 3


def test_every_task_ends_a_piece_of_work(
    ended: list[bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("config.celery.task_counted", lambda **_: None)
    task_ended(task=SimpleNamespace(name="quotes.build_quote"), task_id="t", state="FAILURE")
    assert ended == [True]
