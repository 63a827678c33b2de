"""The installation's own settings, in a folder that goes away and with nothing to remember."""

import os
import tempfile

HOME = tempfile.mkdtemp(prefix="setwright-tests-")
os.environ["SETWRIGHT_HOME"] = HOME
os.environ.setdefault("SECRET_KEY", "tests only, and long enough for a check of its length: 0123456789")
os.environ.setdefault("HTTPS_ONLY", "false")
os.environ.setdefault("EMAIL_URL", "memorymail://")

from config.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES["staticfiles"] = {  # noqa: F405
    "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
}
ALLOWED_HOSTS = [*ALLOWED_HOSTS, "testserver"]  # noqa: F405
