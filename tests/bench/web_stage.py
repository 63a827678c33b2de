"""A service to measure: a folder of its own, filled with invented work, and ways to ask it."""

from __future__ import annotations

import http.client
import os
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.parse
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests.live_stack import ROOT, free_port

CSRF = "b" * 32
IDLE_S = 1.5  # the web server closes a quiet connection after two seconds
SECRET = "only for measuring, 0123456789 0123456789 0123456789"


@dataclass(frozen=True)
class Ask:
    """One request of a visitor."""

    name: str
    method: str
    path: str
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes = b""
    status: int = 200


@dataclass(frozen=True)
class Answer:
    took_ms: float
    status: int
    content: bytes
    processor_ms: float


class Caller:
    """A connection that is kept, as a browser keeps it."""

    def __init__(self, port: int) -> None:
        self.port, self.used = port, 0.0
        self.line: http.client.HTTPConnection | None = None

    def ask(self, ask: Ask) -> Answer:
        if self.line is None or time.monotonic() - self.used > IDLE_S:
            self.close()
            self.line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
            self.line.connect()
        begun = time.perf_counter()
        try:
            self.line.request(ask.method, ask.path, ask.body or None, ask.headers)
            got = self.line.getresponse()
            content = got.read()
        except (OSError, http.client.HTTPException):
            self.close()
            raise
        took_ms = 1000 * (time.perf_counter() - begun)
        self.used = time.monotonic()
        spent = float(got.headers.get("X-Processor-Ms", "nan"))
        return Answer(took_ms, got.status, content, spent)

    def close(self) -> None:
        if self.line is not None:
            self.line.close()
        self.line = None


def form(fields: dict[str, str]) -> bytes:
    return urllib.parse.urlencode(fields).encode()


def shown(cookies: str) -> dict[str, str]:
    """Headers of a browser that has seen a form of the site before."""
    return {"Cookie": f"{cookies}; csrftoken={CSRF}"}


def posted(cookies: str) -> dict[str, str]:
    """Headers of a form that a browser sends."""
    return {
        **shown(cookies),
        "X-CSRFToken": CSRF,
        "Content-Type": "application/x-www-form-urlencoded",
    }


def at(taken: Sequence[float], share: float) -> float:
    """The value that this share of all does not exceed."""
    ordered = sorted(taken)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else float("nan")


def p50(taken: Sequence[float]) -> float:
    return statistics.median(taken) if taken else float("nan")


def load_line(when: str) -> str:
    """How busy the machine is: figures mean little without it."""
    one, five, _fifteen = os.getloadavg()
    processors = os.cpu_count()
    return f"load of the machine {when}: {one:.1f} ({five:.1f} over 5 min), {processors} processors"


def in_process(ask: Ask) -> Callable[[], Any]:
    """The same call without a server, for counting queries and for a profile."""
    from django.test import Client

    client = Client()
    headers = {name: value for name, value in ask.headers.items() if name != "Content-Type"}
    for cookie in filter(None, headers.pop("Cookie", "").split("; ")):
        name, _is, value = cookie.partition("=")
        client.cookies[name] = value
    kind = ask.headers.get("Content-Type", "text/plain")
    return lambda: client.generic(ask.method, ask.path, ask.body, kind, headers=headers)


# --- the folder ---------------------------------------------------------------------------
@contextmanager
def folder() -> Iterator[Path]:
    """A home that goes away, with this process's Django looking at it."""
    top = Path(tempfile.mkdtemp(prefix="web-bench-"))
    home = top / "home"
    (home / "static").mkdir(parents=True)
    os.environ.update(
        {
            "SETWRIGHT_HOME": str(home),
            "SECRET_KEY": SECRET,
            "ALLOWED_HOSTS": "127.0.0.1,testserver",
            "EMAIL_URL": "dummymail://",
            "HTTPS_ONLY": "false",
            "SETWRIGHT_API_CALLS_PER_MINUTE": "100000000",
            "SETWRIGHT_READS_PHOTOS": "off",
            "PROMETHEUS_MULTIPROC_DIR": str(home / "metrics"),
        }
    )
    (home / "metrics").mkdir()
    try:
        yield home
    finally:
        shutil.rmtree(top, ignore_errors=True)


def django_ready(settings: str) -> None:
    """Set Django up on the folder, with all tables."""
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = settings
    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    if os.environ.get("DATABASE_URL"):  # then pages name static files as an installation does
        call_command("collectstatic", interactive=False, verbosity=0)


@dataclass(frozen=True)
class Place:
    """A request and the cookie that opens it."""

    reference: str
    cookie: str

    def at(self, page: str = "") -> str:
        return f"/request/{self.reference}/{page}"


@dataclass(frozen=True)
class Plant:
    """What stands in the folder to be asked for."""

    draft: Place
    drafts: list[Place]
    quoted: list[Place]
    ordered: list[Place]
    cases: list[Place]
    staff: str
    key: str
    made: list[str]


def planted(*, drafts: int, quotes: int, cases: int, orders: int) -> Plant:
    """The demo company with this much work under way."""
    from django.utils import timezone

    from intake.models import HireRequest
    from quotes.demo.company import company_load
    from quotes.demo.people import people_load

    now = timezone.now()
    company_load(now=now)
    people_load()
    key, made = key_with_requests(now)
    first = draft_filled(now)
    return Plant(
        draft=place_of(first),
        drafts=[place_of(one) for one in draft_copies(first, drafts)],
        quoted=[place_of(quoted(now)) for _ in range(quotes)],
        ordered=[place_of(ordered(now)) for _ in range(orders)],
        cases=[case_sent(now) for _ in range(cases)],
        staff=signed_in("senior"),
        key=key,
        made=list(HireRequest.objects.filter(pk__in=made).values_list("reference", flat=True)),
    )


def place_of(request: Any) -> Place:
    from intake.requests.links import COOKIE, link_token

    return Place(request.reference, f"{COOKIE}={link_token(request.reference, 1)}")


def hire_days(now: Any) -> dict[str, str]:
    day = now.date() + timedelta(days=40)
    return {"hire_start": day.isoformat(), "hire_end": (day + timedelta(days=13)).isoformat()}


def draft_filled(now: Any) -> Any:
    """The pump's story, filled in to its last page."""
    from intake.models import HireRequest
    from tests.intake.visitor import STEPS, Visitor

    visitor = Visitor()
    visitor.fill(dates={**STEPS["dates"], **hire_days(now)})
    return HireRequest.objects.get(reference=visitor.reference)


def draft_copies(first: Any, count: int) -> list[Any]:
    """The same request again and again, each with its own number and link."""
    from django.db import transaction

    from intake.models import HireRequest
    from intake.requests.links import link_token, token_hash
    from intake.requests.starting import new_reference

    rows = [*first.answers.all()], [*first.loads.all()]
    made = []
    with transaction.atomic():
        for _ in range(count):
            copy = HireRequest.objects.get(pk=first.pk)
            copy.pk, copy.reference = None, new_reference()
            copy.token_hash = token_hash(link_token(copy.reference, 1))
            copy.save(force_insert=True)
            made.append(copy)
            for table in rows:
                for row in table:
                    row.pk, row.request = None, copy
                type(table[0]).objects.bulk_create(table)
    return made


def quoted(now: Any) -> Any:
    from tests.quotes import cast

    days = hire_days(now)
    hire = {"start": days["hire_start"], "end": days["hire_end"]}
    return cast.quoted(now=now, hire=hire).request


def ordered(now: Any) -> Any:
    from quotes.acceptance.services import Signature, quote_accept
    from quotes.models import Quote

    quote = Quote.objects.get(request=quoted(now))
    signature = Signature(name="Ada Story")
    quote_accept(quote_id=quote.pk, terms_version=quote.terms_version, signature=signature, now=now)
    return quote.request


def case_sent(now: Any) -> Place:
    from tests.intake.desk import cast

    answers = {**cast.DEWATERING, **hire_days(now)}
    return place_of(cast.sent(answers, cast.pump(), now=now))


def key_with_requests(now: Any, count: int = 60) -> tuple[str, list[int]]:
    """A key of a program that may read all, and requests that are its own."""
    from django.contrib.auth.models import User

    from intake.api.keys import key_make
    from intake.models import ApiRequest
    from intake.requests.starting import request_start

    scopes = ("sizing", "catalogue", "requests", "quotes", "cases")
    person = User.objects.get(username="senior")
    key, text = key_make(client_name="bench", scopes=scopes, now=now, acts_as=person)
    made = [request_start(language="en", now=now)[0] for _ in range(count)]
    ApiRequest.objects.bulk_create(
        [ApiRequest(request=request, client=key.client) for request in made]
    )
    return text, [request.pk for request in made]


def signed_in(username: str) -> str:
    from django.contrib.auth.models import User
    from django.test import Client

    client = Client()
    client.force_login(User.objects.get(username=username))
    return f"sessionid={client.cookies['sessionid'].value}"


# --- the web server alone -----------------------------------------------------------------
@contextmanager
def gunicorn(application: str, *, workers: int, threads: int = 4) -> Iterator[int]:
    """The web server as the service starts it; its port."""
    port = free_port()
    words = ["-m", "gunicorn", application, "--config", "python:config.web_process"]
    words += ["--bind", f"127.0.0.1:{port}", "--workers", str(workers), "--threads", str(threads)]
    process = subprocess.Popen([sys.executable, *words], cwd=ROOT, start_new_session=True)
    try:
        wait_for(port)
        yield port
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(30)


def wait_for(port: int, seconds: float = 120) -> None:
    deadline = time.monotonic() + seconds
    while True:
        try:
            if Caller(port).ask(Ask("ready", "GET", "/health/ready")).status == 200:
                return
        except OSError:
            pass
        if time.monotonic() > deadline:
            raise TimeoutError("the web server does not answer")
        time.sleep(0.1)
