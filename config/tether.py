"""`python -m config.tether COMMAND…`: become COMMAND, but not outlive the process that asked.

On Linux the kernel ends the command when the supervisor is gone, however it went; elsewhere the
command runs as it is.
"""

from __future__ import annotations

import ctypes
import os
import signal
import sys

PR_SET_PDEATHSIG = 1


def tethered(command: list[str], parent: int) -> None:
    """Ask for the end together with the parent, then become the command."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
        if os.getppid() != parent:
            sys.exit(1)  # it went before we asked
    os.execvp(command[0], command)  # noqa: S606 - no shell is wanted


if __name__ == "__main__":
    tethered(sys.argv[2:], int(sys.argv[1]))
