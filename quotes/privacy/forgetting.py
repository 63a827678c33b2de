"""What a process keeps in memory of people's words, and when it forgets them.

Some results are kept to be given again: the drawn parts of a quote, a line of the queue, the
picture of a job, a plate as it was read. They are found by what people typed, so they hold it. An
erasure empties them at once in its own process; every other process empties them some minutes
after each piece of work, whether or not more work comes.
"""

from __future__ import annotations

import re
from datetime import timedelta
from threading import Timer
from typing import Any, Final

from intake.desk import rows
from intake.requests import picture
from quotes.offers import parts
from sizing import plate_text, running, starting

FORGET_AFTER: Final = timedelta(minutes=10)
# Kept results that hold words of people. A test fails for one that is not judged, here or there.
WITH_WORDS: Final[tuple[Any, ...]] = (
    parts._drawn,
    picture._figures,
    rows._written,
    plate_text.plate_text,
    running._read,
    starting._read,
)


def forget() -> None:
    """Empty them; patterns made of names to look for lie with the patterns that Python keeps."""
    for kept in WITH_WORDS:
        kept.cache_clear()
    re.purge()


class Forgetting:
    """Forgets once, a while after work has ended; the next work that ends begins it again.

    A request or a task calls ``work_ended``: what it kept was kept before, so it is gone within
    ``FORGET_AFTER`` of its end. A thread of its own waits, so that an idle process forgets too.
    """

    def __init__(self) -> None:
        self._timer: Timer | None = None

    def work_ended(self) -> None:
        """Begin to wait, unless somebody does; a fork leaves the one who waits behind."""
        if self._timer is None or not self._timer.is_alive():
            self._timer = Timer(FORGET_AFTER.total_seconds(), self._over)
            self._timer.daemon = True
            self._timer.start()

    def _over(self) -> None:
        self._timer = None  # first: what is kept from now on is the next one's to forget
        forget()


work_ended: Final = Forgetting().work_ended
