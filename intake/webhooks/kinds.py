"""What can be told. The data is small and names no person: who wants more asks the API."""

from __future__ import annotations

KINDS: dict[str, str] = {
    "request.submitted": "a customer sent a request",
    "case.opened": "a request went to a sales rep",
    "case.answered": "the customer answered a question of the desk",
    "case.closed": "a case was released to its quote, or declined",
    "quote.ready": "a quote can be read and accepted",
    "quote.accepted": "a customer accepted a quote",
    "order.changed": "a hire became longer or shorter, a unit was swapped, a hire ended",
    "emergency.requested": "a set is asked for in an emergency, or its call back is overdue",
}
