"""Standing sites: all of them for the desk, its own for the program of a public body."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, ClassVar, cast

from django.db import transaction
from django.db.models import QuerySet
from django.http import Http404
from django.urls import reverse
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.etags import etag, tagged, version_seen
from intake.api.idempotency import idempotent
from intake.api.operations import ID, IDEMPOTENCY, IF_MATCH, operation
from intake.api.pages import PageQuery, page_of
from intake.api.problems import FieldsRefused, error_item
from intake.api.reading import fields_read
from intake.api.view import ApiView
from intake.models import ApiKey
from quotes.api import site_shapes as shapes
from quotes.api.sites_own import need_document, site_document, site_keep, table_document
from quotes.emergency.sites.raising import needs_raise
from quotes.emergency.sites.services import site_archive, site_review
from quotes.emergency.sites.tables import upload_read, upload_take, uploads_keep
from quotes.models import Need, PublicBody, SiteUpload, StandingSite

TAG = "sites"
NO_BODY = "This key belongs to no public body on file: the owner enters it under Public bodies."
READ, WRITE, ASK, DESK = "sites_read", "sites_write", "emergency", "cases"


class SiteView(ApiView):
    """What the views of sites share: whose sites are open to the key."""

    scope = None
    writes_by: ClassVar[str] = WRITE
    for_desk = False

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        scopes = cast(ApiKey, request.auth).scopes
        needed = READ if request.method == "GET" else self.writes_by
        if needed in scopes:
            return
        self.for_desk = request.method == "GET" and DESK in scopes
        if not (self.for_desk and self.actor.has_perm("intake.read_desk")):
            raise PermissionDenied(f"This key lacks the scope {needed}.")

    @property
    def body(self) -> PublicBody:
        """The public body the client belongs to."""
        rows = PublicBody.objects.select_related("organisation")
        found = rows.filter(organisation=self.client.organisation_id).first()
        if found is None:
            raise PermissionDenied(NO_BODY)
        return found

    def sites(self) -> QuerySet[StandingSite]:
        """The sites on file that the key may see; another body's are not there."""
        rows = StandingSite.objects.filter(archived_at=None).select_related("organisation")
        return rows if self.for_desk else rows.filter(organisation=self.body.organisation)

    def site(self, pk: int, *, lock: bool = False) -> StandingSite:
        """One of them; locked, if it stands as the caller saw it."""
        rows = self.sites().filter(pk=pk)
        found = (rows.select_for_update(of=("self",)) if lock else rows).first()
        if found is None:
            raise Http404
        if lock:
            version_seen(self.request, found.version)
        return found

    def shown(self, pk: int, status: int = 200) -> Response:
        site = StandingSite.objects.select_related("organisation").get(pk=pk)
        return tagged(site_document(site), etag(site.version), status)


class Sites(SiteView):
    @operation("List standing sites", TAG, {200: shapes.SitePage}, id="list_sites", query=PageQuery)
    def get(self, request: Request) -> Response:
        return Response(page_of(request, self.sites(), site_document))

    @operation(
        "Add a standing site", TAG, {201: shapes.Site}, id="add_site", body=shapes.SiteAsked,
        takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.SiteAsked, request)
        organisation = self.body.organisation
        made = site_keep(organisation=organisation, site=None, asked=asked, now=self.now)
        response = self.shown(made.pk, 201)
        response.headers["Location"] = reverse("api:site", args=[made.pk])
        return response


class OneSite(SiteView):
    @operation("Read a standing site", TAG, {200: shapes.Site}, id="read_site", takes=(ID,))
    def get(self, request: Request, id: int) -> Response:
        return self.shown(self.site(id).pk)

    @operation(
        "Change a standing site; it counts as reviewed and is sized anew", TAG,
        {200: shapes.Site}, id="change_site", body=shapes.SiteChange, takes=(ID, IF_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def patch(self, request: Request, id: int) -> Response:
        asked = fields_read(shapes.SiteChange, request)
        site = self.site(id, lock=True)
        site_keep(organisation=site.organisation, site=site, asked=asked, now=self.now)
        return self.shown(id)

    @operation(
        "Retire a standing site; what was done with it stays on record", TAG, {204: None},
        id="retire_site", takes=(ID, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def delete(self, request: Request, id: int) -> Response:
        site_archive(site=self.site(id, lock=True), now=self.now)
        return Response(status=204)


class SiteReview(SiteView):
    @operation(
        "Say that a standing site was looked through and is unchanged", TAG, {200: shapes.Site},
        id="review_site", takes=(ID, IF_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, id: int) -> Response:
        site_review(site=self.site(id, lock=True), now=self.now)
        return self.shown(id)


class SiteTables(SiteView):
    @operation(
        "Try a table of sites or loads: a dry run, row by row", TAG, {201: shapes.Table},
        id="try_site_table", body=shapes.TableAsked, takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.TableAsked, request)
        (upload,) = uploads_keep(
            organisation=self.body.organisation, file_name=asked["file_name"],
            data=asked["csv"].encode(), now=self.now,
        )  # fmt: skip
        response = Response(table_document(upload, upload_read(upload)), status=201)
        response.headers["Location"] = reverse("api:site_table", args=[upload.pk])
        return response


class TableView(SiteView):
    def upload(self, pk: int) -> SiteUpload:
        found = SiteUpload.objects.filter(pk=pk, organisation=self.body.organisation).first()
        if found is None:
            raise Http404
        return found


class OneTable(TableView):
    @operation(
        "Read what a table would do now", TAG, {200: shapes.Table}, id="read_site_table",
        takes=(ID,),
    )  # fmt: skip
    def get(self, request: Request, id: int) -> Response:
        upload = self.upload(id)
        return Response(table_document(upload, upload_read(upload)))


class TableTaking(TableView):
    @operation(
        "Bring in the good rows of a table; the others stay, to be sent again", TAG,
        {201: shapes.TableTaken}, id="take_site_table", takes=(ID, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, id: int) -> Response:
        upload = self.upload(id)
        taken = upload_take(upload=upload, now=self.now)
        upload.refresh_from_db()
        left = table_document(upload, upload_read(upload))
        return Response({**left, "taken": taken.taken}, status=201)


class SiteNeeds(SiteView):
    """Power for standing sites, as the ticks on the body's page ask for it."""

    writes_by = ASK

    @operation(
        "List what was asked for your sites", TAG, {200: shapes.SiteNeedPage},
        id="list_site_needs", query=PageQuery,
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        rows = Need.objects.filter(site__in=self.all_sites())
        return Response(page_of(request, rows.select_related("request"), need_document))

    def all_sites(self) -> QuerySet[StandingSite]:
        """Retired ones too: what was asked for them stays."""
        rows = StandingSite.objects.all()
        return rows if self.for_desk else rows.filter(organisation=self.body.organisation)

    @operation(
        "Ask for power at standing sites; the duty rep is called at once", TAG,
        {201: shapes.SiteNeeds}, id="raise_site_needs", body=shapes.NeedsAsked,
        takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.NeedsAsked, request)
        body, keys = self.body, asked["sites"]
        on_file = set(self.sites().filter(key__in=keys).values_list("key", flat=True))
        errors = [
            error_item(f"sites[{place}]", "unknown_site", f"There is no site “{key}” on file.")
            for place, key in enumerate(keys)
            if key not in on_file
        ]
        if errors:
            raise FieldsRefused(errors)
        need_by = self.now + timedelta(hours=int(asked["need_in"]))
        needs = needs_raise(body=body, keys=keys, need_by=need_by, now=self.now)
        return Response({"items": [need_document(need) for need in needs]}, status=201)
