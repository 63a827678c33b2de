"""Refusals about webhooks."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class AddressRefused(ServiceRefusal):
    code = "webhook_address_refused"
    status_code = 422
    sentence = "Give an https address that anybody on the internet can reach."


class KindsRefused(ServiceRefusal):
    code = "webhook_kinds_refused"
    status_code = 422
    sentence = "Choose at least one kind of the list."


class EndpointChanged(ServiceRefusal):
    code = "version_conflict"
    status_code = 412
    sentence = "Somebody changed this webhook in the meantime. Nothing of yours was saved over it."


class DeliveryStands(ServiceRefusal):
    code = "webhook_delivery_stands"
    sentence = (
        "This delivery arrived or is still being tried; only one that was given up goes again."
    )


class PayloadTooLarge(ValueError):
    """A defect of whoever tells: what is told stays below 20 kB."""
