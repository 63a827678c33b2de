"""One running installation with its mail server, its small disk and its customers."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

from tests.faults.cluster import Cluster
from tests.faults.customers import Customer, Person, Program
from tests.faults.driver import Driver
from tests.faults.harm import PARTS, Field
from tests.faults.ledger import Ledger
from tests.faults.plant import Plant
from tests.faults.sink import Sink
from tests.live_stack import HOMES, home_prepared

SCOPES = ("sizing", "catalogue", "requests", "quotes")
OWN_CLUSTER = "postgres"
SQLITE = "sqlite"
GOES_WITHIN_S = 180


@dataclass
class Stage:
    """What a run of rounds is played on."""

    field: Field
    ledger: Ledger
    customers: list[Customer]

    def load(self, *, programs: int, people: int, drivers: int, seed: int) -> None:
        """Make the customers, and the drivers who serve them, and let them begin."""
        from quotes.demo.people import PASSPHRASE

        words = [word for scope in SCOPES for word in ("--scope", scope)]
        key = self.command("api_key", "make", "load", *words).strip()
        usual: dict[str, Any] = {"url": self.field.plant.url, "ledger": self.ledger}
        for n in range(programs):
            self.customers.append(Program(name=f"p{n}", seed=seed + n, key=key, **usual))
        for n in range(people):
            self.customers.append(Person(name=f"w{n}", seed=seed + 50 + n, **usual))
        usual["passphrase"] = PASSPHRASE
        for n in range(drivers):
            self.customers.append(Driver(name=f"d{n}", seed=seed + 90 + n, **usual))
        for customer in self.customers:
            customer.start()

    def command(self, *words: str) -> str:
        """Run one of the installation's commands in this process; return what it said."""
        from django.core.management import call_command

        said = StringIO()
        with suppress(SystemExit):  # what is wrong is in the words
            call_command(*words, stdout=said)
        return said.getvalue()

    def hush(self) -> None:
        """Let every customer finish what it is at, and go."""
        for customer in self.customers:
            customer.stopping.set()
        for customer in self.customers:
            customer.join(GOES_WITHIN_S)
            if customer.is_alive():
                self.ledger.noted_wrong(f"{customer.name} is still at it")


@contextmanager
def stage(*, database: str, seed: int, time_limit_s: int, web: int = 2) -> Iterator[Stage]:
    """Set everything up in a folder that goes away, and take it down again."""
    with ExitStack() as held:
        folder = Path(tempfile.mkdtemp(prefix="setwright-faults-"))
        held.callback(shutil.rmtree, folder, ignore_errors=True)
        cluster = held.enter_context(own_cluster()) if database == OWN_CLUSTER else None
        url = cluster.url if cluster else "" if database == SQLITE else database
        small = held.enter_context(small_media(folder / "media"))
        sink = Sink().start()
        held.callback(sink.stop)
        more = {"EMAIL_URL": sink.url, "MEDIA_ROOT": str(folder / "media")}
        plant = Plant(folder / "home", time_limit_s=time_limit_s, database_url=url, more=more)
        plant.web_processes = web
        held.callback(plant.end)
        chance = random.Random(seed)
        field = Field(plant, sink, chance, folder / "media", small, cluster)
        yield Stage(field, Ledger(folder / "ledger.jsonl"), [])


def begun(stage: Stage) -> None:
    """Prepare the installation and start every process of it."""
    plant = stage.field.plant
    if HOMES in os.environ and not plant.database_url:
        home_prepared(plant.home, demo=True)
    else:
        plant.prepare()
    plant.start_broker()
    for part in PARTS:
        plant.start_part(part)
    plant.wait_for(plant.answers, 120)


def inside(plant: Plant) -> None:
    """Make this process one of the installation's own, to read its database."""
    import django

    os.environ.update(plant.environment())
    django.setup()


@contextmanager
def own_cluster() -> Iterator[Cluster]:
    cluster = Cluster()
    try:
        yield cluster.make()
    finally:
        cluster.remove()


@contextmanager
def small_media(folder: Path) -> Iterator[bool]:
    """Mount a small disk, with room for every photo of a run; say whether this machine let us."""
    folder.mkdir(exist_ok=True)
    mount = ["mount", "-t", "tmpfs", "-o", "size=64m", "tmpfs", str(folder)]
    try:
        mounted = subprocess.run(mount, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        mounted = False
    try:
        yield mounted
    finally:
        if mounted:
            subprocess.run(["umount", "--lazy", str(folder)], check=False)
