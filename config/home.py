"""The folder where an installation keeps its own data, and the secret key it may keep there."""

import hashlib
import os
import secrets
import tempfile
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

SOCKET_PATH_BYTES = 100  # systems allow 104 to 108, the closing zero included
SECRET_KEY_FILE = "secret_key"  # noqa: S105 - the name of a file, not a secret


def home_path() -> Path:
    """Name the installation's folder, `SETWRIGHT_HOME` or `.setwright` in the working folder."""
    return Path(os.environ.get("SETWRIGHT_HOME") or ".setwright").expanduser().absolute()


def home_ensure(home: Path) -> Path:
    """Create the installation's folder, closed to other users, unless it is there."""
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    return home


def private_redis_socket(home: Path) -> Path:
    """Name the socket of the installation's own Redis-protocol server.

    It lies in a folder of its own that other users cannot enter: in the home, or, where that
    path is too long for a socket's address, in the folder for temporary files.
    """
    socket = home / "redis" / "redis.sock"
    if len(os.fsencode(socket)) <= SOCKET_PATH_BYTES:
        return socket
    short = hashlib.sha256(os.fsencode(home)).hexdigest()[:16]
    return Path(tempfile.gettempdir()) / f"setwright-{os.getuid()}-{short}" / "redis.sock"


def private_redis_url(home: Path) -> str:
    return f"unix://{private_redis_socket(home)}"


def secret_key(*, given: str, home: Path, embedded: bool) -> str:
    """Return the key given, or on an embedded installation the one kept in its folder."""
    if given:
        return given
    if not embedded:
        raise ImproperlyConfigured(
            "SECRET_KEY is not set. With DATABASE_URL or REDIS_URL given, Setwright does not make "
            "up a key: set SECRET_KEY to 50 or more random characters, the same in every process."
        )
    return kept_secret_key(home_ensure(home) / SECRET_KEY_FILE)


def kept_secret_key(path: Path) -> str:
    """Read the key kept at `path`; the first process to come writes it, whole or not at all."""
    if not path.exists():
        handle, fresh = tempfile.mkstemp(prefix=f"{path.name}.", dir=path.parent)
        with os.fdopen(handle, "w") as file:
            file.write(secrets.token_urlsafe(64))
        link_first(Path(fresh), path)
    return path.read_text().strip()


def link_first(fresh: Path, path: Path) -> None:
    """Give `fresh` the name `path` unless another process was first."""
    try:
        os.link(fresh, path)
    except FileExistsError:
        pass  # another process was first: its key is the one
    finally:
        fresh.unlink()
