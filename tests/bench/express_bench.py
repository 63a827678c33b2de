"""500 express requests within a minute on the embedded default, with the duty rep's pages open.

    python -m tests.bench.express_bench [REQUESTS] [SECONDS]

Visitors arrive evenly, whether or not those before them were answered. Each opens the page as a
phone does and sends it; a rep who is signed in loads queue and emergencies every second. Nothing
is asserted on time; the report says what it took, and whether anything was lost.
"""

from __future__ import annotations

import os
import re
import statistics
import sys
import tempfile
import threading
import time
import urllib.parse
import urllib.request
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from http.cookiejar import CookieJar
from pathlib import Path

from tests.live_stack import HOMES, Stack

DUTY_PAGES = ("/desk/", "/desk/emergency/")
KINDS = ("medical", "fire", "water", "wastewater", "shelter", "municipal")
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
FORM_KEY = re.compile(r'name="form_key" value="([^"]+)"')
AT_ONCE = 200  # visitors who may wait at the same time


@dataclass(frozen=True)
class Visit:
    """What one visitor saw: the number, and how long page and answer took."""

    reference: str
    page_s: float
    answer_s: float


class Phone:
    """A browser with its own cookies that does not follow where it is led."""

    def __init__(self, url: str) -> None:
        self.url = url
        keep = urllib.request.HTTPCookieProcessor(CookieJar())
        self.opener = urllib.request.build_opener(keep, Stay())

    def get(self, path: str) -> tuple[str, float]:
        begun = time.perf_counter()
        with self.opener.open(self.url + path, timeout=60) as answer:
            return answer.read().decode(), time.perf_counter() - begun

    def post(self, path: str, fields: dict[str, str]) -> tuple[int, str, float]:
        begun = time.perf_counter()
        body = urllib.parse.urlencode(fields).encode()
        with self.opener.open(self.url + path, body, timeout=60) as answer:
            answer.read()
            took = time.perf_counter() - begun
            return answer.status, answer.headers.get("Location", ""), took


class Stay(urllib.request.HTTPErrorProcessor):
    """Every answer is an answer, a redirect too."""

    def http_response(self, request, response):  # type: ignore[no-untyped-def]
        return response

    https_response = http_response


def visit(url: str, number: int) -> Visit:
    """Open the page, fill it in, send it."""
    phone = Phone(url)
    page, page_s = phone.get("/emergency/")
    token, key = TOKEN.search(page), FORM_KEY.search(page)
    assert token, page[:400]
    assert key, page[:400]
    fields = {
        "csrfmiddlewaretoken": token[1],
        "form_key": key[1],
        "facility_kind": KINDS[number % len(KINDS)],
        "need_in": "6",
        "life_support": "no",
        "load": f"{30 + number % 90} kW",
        "supply": "480Y/277",
        "transfer_equipment": "manual_switch" if number % 3 else "none",
        "place": f"Station {number}",
        "zip": "80701",
        "company": "Alder County",
        "contact_name": f"Person {number}",
        "phone": "970 555 0171",
    }
    status, where, answer_s = phone.post("/emergency/", fields)
    assert status == 302, status
    return Visit(where.split("/")[2], page_s, answer_s)


class Duty(threading.Thread):
    """The rep who has the duty, loading the pages until told to stop."""

    def __init__(self, url: str) -> None:
        super().__init__()
        self.phone, self.over = Phone(url), threading.Event()
        self.took_s: dict[str, list[float]] = {path: [] for path in DUTY_PAGES}
        self.refused = 0
        self.sign_in()

    def sign_in(self) -> None:
        from quotes.demo.people import PASSPHRASE

        page, _took = self.phone.get("/accounts/sign-in/")
        token = TOKEN.search(page)
        assert token
        fields = {"csrfmiddlewaretoken": token[1], "username": "rep", "password": PASSPHRASE}
        status, _where, _took = self.phone.post("/accounts/sign-in/", fields)
        assert status == 302, "the demo's rep could not sign in"

    def run(self) -> None:
        while not self.over.wait(1.0):
            for path in DUTY_PAGES:
                page, took = self.phone.get(path)
                self.took_s[path].append(took)
                self.refused += "Sign out" not in page


def spread(name: str, taken_s: Sequence[float]) -> None:
    ordered = sorted(taken_s)

    def at(share: float) -> float:
        return 1000 * ordered[min(len(ordered) - 1, int(share * len(ordered)))]

    print(
        f"{name:34} n {len(ordered):4}  p50 {1000 * statistics.median(ordered):7.0f} ms"
        f"  p95 {at(0.95):7.0f} ms  p99 {at(0.99):7.0f} ms  most {1000 * ordered[-1]:7.0f} ms"
    )


def storm(url: str, requests: int, seconds: float) -> tuple[list[Visit], list[str], float]:
    """All visitors, evenly over the time; what they saw, what went wrong, how late the last was."""
    seen: list[Visit] = []
    wrong: list[str] = []
    late_s = 0.0

    def one(number: int) -> None:
        try:
            seen.append(visit(url, number))
        except Exception as error:
            wrong.append(f"{type(error).__name__}: {error}")

    begun = time.perf_counter()
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for number in range(requests):
            due = begun + number * seconds / requests
            time.sleep(max(0.0, due - time.perf_counter()))
            late_s = max(late_s, time.perf_counter() - due)
            pool.submit(one, number)
    return seen, wrong, late_s


def bench(requests: int = 500, seconds: float = 60.0) -> None:
    folder = Path(tempfile.mkdtemp(prefix="express-bench-"))
    os.environ.setdefault(HOMES, str(folder / "homes"))
    os.environ["SETWRIGHT_HOME"] = str(folder / "home")
    stack = Stack(home=folder / "home", environment={"EMAIL_URL": "dummymail://"}).start()
    try:
        import django

        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        django.setup()
        print(
            f"load of the machine before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors"
        )
        before = stack.rows("select count(*) from quotes_need")[0][0]
        duty = Duty(stack.url)
        duty.start()
        begun = time.perf_counter()
        seen, wrong, late_s = storm(stack.url, requests, seconds)
        took_s = time.perf_counter() - begun
        duty.over.set()
        duty.join()
        report(stack, seen, wrong, requests, before, took_s, late_s)
        for path, taken_s in duty.took_s.items():
            spread(f"duty rep's {path}", taken_s)
        print(f"duty rep's pages that did not open: {duty.refused}")
        print(f"load of the machine after: {os.getloadavg()[0]:.1f}")
    finally:
        stack.stop()


def report(
    stack: Stack,
    seen: list[Visit],
    wrong: list[str],
    requests: int,
    before: int,
    took_s: float,
    late_s: float,
) -> None:
    needs = stack.rows("select count(*) from quotes_need")[0][0] - before
    sql = "select count(*) from intake_case c join intake_hirerequest r on r.id = c.request_id "
    numbers = [visit.reference for visit in seen]
    cases = sum(stack.rows(sql + "where r.reference = ?", number)[0][0] for number in numbers)
    pages = stack.rows("select count(*) from quotes_page")[0][0]
    left = stack.rows("select count(*) from intake_outboxmessage where done_at is null")[0][0]
    print(f"sent {requests} in {took_s:.1f} s, arrivals at most {late_s:.2f} s late")
    print(
        f"answered with a number {len(set(numbers))}, needs {needs}, cases {cases}, calls {pages}"
    )
    print(f"lost {requests - needs}, refused or broken {len(wrong)} {wrong[:3]}")
    print(f"messages not done yet {left}")
    spread("page opened", [visit.page_s for visit in seen])
    spread("request accepted", [visit.answer_s for visit in seen])


if __name__ == "__main__":
    bench(*[kind(word) for kind, word in zip((int, float), sys.argv[1:], strict=False)])
