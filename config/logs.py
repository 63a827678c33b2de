"""Structured logs: one event a line, with the request it belongs to and without its secrets."""

import re
from typing import Any

import structlog
from structlog.types import EventDict, Processor

# A link is the key to a request or to a set's page: its token never reaches a log.
LINK_TOKEN = re.compile(r"(/[rs]/)[^/?\s\"']+")


def logging_settings(*, level: str, as_json: bool, colours: bool) -> dict[str, Any]:
    """Configure structlog and return Django's LOGGING, both ending in the same renderer."""
    structlog.configure(
        processors=[
            *shared_processors(),
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=True,
    )
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"events": formatter(as_json=as_json, colours=colours)},
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "events"}},
        "root": {"handlers": ["stderr"], "level": level},
        "loggers": {
            "django": {"handlers": [], "level": level, "propagate": True},
            "django.server": {"handlers": [], "level": level, "propagate": True},
            "celery": {"level": level, "propagate": True},
            "kombu": {"level": "WARNING", "propagate": True},
        },
    }


def formatter(*, as_json: bool, colours: bool) -> dict[str, Any]:
    """Return the formatter that renders structlog's and the standard library's events alike."""
    renderer: Processor = (
        structlog.processors.JSONRenderer()
        if as_json
        else structlog.dev.ConsoleRenderer(
            colors=colours, exception_formatter=structlog.dev.plain_traceback
        )  # plain: a traceback with values would put what customers typed into the log
    )
    return {
        "()": structlog.stdlib.ProcessorFormatter,
        "foreign_pre_chain": shared_processors(),
        "processors": [
            structlog.stdlib.ProcessorFormatter.remove_processors_meta,
            structlog.processors.ExceptionRenderer() if as_json else _unchanged,
            without_link_tokens,
            renderer,
        ],
    }


def shared_processors() -> list[Processor]:
    """Return the steps every event goes through, whichever logger it came from."""
    return [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.stdlib.PositionalArgumentsFormatter(),
    ]


def without_link_tokens(logger: Any, method: str, event: EventDict) -> EventDict:
    """Blank the token of customers' links in every text of the event."""
    return {
        key: LINK_TOKEN.sub(r"\1[link]", value) if isinstance(value, str) else value
        for key, value in event.items()
    }


def _unchanged(logger: Any, method: str, event: EventDict) -> EventDict:
    return event
