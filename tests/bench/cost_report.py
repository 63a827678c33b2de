"""What each act costs in processor time, for the arithmetic of config/SCALE.md.

    python -m tests.bench.cost_report

Processor time of this process, not the clock's: a busy machine weighs little on it. SQLite runs
inside the process, so that the database's share is counted too. The test client's own share is
measured by a page that does nothing and is not taken off.
"""

from __future__ import annotations

import os
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

ROUNDS = int(os.environ.get("ROUNDS", "30"))
DAY = {"hire_start": "2027-06-01", "hire_end": "2027-06-14"}


def cpu_ms(act: Callable[[], Any], rounds: int = ROUNDS) -> float:
    """Median processor time of an act."""
    act()
    taken = []
    for _ in range(rounds):
        begun = time.process_time()
        act()
        taken.append(1000 * (time.process_time() - begun))
    return statistics.median(taken)


def ready() -> None:
    os.environ.setdefault("SETWRIGHT_HOME", tempfile.mkdtemp(prefix="cost-"))
    os.environ.setdefault("EMAIL_URL", "memorymail://")
    os.environ.setdefault("SECRET_KEY", "only for measuring, 0123456789 0123456789 0123456789")
    os.environ["ALLOWED_HOSTS"] = "testserver"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def rows() -> dict[str, Callable[[], Any]]:
    """Acts of a working day, each on a database with the demo company in it."""
    import time_machine
    from django.contrib.auth.models import User
    from django.test import Client

    from intake.outbox.relay import relay_once
    from intake.requests.links import COOKIE, link_token
    from quotes.demo.company import company_load
    from quotes.demo.people import people_load
    from tests.intake.visitor import Visitor
    from tests.quotes import cast
    from tests.quotes.handover import walking

    time_machine.travel(cast.NOW + timedelta(hours=1)).start()
    company_load(now=cast.NOW)
    people_load()
    staff = Client()
    staff.force_login(User.objects.get(username="senior"))
    order = walking.ordered()
    customer = Client()
    customer.cookies[COOKIE] = link_token(order.request.reference, 1)
    where = f"/request/{order.request.reference}/"
    draft = Visitor()
    draft.fill()
    stranger = Client()

    def sent() -> None:
        made = Visitor()
        made.fill()
        made.send()

    def filled() -> None:
        Visitor().fill()

    for _ in range(20):
        cast.quoted()
    return {
        "nothing (/health/live)": lambda: stranger.get("/health/live"),
        "first page": lambda: stranger.get("/"),
        "a step shown": lambda: draft.client.get(draft.at("site/")),
        "check page": lambda: draft.client.get(draft.at("check/")),
        "a whole intake, 19 pages": filled,
        "the same, sent and sized": sent,
        "where it stands": lambda: customer.get(where),
        "quote page": lambda: customer.get(f"{where}quote/"),
        "quote PDF from the database": lambda: customer.get(f"{where}quote/1/document.pdf"),
        "hire page": lambda: customer.get(f"{where}hire/"),
        "desk: queue": lambda: staff.get("/desk/"),
        "desk: list of quotes": lambda: staff.get("/desk/quotes/"),
        "quote built, with its PDF": cast.quoted,
        "relay: a round with nothing": lambda: relay_once(now=cast.NOW, send=lambda _m: None),
    }


def main() -> None:
    ready()
    for name, act in rows().items():
        print(f"{name:32} {cpu_ms(act):8.1f} ms of processor", flush=True)


if __name__ == "__main__":
    main()
