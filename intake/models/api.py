"""Programs that use the API: who they are, their keys, what they made, and what they were told."""

from __future__ import annotations

from django.core.validators import ProhibitNullCharactersValidator
from django.db import models

from intake.models.request import HireRequest, Organisation


class ApiClient(models.Model):
    """A program that calls. With ``acts_as`` it works the desk as that person.

    With ``organisation`` it keeps what belongs to that customer, and nothing of another.
    """

    name = models.CharField(
        max_length=80, unique=True, validators=[ProhibitNullCharactersValidator()]
    )
    acts_as = models.ForeignKey("auth.User", null=True, blank=True, on_delete=models.PROTECT)
    organisation = models.ForeignKey(
        Organisation, null=True, blank=True, on_delete=models.PROTECT, related_name="api_clients"
    )
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name

    @property
    def is_authenticated(self) -> bool:
        return True


class ApiKey(models.Model):
    """One key of a client. The key itself is shown once and never stored, only its hash."""

    client = models.ForeignKey(ApiClient, on_delete=models.CASCADE, related_name="keys")
    start = models.CharField(max_length=12)  # its first letters, to tell keys apart in a list
    secret_hash = models.CharField(max_length=64, unique=True)
    scopes = models.JSONField(default=list)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.start}… of {self.client}"


class ApiRequest(models.Model):
    """Which client made a request: it alone may read and change it through the API."""

    request = models.OneToOneField(
        HireRequest, on_delete=models.CASCADE, related_name="api_request"
    )
    client = models.ForeignKey(ApiClient, on_delete=models.PROTECT, related_name="made")

    def __str__(self) -> str:
        return f"{self.request} by {self.client}"


class IdempotencyRecord(models.Model):
    """The answer to a call that made something, kept to be given again to the same call.

    Written in the transaction of what it answers for: neither is there without the other.
    """

    client = models.ForeignKey(ApiClient, on_delete=models.CASCADE, related_name="answered")
    key = models.CharField(max_length=130)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True, blank=True)
    body = models.JSONField(null=True, blank=True)  # the answer's text: jsonb would reorder it
    headers = models.JSONField(default=dict)
    created_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["client", "key"], name="one_answer_a_key_and_client")
        ]

    def __str__(self) -> str:
        return f"{self.key} of {self.client}"
