"""A PostgreSQL server of the test's own, to be killed; never the machine's."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import psycopg

from tests.live_stack import free_port

OWNER = "postgres"  # initdb refuses root
WHERE = Path("/usr/lib/postgresql")


class NoCluster(Exception):
    """This machine cannot make a PostgreSQL server of one's own."""


def binaries() -> Path:
    """Return the folder of `initdb`, of the newest version there is."""
    versions = sorted(WHERE.glob("*/bin/initdb"), key=lambda path: float(path.parts[-3]))
    if not versions and (found := shutil.which("initdb")):
        return Path(found).resolve().parent
    if not versions:
        raise NoCluster("no initdb: install the PostgreSQL server")
    return versions[-1].parent


def owner() -> str | None:
    """Return whom to become, None where we are not root and may stay who we are."""
    if os.geteuid() != 0:
        return None
    try:
        pwd.getpwnam(OWNER)
    except KeyError:
        raise NoCluster(f"root may not run a server, and there is no user {OWNER}") from None
    return OWNER


@dataclass
class Cluster:
    """A fresh server on a loopback port, with what is acknowledged really written to disk."""

    folder: Path = field(default_factory=lambda: Path(tempfile.mkdtemp(prefix="setwright-pg-")))
    port: int = field(default_factory=free_port)
    database: str = "setwright"

    @property
    def url(self) -> str:
        return self.address(self.database)

    def address(self, database: str) -> str:
        return f"postgres://{OWNER}@127.0.0.1:{self.port}/{database}"

    def make(self) -> Cluster:
        """Make the server, start it, and make its one database."""
        if user := owner():
            shutil.chown(self.folder, user)
        self.run("initdb", "--auth", "trust", "--username", OWNER, "--no-locale", "--encoding=UTF8")
        settings = [f"port = {self.port}", "listen_addresses = '127.0.0.1'"]
        settings += ["unix_socket_directories = ''", "max_connections = 60"]
        with (self.data / "postgresql.auto.conf").open("a") as file:
            file.write("\n".join(settings) + "\n")
        self.start()
        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{self.database}"'.encode())
        return self

    @property
    def data(self) -> Path:
        return self.folder / "data"

    def start(self) -> None:
        self.run("pg_ctl", "start", "--wait", "--silent", "--log", str(self.folder / "server.log"))

    def stop(self, mode: str = "fast") -> None:
        """Stop it: `fast` cuts every connection, `immediate` is a crash without a last word."""
        self.run("pg_ctl", "stop", "--wait", "--silent", "--mode", mode)

    def run(self, program: str, *words: str) -> None:
        command = [str(binaries() / program), "--pgdata", str(self.data), *words]
        subprocess.run(
            command, cwd=self.folder, user=owner(), check=True, timeout=120,
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def remove(self) -> None:
        if (self.data / "postmaster.pid").exists():
            self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)
