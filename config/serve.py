"""`setwright serve` and `setwright demo`: the whole service by one command."""

from __future__ import annotations

import argparse
import fcntl
import importlib.util
import json
import os
import socket
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from config.broker import PHOTO_QUEUE, QUEUES, photo_reader_installed
from config.home import home_ensure, home_path, private_redis_socket
from config.private_redis import NoServer, server_command, server_program
from config.supervisor import Died, Interrupted, Program, Supervisor

LOCK_FILE = "serving.json"
START_S = 120
PHOTO_WORKER = [
    *("worker", "--queues", PHOTO_QUEUE, "--hostname", "photos@%h", "--concurrency", "1"),
    *("--max-tasks-per-child", "40", "--max-memory-per-child", "800000"),  # KiB: then a fresh child
]
AFTER_PAGES = ["nice", "-n", "10"]  # on one machine, somebody who waits for a page comes first
DEMO_LOADER = "quotes.management.commands.load_demo"


@dataclass(frozen=True)
class Plan:
    """What to serve, where, and with how many processes."""

    host: str
    port: int
    demo: bool
    web_processes: int
    web_threads: int
    task_processes: int

    @property
    def url(self) -> str:
        shown = "127.0.0.1" if self.host in ("0.0.0.0", "::") else self.host  # noqa: S104
        return f"http://{f'[{shown}]' if ':' in shown else shown}:{self.port}"


class CannotServe(Exception):
    """Serving cannot begin, for a reason a person can do something about."""


class AlreadyServed(Exception):
    """Another process serves this folder."""

    def __init__(self, url: str, pid: int) -> None:
        self.url, self.pid = url, pid
        super().__init__(f"already running at {url} (process {pid}); nothing to do")


def serve(argv: list[str]) -> int:
    return serve_plan(plan_of(argv, command="serve", demo=False))


def demo(argv: list[str]) -> int:
    return serve_plan(plan_of(argv, command="demo", demo=True))


def plan_of(argv: list[str], *, command: str, demo: bool) -> Plan:
    """Read the command line."""
    parser = argparse.ArgumentParser(
        prog=f"setwright {command}",
        description="Serve the site and do its work: web, tasks, schedule, relay. "
        "Without REDIS_URL a private Redis-protocol server runs with them.",
    )
    parser.add_argument("--host", default=os.environ.get("HOST", "127.0.0.1"))
    parser.add_argument("--port", type=int, default=int(os.environ.get("PORT", "8000")))
    parser.add_argument("--web-processes", type=int, default=2)
    parser.add_argument("--web-threads", type=int, default=4)
    parser.add_argument("--task-processes", type=int, default=2)
    if not demo:
        parser.add_argument("--demo", action="store_true", help="load the demo company first")
    given = parser.parse_args(argv)
    return Plan(**{"demo": demo, **vars(given)})


def serve_plan(plan: Plan) -> int:
    """Serve until asked to stop: 0 when asked, 1 when a part died, 2 when it cannot begin."""
    try:
        with home_claimed(home_ensure(home_path()), url=plan.url):
            port_check(plan.host, plan.port)
            return supervised(plan)
    except AlreadyServed as served:
        print(f"setwright: {served}", file=sys.stderr)
        return 0 if served.url == plan.url else 2
    except (CannotServe, NoServer) as trouble:
        print(f"setwright: {trouble}", file=sys.stderr)
        return 2


@contextmanager
def home_claimed(home: Path, *, url: str) -> Iterator[None]:
    """Hold the folder for this process; the lock goes with the process, however it ends."""
    with (home / LOCK_FILE).open("a+") as lock:
        lock.seek(0)
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = json.loads(lock.read() or '{"url": "an unknown address", "pid": 0}')
            raise AlreadyServed(**holder) from None
        lock.truncate(0)
        lock.write(json.dumps({"url": url, "pid": os.getpid()}))
        lock.flush()
        yield


def port_check(host: str, port: int) -> None:
    """Refuse a port that is taken, before anything is started."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as trouble:
            raise CannotServe(
                f"cannot listen on {host} port {port}: {trouble.strerror or trouble}. Stop what "
                f"uses it, or choose another with --port {port + 1} (make demo PORT={port + 1})"
            ) from None


def supervised(plan: Plan) -> int:
    """Start everything in order, watch it, and stop it in the opposite order."""
    supervisor = Supervisor(environment=environment_of(plan))
    supervisor.heed_signals()
    try:
        start_private_redis(supervisor)
        prepare(supervisor, plan)
        for program in programs(plan):
            start(supervisor, program)
        if not supervisor.wait_until(lambda: site_answers(plan), timeout_s=START_S):
            raise CannotServe(f"the site did not answer within {START_S} s; see the lines above")
        welcome(supervisor, plan)
        supervisor.run()
    except Interrupted:
        supervisor.say("stopping, as asked")
        return 0
    except Died as death:
        supervisor.say(f"{death}: stopping everything else")
        return 1
    finally:
        supervisor.stop()
    return 0


def start(supervisor: Supervisor, program: Program) -> None:
    """Start a program that stays, and say under which number."""
    process = supervisor.start(program)
    supervisor.say(f"started {program.name}, process {process.pid}")


def environment_of(plan: Plan) -> dict[str, str]:
    """Return the environment of all the processes."""
    own = {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "SETWRIGHT_HOME": str(home_path()),
        "SETWRIGHT_DEMO": str(int(plan.demo)),
    }
    usual = {
        "SETWRIGHT_SITE_URL": plan.url,
        "PROMETHEUS_MULTIPROC_DIR": str(home_path() / "metrics"),
    }
    return {**usual, **os.environ, **own}


def start_private_redis(supervisor: Supervisor) -> None:
    """Start the private server and wait until it answers, unless REDIS_URL names another."""
    if os.environ.get("REDIS_URL"):
        return
    kind, program = server_program(os.environ.get("SETWRIGHT_REDIS", "auto"))
    address = private_redis_socket(home_path())
    address.unlink(missing_ok=True)  # left by a server that was killed; the home is ours
    command = server_command(kind=kind, program=program, socket=address, data=home_path() / "redis")
    supervisor.say(f"private Redis-protocol server: {program}")
    start(supervisor, Program("redis", command))
    if not supervisor.wait_until(lambda: redis_answers(address), timeout_s=START_S):
        raise CannotServe(f"{program} did not answer within {START_S} s")


def redis_answers(address: Path) -> bool:
    """Ask the private server for a PONG. While it still loads its file, it gives none."""
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
            client.settimeout(1)
            client.connect(str(address))
            client.sendall(b"PING\r\n")
            return client.recv(64).startswith(b"+PONG")
    except OSError:
        return False


def prepare(supervisor: Supervisor, plan: Plan) -> None:
    """Bring the database up to date, gather the static files, and load the demo when asked."""
    supervisor.run_to_end(setwright("migrate", "migrate", "--noinput", "--verbosity", "0"))
    supervisor.run_to_end(setwright("static", "collectstatic", "--noinput", "--verbosity", "0"))
    if plan.demo and importlib.util.find_spec(DEMO_LOADER):
        supervisor.run_to_end(setwright("demo", "load_demo"))


def programs(plan: Plan) -> list[Program]:
    """Return what runs, in the order of starting; it stops the other way round."""
    celery = [sys.executable, "-m", "celery", "--quiet", "--app", "config.celery"]
    web = [sys.executable, "-m", "gunicorn", "config.wsgi:application"]
    web += ["--config", "python:config.web_process"]
    web += ["--bind", f"{f'[{plan.host}]' if ':' in plan.host else plan.host}:{plan.port}"]
    web += ["--workers", str(plan.web_processes), "--threads", str(plan.web_threads)]
    quiet = ["--loglevel", "WARNING", "--without-gossip", "--without-mingle"]
    worker = [*celery, "worker", "--queues", ",".join(q for q in QUEUES if q != PHOTO_QUEUE)]
    worker += ["--concurrency", str(plan.task_processes), *quiet]
    photos = Program("photos", [*AFTER_PAGES, *celery, *PHOTO_WORKER, *quiet], grace_s=30)
    return [
        Program("worker", [*AFTER_PAGES, *worker], grace_s=30),
        *([photos] if reads_photos() else []),
        setwright("relay", "relay"),
        Program("beat", [*celery, "beat", "--loglevel", "WARNING", "--pidfile="]),
        Program("web", web, grace_s=15),
    ]


def reads_photos() -> bool:
    """Say whether photos are read here: the extra is installed, and nobody said no."""
    said = os.environ.get("SETWRIGHT_READS_PHOTOS", "on").strip().lower()
    return photo_reader_installed() and said not in ("0", "no", "off", "false", "n", "f")


def setwright(name: str, *words: str) -> Program:
    return Program(name, [sys.executable, "-m", "config", *words])


def site_answers(plan: Plan) -> bool:
    """Ask the site, under a name it knows, whether it is ready for requests."""
    known = os.environ.get("ALLOWED_HOSTS", "").split(",")[0].strip().lstrip(".")
    named = {"Host": known} if known not in ("", "*") else {}
    question = urllib.request.Request(f"{plan.url}/health/ready", headers=named)  # noqa: S310
    try:
        with urllib.request.urlopen(question, timeout=2) as answer:  # noqa: S310
            return bool(answer.status == 200)
    except OSError:  # refused, or an answer that is not 200
        return False


def welcome(supervisor: Supervisor, plan: Plan) -> None:
    """Say where the site is, and for the demo who may sign in, as its loader put it."""
    if plan.demo:
        supervisor.say("this is a demo: an invented hire company, nothing here can be hired")
        supervisor.say(f"review desk: {plan.url}/desk/")
        supervisor.say(supervisor.last_lines.get("demo", "no demo people were loaded"))
    supervisor.say(f"serving at {plan.url}/  (Ctrl-C stops everything)")
