"""One id from the customer's request to the worker that follows from it."""

from __future__ import annotations

import json
import re
import urllib.parse
import urllib.request
from http.cookiejar import CookieJar
from typing import Any

import pytest
import structlog
from django.core import mail

from intake.models import OutboxMessage
from intake.outbox.relay import relay_once
from intake.tasks import mail_customer
from tests.intake.visitor import Visitor
from tests.live_stack import Stack

ID = "proxy-0123456789"


@pytest.mark.django_db
def test_the_id_of_a_request_is_in_the_log_of_its_task(settings: Any) -> None:
    settings.LOG_REQUESTS = True
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    visitor = Visitor()
    visitor.start()
    given = {"email": "ann@example.com"}
    visitor.client.post(visitor.at("link/"), given, headers={"x-request-id": ID})
    bound = [structlog.contextvars.merge_contextvars]
    with structlog.testing.capture_logs(processors=bound) as log:
        relay_once(now=OutboxMessage.objects.latest("created_at").due_at, send=at_once)
    (line,) = [event for event in log if event["event"] == "task"]
    assert line["request_id"] == ID
    assert line["task"] == "intake.mail_customer"
    assert line["outcome"] == "success"
    assert len(mail.outbox) == 1


def at_once(message: OutboxMessage) -> None:
    """Do a message's task here and now, as a worker would."""
    assert message.topic == mail_customer.name
    mail_customer.apply(kwargs=message.payload, task_id=str(message.pk), headers=message.headers)


@pytest.mark.redis
def test_it_is_so_in_the_running_service(live_stack: Stack) -> None:
    jar = urllib.request.HTTPCookieProcessor(CookieJar())
    browser = urllib.request.build_opener(jar)
    browser.addheaders = [("X-Request-ID", ID)]
    address = live_stack.url + "/"
    first = browser.open(address).read().decode()
    page = browser.open(address, form(first, application="dewatering"))
    link = re.sub(r"equipment/.*", "link/", page.geturl())
    shown = browser.open(link).read().decode()
    browser.open(link, form(shown, email="ann@example.com"))
    sent = "select headers from intake_outboxmessage where payload like '%ann@example.com%'"
    live_stack.wait_for(lambda: live_stack.rows(sent + " and done_at is not null"), 30)
    assert json.loads(live_stack.rows(sent)[0][0]) == {"request_id": ID}
    live_stack.wait_for(lambda: task_line(live_stack.log), 10)


def task_line(log: str) -> bool:
    """Whether the worker's own output has the id beside the task."""
    lines = [line for line in log.splitlines() if "worker |" in line and ID in line]
    return any("intake.mail_customer" in line for line in lines)


def form(page: str, **answers: str) -> bytes:
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
    assert token is not None
    return urllib.parse.urlencode({"csrfmiddlewaretoken": token[1], **answers}).encode()
