"""Figures: what they count, that they hold no customer, and that no stranger reads them."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import redis
from django.db import transaction
from django.test import Client
from prometheus_client.parser import text_string_to_metric_families

from config.metrics.tasks import SECONDS, Stopwatch, task_counted
from config.metrics.work import WorkCollector, database_families
from config.web_process import folder_emptied, folder_made, locked
from intake.outbox.services import outbox_put
from tests.quotes import cast

NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)


def figures(text: str) -> dict[tuple[str, ...], float]:
    """Every sample by its name and labels, read by the library's own parser."""
    return {
        (sample.name, *(f"{key}={value}" for key, value in sorted(sample.labels.items()))): (
            sample.value
        )
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


def asked(client: Client) -> dict[tuple[str, ...], float]:
    answer = client.get("/metrics")
    assert answer.status_code == 200
    return figures(answer.content.decode())


@pytest.fixture
def broker_away(settings: Any) -> None:
    settings.REDIS_URL = "redis://127.0.0.1:1/0"


@pytest.fixture(autouse=True)
def one_machine(settings: Any) -> None:
    """As an embedded installation answers, whatever database the tests run on."""
    settings.SETWRIGHT_EMBEDDED = True


@pytest.mark.django_db
def test_a_request_counts_under_its_routes_name(client: Client, broker_away: None) -> None:
    name = ("setwright_requests_total", "method=GET", "route=intake:enter", "status=404")
    before = asked(client).get(name, 0)
    client.get("/r/a-token-that-nobody-holds/")
    after = asked(client)
    assert after[name] == before + 1
    assert after[("setwright_request_seconds_count", "route=intake:enter")] >= 1
    assert not any("a-token" in part for sample in after for part in sample)


@pytest.mark.django_db
def test_what_is_nowhere_is_one_series_whatever_the_address(client: Client) -> None:
    before = {key for key in asked(client) if key[0] == "setwright_requests_total"}
    for n in range(3):
        client.generic("BREW", f"/no/such/page/{n}")
    fresh = {key for key in asked(client) if key[0] == "setwright_requests_total"} - before
    assert {key[1:3] for key in fresh} <= {
        ("method=other", "route=none"), ("method=GET", "route=metrics")}  # fmt: skip


@pytest.mark.django_db
def test_the_outbox_shows_depth_and_age() -> None:
    with transaction.atomic():
        for minutes in (5, 2):
            outbox_put(topic="a", payload={}, now=NOW - timedelta(minutes=minutes))
    found = {family.name: family.samples for family in database_families(now=NOW)}
    assert found["setwright_outbox_due"][0].value == 2
    assert found["setwright_outbox_age_seconds"][0].value == 300


@pytest.mark.usefixtures("company")
def test_quotes_and_cases_are_counted_by_state() -> None:
    cast.quoted()
    found = {family.name: family.samples for family in database_families(now=NOW)}
    assert [(s.labels, s.value) for s in found["setwright_quotes"]] == [({"state": "offered"}, 1)]
    assert found["setwright_cases"] == []


@pytest.mark.django_db
def test_without_the_broker_the_rest_is_still_shown(client: Client, broker_away: None) -> None:
    shown = asked(client)
    assert shown[("setwright_up", "part=broker")] == 0
    assert shown[("setwright_up", "part=database")] == 1


@pytest.mark.redis
@pytest.mark.django_db
def test_tasks_are_counted_by_outcome_on_whatever_machine(redis_url: str, settings: Any) -> None:
    settings.REDIS_URL = redis_url
    redis.Redis.from_url(redis_url).flushall()
    for seconds in (0.005, 0.4, 99.0):
        task_counted(task="quotes.build_quote", outcome="SUCCESS", seconds=seconds)
    task_counted(task="quotes.build_quote", outcome="FAILURE", seconds=0.2)
    redis.Redis.from_url(redis_url).rpush("quotes", "a", "b")
    shown = {(s.name, *s.labels.values()): s.value for f in WorkCollector().collect()
             for s in f.samples}  # fmt: skip
    assert shown[("setwright_tasks_total", "quotes.build_quote", "success")] == 3
    assert shown[("setwright_tasks_total", "quotes.build_quote", "failure")] == 1
    assert shown[("setwright_task_seconds_bucket", "quotes.build_quote", "0.5")] == 3
    assert shown[("setwright_task_seconds_count", "quotes.build_quote")] == 4
    assert shown[("setwright_task_seconds_sum", "quotes.build_quote")] == pytest.approx(99.605)
    assert shown[("setwright_queue_length", "quotes")] == 2


def test_a_task_is_not_hurt_when_nobody_counts(broker_away: None) -> None:
    task_counted(task="quotes.build_quote", outcome="SUCCESS", seconds=SECONDS[0])


def test_a_task_whose_start_was_not_seen_took_no_time() -> None:
    assert Stopwatch().stop("unknown") == 0


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("given", "status"),
    [("", 404), ("Bearer wrong", 404), ("sesame-sesame-sesame", 404),
     ("Bearer sesame-sesame-sesame", 200)],
)  # fmt: skip
def test_with_a_token_only_its_holder_reads(
    client: Client, settings: Any, broker_away: None, given: str, status: int
) -> None:
    settings.METRICS_TOKEN = "sesame-sesame-sesame"
    headers = {"authorization": given} if given else {}
    assert client.get("/metrics", headers=headers).status_code == status


@pytest.mark.django_db
def test_without_a_token_only_this_machine_reads_and_no_proxy_for_others(
    client: Client, settings: Any, broker_away: None
) -> None:
    assert client.get("/metrics").status_code == 200
    assert client.get("/metrics", REMOTE_ADDR="198.51.100.7").status_code == 404
    assert client.get("/metrics", headers={"x-forwarded-for": "203.0.113.5"}).status_code == 404
    settings.SETWRIGHT_EMBEDDED = False
    assert client.get("/metrics").status_code == 404


def test_the_folder_of_counts_is_emptied_at_the_start(tmp_path: Path) -> None:
    (tmp_path / "counter_77.db").write_bytes(b"an earlier run")
    (tmp_path / "note.txt").write_text("not ours")
    assert folder_emptied(tmp_path) == tmp_path
    assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]


def test_without_a_folder_named_a_fresh_one_is_made_and_those_of_the_dead_go(
    tmp_path: Path,
) -> None:
    of_the_dead, of_another = tmp_path / "web-dead", tmp_path / "web-other"
    for folder in (of_the_dead, of_another):
        folder.mkdir()
        (folder / "counter_77.db").write_bytes(b"counts")
    os.close(locked(of_the_dead / "lock"))
    held = locked(of_another / "lock")
    made = folder_made(tmp_path)
    assert not list(made.glob("*.db"))
    assert {path.name for path in tmp_path.glob("web-*")} == {made.name, "web-other"}
    os.close(held)
