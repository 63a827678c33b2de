"""The faults: each is really done to real processes, and mended again as a supervisor would."""

from __future__ import annotations

import contextlib
import os
import random
import resource
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import psycopg
import redis

from config.home import private_redis_url
from tests.faults.cluster import Cluster
from tests.faults.plant import Plant
from tests.faults.sink import Sink

JUMP_S = 7200
PARTS = ("worker", "relay", "beat", "web")


@dataclass
class Field:
    """Everything that a fault may be done to."""

    plant: Plant
    sink: Sink
    chance: random.Random
    media: Path
    media_is_small: bool
    cluster: Cluster | None = None

    def moment(self, longest_s: float = 1.0) -> None:
        """Wait for a moment that nobody chose."""
        time.sleep(self.chance.uniform(0.0, longest_s))

    def redis(self) -> redis.Redis:
        return redis.Redis.from_url(private_redis_url(self.plant.home), socket_timeout=5)

    def restart(self, part: str) -> None:
        """Kill a process with all its children, and start it again a moment later."""
        self.plant.kill(part)
        self.moment(0.5)
        self.plant.start_part(part)


Harm = Callable[[Field], None]


def worker_killed(field: Field) -> None:
    field.restart("worker")


def worker_child_killed(field: Field) -> None:
    child_killed(field, "worker")


def web_killed(field: Field) -> None:
    field.restart("web")


def web_child_killed(field: Field) -> None:
    child_killed(field, "web")


def child_killed(field: Field, part: str) -> None:
    """Kill one process of a pool; its parent starts the next."""
    if children := field.plant.children(part):
        with contextlib.suppress(ProcessLookupError):
            os.kill(field.chance.choice(children), signal.SIGKILL)


def relay_killed(field: Field) -> None:
    field.restart("relay")


def beat_killed(field: Field) -> None:
    field.restart("beat")


def everything_killed(field: Field) -> None:
    """The machine loses its power: every process at once, the broker too."""
    for part in (*PARTS, "broker"):
        os.killpg(field.plant.processes[part].pid, signal.SIGKILL)
    for part in (*PARTS, "broker"):
        field.plant.processes.pop(part).wait()
    field.plant.start_broker()
    for part in PARTS:
        field.plant.start_part(part)


def broker_killed(field: Field) -> None:
    field.plant.kill("broker")
    field.moment()
    field.plant.start_broker()


def broker_flushed(field: Field) -> None:
    field.redis().flushall()


def broker_hangs(field: Field) -> None:
    """The broker takes connections and says nothing, longer than a socket waits."""
    held(field, "broker", field.chance.uniform(0.5, 3.0))


def worker_hangs(field: Field) -> None:
    held(field, "worker", field.chance.uniform(0.5, 2.0))


def held(field: Field, part: str, seconds: float) -> None:
    field.plant.freeze(part)
    time.sleep(seconds)
    field.plant.thaw(part)


def database_crashed(field: Field) -> None:
    """PostgreSQL ends without a last word, and recovers from its log."""
    database_restarted(field, "immediate")


def database_restarted(field: Field, mode: str = "fast") -> None:
    assert field.cluster is not None
    field.cluster.stop(mode)
    field.moment()
    field.cluster.start()


def connections_cut(field: Field) -> None:
    """Every connection of the service to PostgreSQL ends in whatever it was doing."""
    others = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = "
    others += "current_database() AND pid <> pg_backend_pid()"
    with psycopg.connect(field.plant.database_url, autocommit=True) as connection:
        connection.execute(others.encode())


def mail_down(field: Field) -> None:
    field.sink.stop()
    field.moment(2.0)
    field.sink.start()


def media_full(field: Field) -> None:
    """Not a byte is left where the photos are kept."""
    ballast = field.media / "ballast"
    with contextlib.suppress(OSError), ballast.open("wb", buffering=0) as file:
        while file.write(b"\0" * 65536):
            pass
    field.moment(1.5)
    ballast.unlink()


def files_limited(field: Field) -> None:
    """No file of the web processes can grow: photos, and SQLite's log where that is used."""
    limit_files(field.plant.children("web"), 4096)
    field.moment(1.5)
    limit_files(field.plant.children("web"), resource.RLIM_INFINITY)


def limit_files(pids: list[int], most_bytes: int) -> None:
    """Set the soft limit of a file's size, which the process itself did not ask for."""
    for pid in pids:
        with contextlib.suppress(ProcessLookupError):
            resource.prlimit(pid, resource.RLIMIT_FSIZE, (most_bytes, resource.RLIM_INFINITY))


def clock_jumped(field: Field) -> None:
    """The clock of every process goes wrong by hours, and is put right."""
    clock = field.plant.home / "clock_offset_s"
    clock.write_text(str(field.chance.choice((-JUMP_S, JUMP_S))))
    field.moment(2.0)
    clock.write_text("0")


def delivered_twice(field: Field) -> None:
    """The newest messages come twice more, at once."""
    deliver("-created_at", times=2)


def delivered_late(field: Field) -> None:
    """The oldest messages come again, long after they were done."""
    deliver("created_at", times=1)


def deliver(order: str, *, times: int, most: int = 12) -> None:
    from intake.models import OutboxMessage
    from intake.outbox.relay import celery_send

    published = OutboxMessage.objects.filter(published_at__isnull=False).order_by(order)
    for message in list(published[:most]) * times:
        celery_send(message)


EVERYWHERE: tuple[Harm, ...] = (
    worker_killed, worker_child_killed, web_killed, web_child_killed, relay_killed, beat_killed,
    everything_killed, broker_killed, broker_flushed, broker_hangs, worker_hangs, mail_down,
    files_limited, clock_jumped, delivered_twice, delivered_late,
)  # fmt: skip


def faults(field: Field) -> list[Harm]:
    """Return the faults that can be done here."""
    chosen = list(EVERYWHERE)
    if field.media_is_small:
        chosen.append(media_full)
    if field.plant.database_url:
        chosen.append(connections_cut)
    if field.cluster is not None:
        chosen += [database_crashed, database_restarted]
    return chosen
