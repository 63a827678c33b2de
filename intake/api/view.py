"""What every view of the API does: the key, its scopes, its quota, one time for all."""

from __future__ import annotations

from typing import Any, ClassVar, cast

from django.contrib.auth.models import User
from django.utils import timezone, translation
from django.utils.functional import cached_property
from rest_framework.exceptions import NotAuthenticated, PermissionDenied
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from intake.api.keys import KeyAuthentication
from intake.api.problems import QuotaExceeded, problem_handler
from intake.api.quota import Quota, quota_take
from intake.api.reading import BoundedJson
from intake.desk.backend import StaffBackend
from intake.models import ApiClient, ApiKey


class ApiView(APIView):
    """A view for programs. ``scope`` is what the key must carry; ``None`` where any key will do."""

    authentication_classes = (KeyAuthentication,)
    permission_classes = ()
    parser_classes = (BoundedJson,)
    renderer_classes: tuple[type[BaseRenderer], ...] = (JSONRenderer,)
    scope: ClassVar[str | None] = ""
    quota: Quota | None = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Who calls, how often, and whether they may; then the language of the sentences."""
        super().initial(request, *args, **kwargs)
        self.now = timezone.now()
        key = request.auth
        if not isinstance(key, ApiKey):
            raise NotAuthenticated("Send Authorization: Bearer with your key.")
        self.quota = quota_take(key.client_id, now=self.now)
        if self.quota.over:
            raise QuotaExceeded(wait_s=self.quota.wait_s)
        if self.scope is not None and self.scope not in key.scopes:
            raise PermissionDenied(f"This key lacks the scope {self.scope}.")
        translation.activate("en")

    @property
    def client(self) -> ApiClient:
        return cast(ApiClient, self.request.user)

    @cached_property
    def actor(self) -> User:
        """The person the client works the desk as."""
        pk = self.client.acts_as_id
        person = StaffBackend().get_user(pk) if pk is not None else None
        if person is None:
            raise PermissionDenied("The person this client acts as may not sign in.")
        return person

    def finalize_response(
        self, request: Request, response: Response, *args: Any, **kwargs: Any
    ) -> Response:
        done = super().finalize_response(request, response, *args, **kwargs)
        for name, value in (self.quota.headers if self.quota else {}).items():
            done.headers[name] = value
        done.headers["Cache-Control"] = "no-store"
        return done

    def get_exception_handler(self) -> Any:
        return problem_handler
