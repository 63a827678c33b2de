"""Sessions in the database, as Django's, with whose they are and when something was last done.

A session of somebody ends so long after the sign-in as SESSION_HOURS says, and earlier when
nothing was done for SESSION_IDLE_MINUTES. What a page asks by itself, again and again, is marked
by its header ``Polled`` and does not count as done. Customers' sessions belong to nobody and only
run out.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.contrib.sessions.middleware import SessionMiddleware as DjangoSessionMiddleware
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from intake.desk.sessions import left_alone
from intake.models import WebSession
from intake.prepared import A_MOMENT, Prepared

NOTED_AGAIN = timedelta(minutes=1)  # a busy session is not written at every click
AGENT_LETTERS = 200
OPEN = Prepared(
    lambda key, now: WebSession.objects.filter(session_key=key, expire_date__gt=now),
    "a key",
    A_MOMENT,
)


class SessionStore(DatabaseStore):
    """Django's store on our table; ``row`` is the session as it was read or last written."""

    row: WebSession | None = None
    agent: str = ""
    address: str | None = None

    @classmethod
    def get_model_class(cls) -> Any:
        return WebSession

    def _get_session_from_db(self) -> WebSession | None:
        now = timezone.now()
        row = OPEN.first(self.session_key, now) if self.session_key else None
        if row is None or left_alone(row, now=now):
            self._session_key = row = None
        self.row = row
        return row

    def create_model_instance(self, data: dict[str, Any]) -> WebSession:
        """The session as it stands; the time of the sign-in stays as it was."""
        made = super().create_model_instance(data)
        assert isinstance(made, WebSession)
        now, before = timezone.now(), self.row
        same = before is not None and before.session_key == made.session_key
        made.began_at = before.began_at if before is not None and same else now
        made.user_id = int(data[SESSION_KEY]) if SESSION_KEY in data else None
        made.seen_at, made.agent, made.address = now, self.agent, self.address
        if made.user_id is not None:
            made.expire_date = made.began_at + timedelta(seconds=settings.SESSION_COOKIE_AGE)
        self.row = made
        return made


class SessionMiddleware(DjangoSessionMiddleware):
    """Django's, noting now and then that somebody does something."""

    def process_request(self, request: HttpRequest) -> None:
        super().process_request(request)
        store: Any = request.session
        said: str = request.META.get("HTTP_USER_AGENT", "")
        store.agent = said[:AGENT_LETTERS].replace("\x00", "")
        store.address = request.META.get("REMOTE_ADDR") or None

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        row: WebSession | None = getattr(getattr(request, "session", None), "row", None)
        if row is not None and row.user_id is not None and "HTTP_POLLED" not in request.META:
            seen_note(row, now=timezone.now())
        return super().process_response(request, response)


def seen_note(row: WebSession, *, now: datetime) -> None:
    """Note that its person does something, at most once a minute."""
    if now - row.seen_at >= NOTED_AGAIN:
        WebSession.objects.filter(pk=row.pk).update(seen_at=now)
