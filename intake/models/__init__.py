"""Models of the intake: requests, cases, the record, and the outbox."""

from intake.models.api import ApiClient, ApiKey, ApiRequest, IdempotencyRecord
from intake.models.case import (
    NOT_CLOSED,
    ON_THE_DESK,
    Case,
    CaseFinding,
    CaseQuestion,
    CaseState,
    Channel,
    FindingState,
    FourEyesRule,
    Tier,
)
from intake.models.event import Event
from intake.models.outbox import InboxMark, OutboxMessage
from intake.models.request import (
    Answer,
    HireRequest,
    Organisation,
    RequestLoad,
    RequestPhoto,
    SizingRun,
    Status,
)
from intake.models.session import WebSession
from intake.models.staff import StaffProfile
from intake.models.webhook import WebhookDelivery, WebhookEndpoint

__all__ = [
    "NOT_CLOSED",
    "ON_THE_DESK",
    "Answer",
    "ApiClient",
    "ApiKey",
    "ApiRequest",
    "Case",
    "CaseFinding",
    "CaseQuestion",
    "CaseState",
    "Channel",
    "Event",
    "FindingState",
    "FourEyesRule",
    "HireRequest",
    "IdempotencyRecord",
    "InboxMark",
    "Organisation",
    "OutboxMessage",
    "RequestLoad",
    "RequestPhoto",
    "SizingRun",
    "StaffProfile",
    "Status",
    "Tier",
    "WebSession",
    "WebhookDelivery",
    "WebhookEndpoint",
]
