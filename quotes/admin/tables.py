"""CSV in and out, on the page of the table it belongs to."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from quotes.admin.recorded import RecordedAdmin
from quotes.tables.catalogue import TABLES
from quotes.tables.reading import Reading, TableRefused, table_read
from quotes.tables.services import table_bring_in
from quotes.tables.table import Table
from quotes.tables.writing import table_text

MOST_BYTES = 2_000_000


class TableForm(forms.Form):
    """A file, or the text that a dry run already saw."""

    file = forms.FileField(label=_("CSV file"), required=False)
    text = forms.CharField(widget=forms.HiddenInput, required=False, strip=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("file"):
            data["text"] = self._read(data["file"])
        if not data.get("text"):
            raise forms.ValidationError(_("Choose a CSV file."))
        return data

    def _read(self, file: Any) -> str:
        if file.size > MOST_BYTES:
            raise forms.ValidationError(_("The file is larger than 2 MB; split it."))
        try:
            text: str = file.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise forms.ValidationError(_("The file is not UTF-8 text.")) from error
        return text


class TableAdmin(RecordedAdmin):
    """A table with "take out" and "bring in" beside "add"."""

    table_name = ""
    change_list_template = "quotes/admin/table_list.html"

    @property
    def table(self) -> Table:
        return TABLES[self.table_name]

    def get_urls(self) -> list[URLPattern]:
        wrap = self.admin_site.admin_view
        own = [
            path("take-out/", wrap(self.take_out), name=f"quotes_{self.table_name}_out"),
            path("bring-in/", wrap(self.bring_in), name=f"quotes_{self.table_name}_in"),
        ]
        return own + super().get_urls()

    def changelist_view(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        more = {
            "out_url": reverse(f"admin:quotes_{self.table_name}_out"),
            "in_url": reverse(f"admin:quotes_{self.table_name}_in"),
            "may_bring_in": self._may_bring_in(request),
        }
        return super().changelist_view(request, {**(extra_context or {}), **more})

    def _may_bring_in(self, request: HttpRequest) -> bool:
        return self.has_add_permission(request) and self.has_change_permission(request)

    def take_out(self, request: HttpRequest) -> HttpResponse:
        """The whole table as a file."""
        if not self.has_view_permission(request):
            raise PermissionDenied
        response = HttpResponse(table_text(self.table), content_type="text/csv; charset=utf-8")
        response.headers["Content-Disposition"] = f'attachment; filename="{self.table_name}.csv"'
        return response

    def bring_in(self, request: HttpRequest) -> HttpResponse:
        """A dry run: every error with its row, or every change; then the same text for good."""
        if not self._may_bring_in(request):
            raise PermissionDenied
        form = TableForm(request.POST, request.FILES) if request.method == "POST" else TableForm()
        if not (form.is_bound and form.is_valid()):
            return self._bring_in_page(request, form, None)
        if "for_good" not in request.POST:
            return self._bring_in_page(
                request, form, table_read(self.table, form.cleaned_data["text"])
            )
        return self._bring_in_now(request, form)

    def _bring_in_now(self, request: HttpRequest, form: TableForm) -> HttpResponse:
        assert isinstance(request.user, User)
        text = form.cleaned_data["text"]
        try:
            reading = table_bring_in(
                table=self.table, text=text, actor=request.user, now=timezone.now()
            )
        except TableRefused:
            return self._bring_in_page(request, form, table_read(self.table, text))
        counts = {"added": reading.count("added"), "changed": reading.count("changed")}
        self.message_user(request, _("%(added)s added, %(changed)s changed.") % counts)
        return redirect(f"admin:quotes_{self.opts.model_name}_changelist")

    def _bring_in_page(
        self, request: HttpRequest, form: TableForm, reading: Reading | None
    ) -> HttpResponse:
        context = {
            **self.admin_site.each_context(request),
            "title": _("Bring in %s") % self.table_name,
            "opts": self.opts,
            "form": form,
            "reading": reading,
            "text": form.cleaned_data.get("text", "") if reading else "",
            "table": self.table,
        }
        status = 422 if reading and reading.problems else 200
        return TemplateResponse(request, "quotes/admin/bring_in.html", context, status=status)
