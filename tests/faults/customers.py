"""Customers who keep the service busy: programs with a key, and people with a browser.

A program that gets no answer sends the call again under the same Idempotency-Key, as its
documentation tells it to, until it has one or is told to stop. A person who gets none leaves it at
that.
"""

from __future__ import annotations

import json
import random
import threading
from collections import deque
from dataclasses import dataclass
from datetime import date, timedelta
from io import BytesIO
from typing import Any

import requests
from bs4 import BeautifulSoup
from PIL import Image

from tests.faults.ledger import Ledger

# The demo's dewatering job, as a program sends it.
LOADS: list[dict[str, Any]] = [
    {
        "kind": "pump",
        "name": "Sump pump",
        "nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G",
        "float_switch": True,
        "starting": "across_the_line",
    }
]
ANSWERS: dict[str, Any] = {
    "float_starts_set": "set",
    "inflow": "200 gpm",
    "pump_rate": "400 gpm",
    "active_volume": "2000 gal",
    "supply": "480Y/277",
    "zip": "80424",
    "altitude": "9600 ft",
    "ambient": "90 degF",
    "delivery": "deliver",
    "hours_per_day": "24",
    "refuel_every": "24",
    "lead_length": "75 ft",
    "crossing": False,
    "public_nearby": False,
    "contact_name": "Ann Field",
    "phone": "970 555 0142",
}
OURS = "@load.example"
FIRST_DAY = date(2027, 2, 1)
DAYS = 330
ANSWER_S = 30
REPEATED = "Idempotent-Replayed"
AGAIN_SHARE = 0.2
RIVAL_SHARE = 0.15


@dataclass
class Job:
    """One hire a program asks for."""

    key: str
    reference: str
    polls: int = 0


class Customer(threading.Thread):
    """Runs job after job until told to stop; what nobody foresaw is written down as wrong."""

    def __init__(self, *, name: str, url: str, ledger: Ledger, seed: int) -> None:
        super().__init__(name=name, daemon=True)
        self.url, self.ledger = url, ledger
        self.chance = random.Random(seed)
        self.stopping = threading.Event()
        self.number = 0

    def run(self) -> None:
        while not self.stopping.is_set():
            self.number += 1
            try:
                self.job()
            except requests.RequestException:
                self.ledger.counted("unanswered")
                self.stopping.wait(0.3)
            except Exception as error:
                self.ledger.noted_wrong(f"{self.name}: {error!r}")
                raise
            self.stopping.wait(self.chance.uniform(0.2, 1.0))

    def job(self) -> None:
        raise NotImplementedError


class Program(Customer):
    """Makes requests, sends them, and accepts the quotes that come."""

    def __init__(self, *, key: str, **usual: Any) -> None:
        super().__init__(**usual)
        self.session = requests.Session()
        self.session.headers["Authorization"] = f"Bearer {key}"
        self.waiting: deque[Job] = deque()

    def job(self) -> None:
        if len(self.waiting) < 6:
            self.ask()
        if self.waiting:
            self.look(self.waiting.popleft())

    def ask(self) -> None:
        """Make a request and send it."""
        key = f"{self.name}-{self.number:05}"
        self.ledger.asked("made", key)
        made = self.certain("requests", f"{key}-make", self.body(key))
        reference = made.json()["reference"]
        self.ledger.acknowledged("made", key, reference)
        path = f"requests/{reference}/submission"
        self.ledger.asked("sent", key, reference)
        sent = self.certain(path, f"{key}-send", None, {"If-Match": made.headers["ETag"]})
        status = sent.json()["status"]
        self.ledger.acknowledged("sent", key, reference, status)
        if status == "pricing":
            self.waiting.append(Job(key, reference))
        else:
            self.ledger.counted("to the desk")

    def body(self, key: str) -> dict[str, Any]:
        first = FIRST_DAY + timedelta(days=self.chance.randrange(DAYS))
        last = first + timedelta(days=self.chance.randrange(1, 5))
        own = {"email": address(key), "hire_start": str(first), "hire_end": str(last)}
        return {"application": "dewatering", "answers": {**ANSWERS, **own}, "loads": LOADS}

    def look(self, job: Job) -> None:
        """Accept the quote if it is there, else wait on."""
        answer = self.session.get(self.at(f"requests/{job.reference}/quote"), timeout=ANSWER_S)
        if answer.status_code == 200 and answer.json()["state"] == "offered":
            self.accept(job, answer.json())
        elif answer.status_code == 404 and answer.json().get("status") == "in_review":
            self.ledger.counted("referred")
        else:
            job.polls += 1
            self.waiting.append(job)

    def accept(self, job: Job, quote: dict[str, Any]) -> None:
        """Accept once, now and then in a race of two calls with keys of their own."""
        rivals = [f"{job.key}-accept"]
        if self.chance.random() < RIVAL_SHARE:
            rivals.append(f"{job.key}-rival")
        threads = [threading.Thread(target=self.sign, args=(job, quote, key)) for key in rivals]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    def sign(self, job: Job, quote: dict[str, Any], key: str) -> None:
        self.ledger.asked("accepted", key, job.reference)
        asked = {"revision": quote["revision"], "terms_version": quote["terms_version"]}
        path = f"requests/{job.reference}/quote/acceptance"
        try:
            answer = self.certain(path, key, {**asked, "name": "Ann Field"})
        except requests.RequestException:  # it was told to stop: the call stays unsure
            return
        if answer.status_code == 201:
            self.ledger.acknowledged("accepted", key, job.reference, answer.json()["number"])
        else:
            self.ledger.refused("accepted", key, answer.json()["code"])

    def certain(
        self, path: str, key: str, body: dict[str, Any] | None, more: dict[str, str] | None = None
    ) -> requests.Response:
        """Send a call until it is answered; now and then once more, to see the same answer."""
        answer = self.answered(path, key, body, more)
        if self.chance.random() < AGAIN_SHARE:
            again = self.answered(path, key, body, more)
            if again.status_code != answer.status_code or again.json() != answer.json():
                self.ledger.noted_wrong(
                    f"{path} {key}: {answer.text[:200]} then {again.text[:200]}"
                )
        if answer.status_code >= 400 and not path.endswith("acceptance"):
            raise AssertionError(f"{path} {key}: {answer.status_code} {answer.text[:500]}")
        return answer

    def answered(
        self, path: str, key: str, body: dict[str, Any] | None, more: dict[str, str] | None
    ) -> requests.Response:
        headers = {"Idempotency-Key": f'"{key}"', **(more or {})}
        data = None if body is None else json.dumps(body)
        if data:
            headers["Content-Type"] = "application/json"
        unheard = False
        while True:
            try:
                answer = self.session.post(
                    self.at(path), data=data, headers=headers, timeout=ANSWER_S
                )
            except requests.RequestException:
                self.ledger.counted("unanswered")
            else:
                if answer.status_code < 500 and not in_use(answer):
                    if unheard and answer.headers.get(REPEATED):
                        self.ledger.counted("done unheard, told again")
                    return answer
                self.ledger.counted(f"answered {answer.status_code}")
            unheard = True
            if self.stopping.wait(self.chance.uniform(0.1, 0.5)):
                raise requests.ConnectionError("told to stop while it waited for an answer")

    def at(self, path: str) -> str:
        return f"{self.url}/api/v1/{path}"


def in_use(answer: requests.Response) -> bool:
    return answer.status_code == 409 and "idempotency_key_in_use" in answer.text


def address(key: str) -> str:
    """The mail address that tells whose request it is."""
    return f"{key.lower()}{OURS}"


def plate_picture(chance: random.Random) -> bytes:
    """A photo that no other is like, too large for a disk that is full."""
    kept = BytesIO()
    noise = Image.frombytes("L", (160, 120), chance.randbytes(160 * 120))
    noise.save(kept, "JPEG")
    return kept.getvalue()


class Person(Customer):
    """Starts requests by page, says who they are, and adds a photo of a plate."""

    def job(self) -> None:
        key = f"{self.name}-{self.number:05}"
        web = requests.Session()
        where = self.sent(web, "/", {"application": "dewatering"}, call=("begun", key, ""))
        if where is None:
            return
        reference = where.split("/")[2]
        self.ledger.acknowledged("begun", key, reference)
        contact = {"contact_name": "Ann Field", "email": address(key), "phone": "970 555 0142"}
        said = ("answered", key, reference)
        if self.sent(web, f"/request/{reference}/contact/", contact, call=said):
            self.ledger.acknowledged(*said, address(key))
        if self.number % 2:
            self.photo(web, key, reference, where)

    def photo(self, web: requests.Session, key: str, reference: str, page: str) -> None:
        files = {"photo": ("plate.jpg", plate_picture(self.chance), "image/jpeg")}
        added = ("photo", key, reference)
        if self.sent(web, page.split("?")[0], {"add_photo": "1"}, files, call=added):
            self.ledger.acknowledged(*added)

    def sent(
        self, web: requests.Session, path: str, answers: dict[str, str], files: Any = None,
        *, call: tuple[str, str, str],
    ) -> str | None:  # fmt: skip
        """Fill in a page as it is served and send it; return where it leads if it was taken."""
        shown = web.get(self.url + path, timeout=ANSWER_S)
        shown.raise_for_status()  # nobody fills in a page of an error
        page = BeautifulSoup(shown.text, "html.parser")
        hidden = {f["name"]: f["value"] for f in page.select("main form input[type=hidden]")}
        token = {k: v for k, v in hidden.items() if k == "csrfmiddlewaretoken"}
        seen = {k: v for k, v in hidden.items() if k != "csrfmiddlewaretoken"}
        self.ledger.asked(*call)
        taken = web.post(
            self.url + path, data={**seen, **token, **answers}, files=files, timeout=ANSWER_S,
            headers={"Referer": self.url}, allow_redirects=False,
        )  # fmt: skip
        if taken.status_code == 302:
            return str(taken.headers["Location"])
        if taken.status_code < 500:
            self.ledger.refused(call[0], call[1], f"page {taken.status_code}")
        else:  # nobody can tell whether it took effect
            self.ledger.counted(f"page answered {taken.status_code}")
        return None
