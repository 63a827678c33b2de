"""A disk without room."""

from __future__ import annotations

import errno
from pathlib import Path
from typing import Any

from django.core.files.storage import FileSystemStorage

FULL = {"BACKEND": "tests.disk.FullDisk"}


class FullDisk(FileSystemStorage):
    """Room for the first bytes of a file and no more."""

    def _save(self, name: str, content: Any) -> str:
        path = Path(self.path(name))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.read(100))
        raise OSError(errno.ENOSPC, "No space left on device")


def files_below(folder: str) -> list[Path]:
    return [path for path in Path(folder).rglob("*") if path.is_file()]
