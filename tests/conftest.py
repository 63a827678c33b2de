"""What every test may ask for. What a machine lacks is skipped with a reason; with
SETWRIGHT_REQUIRE_ALL=1, as in continuous integration, it fails instead."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, settings

from tests.live_stack import HOMES, Stack

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

# the shell without a screen takes two thirds of the processor time of the whole program
CHROMIUM_NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
CHROMIUM_FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]

# set before the workers start, so that they share what one of them has prepared
os.environ.setdefault(HOMES, f"{tempfile.gettempdir()}/setwright-tests-{os.getpid()}")
settings.register_profile(
    "here", deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
settings.register_profile("ci", settings.get_profile("here"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Remove the prepared folders when the whole run is over."""
    if not hasattr(session.config, "workerinput"):
        shutil.rmtree(os.environ[HOMES], ignore_errors=True)


@pytest.hookimpl(tryfirst=True)  # before xdist reads the groups
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep tests that share a running service, or a browser, in one worker process."""
    for item in items:
        group = shared_service(item)
        if group:
            item.add_marker(pytest.mark.xdist_group(group))


def shared_service(item: pytest.Item) -> str:
    """Name the service that a test shares with others, or nothing."""
    if item.get_closest_marker("faults"):
        return "faults"
    if "live_stack" in getattr(item, "fixturenames", ()):
        return "stack"
    return item.path.name if item.get_closest_marker("browser") else ""


def lacking(what: str) -> NoReturn:
    """Skip the test, or fail it where everything must be there."""
    if os.environ.get("SETWRIGHT_REQUIRE_ALL") == "1":
        pytest.fail(f"{what} (SETWRIGHT_REQUIRE_ALL=1)", pytrace=False)
    pytest.skip(what)


@pytest.fixture(autouse=True)
def language_left() -> Iterator[None]:
    """Leave no language behind: a page asked for in Spanish would change the next test's words."""
    yield
    translation = sys.modules.get("django.utils.translation")
    if translation is not None:
        translation.deactivate()


@pytest.fixture(autouse=True)
def counted_anew() -> None:
    """Count calls and tries from nought: rows of the test before had the same keys."""
    from django.core.cache import cache

    cache.clear()


@pytest.fixture(scope="session")
def redis_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A private Redis-protocol server of the tests."""
    from config.home import private_redis_socket
    from config.private_redis import NoServer, server_command, server_program
    from config.serve import redis_answers

    home = tmp_path_factory.mktemp("redis")
    try:
        kind, program = server_program(os.environ.get("SETWRIGHT_REDIS", "auto"))
    except NoServer as reason:
        lacking(str(reason))
    socket = private_redis_socket(home)
    command = server_command(kind=kind, program=program, socket=socket, data=home)
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 20
    while not redis_answers(socket):
        assert time.monotonic() < deadline, f"{program} does not answer"
        time.sleep(0.05)
    yield f"unix://{socket}"
    server.terminate()
    server.wait(10)


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """A fresh PostgreSQL database, on the server of TEST_POSTGRES_URL or the local socket."""
    import psycopg

    server = os.environ.get("TEST_POSTGRES_URL", "postgres:///postgres")
    name = f"setwright_{uuid4().hex[:12]}"
    try:
        with psycopg.connect(server, autocommit=True, connect_timeout=5) as connection:
            connection.execute(f'CREATE DATABASE "{name}"')
    except psycopg.Error as reason:
        lacking(f"no PostgreSQL server to make a database on: {reason}")
    yield f"{server.rsplit('/', 1)[0]}/{name}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the system's Chromium."""
    found = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUM_NAMES)), "")
    if not found:
        lacking("no Chromium on the PATH, and CHROMIUM names none")
    return found


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """A running Chromium. Its event loop lives in this thread, where the ORM is used too."""
    from playwright.sync_api import sync_playwright

    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium, args=CHROMIUM_FLAGS)
        yield launched
        launched.close()


@pytest.fixture
def page(browser: Browser, live_stack: Stack) -> Iterator[Page]:
    """A fresh visitor's page; addresses are relative to the running service."""
    context = browser.new_context(base_url=live_stack.url, locale="en-US")
    context.set_default_timeout(15_000)
    yield context.new_page()
    context.close()


@pytest.fixture(scope="session")
def live_stack(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """The demo, running whole: web, worker, beat, relay and a private server. Do not break it."""
    home = tmp_path_factory.mktemp("stack") / "home"
    stack = Stack(home=home, environment={"LOG_REQUESTS": "on"})
    yield from running(stack)


@pytest.fixture
def make_stack(tmp_path: Path) -> Iterator[Callable[..., Stack]]:
    """Make services of your own, to be broken: `make_stack(TASK_TIME_LIMIT_S="8")`."""
    made: list[Stack] = []

    def make(command: str = "serve", **environment: str) -> Stack:
        folder = tmp_path / f"stack{len(made)}"
        folder.mkdir()
        made.append(Stack(home=folder / "home", environment=environment, command=command))
        return made[-1].start()

    yield make
    for stack in made:
        stack.stop()


def running(stack: Stack) -> Iterator[Stack]:
    """Run a service for as long as the generator is held."""
    try:
        yield stack.start()
    finally:
        stack.stop()
