"""The installation's own settings, in a folder that goes away, with nothing left to remember."""

import atexit
import os
import shutil
import tempfile

os.environ["SETWRIGHT_HOME"] = tempfile.mkdtemp(prefix="setwright-tests-")
atexit.register(shutil.rmtree, os.environ["SETWRIGHT_HOME"], ignore_errors=True)
os.environ.setdefault("SECRET_KEY", "only tests sign with this key, 0123456789 0123456789")
os.environ.setdefault("HTTPS_ONLY", "false")
os.environ.setdefault("EMAIL_URL", "memorymail://")
os.environ.setdefault("SETWRIGHT_WEBHOOKS_TO_LOOPBACK", "true")

from config.settings import *  # noqa: E402, F403
from config.settings import ALLOWED_HOSTS, DATABASES, SETWRIGHT_HOME, STORAGES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
ALLOWED_HOSTS = [*ALLOWED_HOSTS, "testserver"]
SETWRIGHT_CODES_FOR = "nobody"  # tests sign people in without a form; tests of codes set it back
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}

# SQLite in memory locks by table and never waits; in a file it behaves as it does in service.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": SETWRIGHT_HOME / "tests.sqlite3"}
(SETWRIGHT_HOME / "static").mkdir(exist_ok=True)
