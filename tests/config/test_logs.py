"""What logs show and what they never show."""

from __future__ import annotations

import io
import json
import logging
import logging.config

import structlog

from config.logs import logging_settings, without_link_tokens

TOKEN = "h8J2kq0vU7yXo3eR1bWc9zTn5mLs4dFg"


def logged(message: str, **event: object) -> dict[str, object]:
    """Log through the standard library, as Django does, and read the line back."""
    made = logging_settings(level="INFO", as_json=True, colours=False)["formatters"]["events"]
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(**{k: v for k, v in made.items() if k != "()"})
    )
    logger = logging.Logger("django.request")
    logger.addHandler(handler)
    logger.warning(message, extra=event)
    line: dict[str, object] = json.loads(stream.getvalue())
    return line


def test_a_customers_link_never_reaches_a_log() -> None:
    event = without_link_tokens(
        None, "info", {"event": f"GET /r/{TOKEN}/ 200", "path": f"/r/{TOKEN}"}
    )
    assert event == {"event": "GET /r/[link]/ 200", "path": "/r/[link]"}


def test_neither_does_the_address_of_a_sets_page() -> None:
    event = without_link_tokens(None, "info", {"path": f"/s/{TOKEN}/help/"})
    assert event == {"path": "/s/[link]/help/"}


def test_the_standard_librarys_lines_are_cleaned_too() -> None:
    assert logged(f"Not Found: /r/{TOKEN}")["event"] == "Not Found: /r/[link]"


def test_a_line_says_when_in_utc_where_and_for_which_request() -> None:
    with structlog.contextvars.bound_contextvars(request_id="proxy-12345678"):
        line = logged("hello")
    assert str(line["timestamp"]).endswith("Z")
    assert (line["request_id"], line["level"], line["logger"]) == (
        "proxy-12345678",
        "warning",
        "django.request",
    )
