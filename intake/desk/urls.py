"""Pages of the review desk, for the rep."""

from django.urls import URLPattern, path

from intake.desk.views import (
    acts,
    answer,
    case,
    codes,
    figures,
    parts,
    people,
    photos,
    queue,
    record,
)

app_name = "desk"
urlpatterns: list[URLPattern] = [
    path("", queue.queue, name="queue"),
    path("figures/", figures.figures, name="figures"),
    path("figures.csv", figures.figures_csv, name="figures_csv"),
    path("people/", people.people, name="people"),
    path("codes/", codes.codes, name="codes"),
    path("record/", record.record, name="record"),
    path("record.csv", record.record_csv, name="record_csv"),
    path("case/<str:reference>/", case.case_detail, name="case"),
    path("case/<str:reference>/record/", record.case_record, name="case_record"),
    path("case/<str:reference>/record.csv", record.case_record_csv, name="case_record_csv"),
    path("case/<str:reference>/answer/<str:key>/", answer.answer, name="answer"),
    path("case/<str:reference>/effects/<int:finding_id>/", parts.effects, name="effects"),
    path("case/<str:reference>/sheet/", parts.sheet, name="sheet"),
    path("case/<str:reference>/what-if/", parts.what_if, name="what_if"),
    path("case/<str:reference>/recompute/", parts.recompute, name="recompute"),
    path("case/<str:reference>/photo/<int:photo_id>/", photos.photo, name="photo"),
    path("case/<str:reference>/photo/<int:photo_id>/look/", photos.photo_look, name="photo_look"),
    path("case/<str:reference>/claim/", acts.claim, name="claim"),
    path("case/<str:reference>/give-back/", acts.give_back, name="give_back"),
    path("case/<str:reference>/pass-on/", acts.pass_on, name="pass_on"),
    path("case/<str:reference>/put-off/", acts.put_off, name="put_off"),
    path("case/<str:reference>/note/", acts.note, name="note"),
    path("case/<str:reference>/ask/", acts.ask, name="ask"),
    path("case/<str:reference>/phone/", acts.phone, name="phone"),
    path("case/<str:reference>/settle/<int:finding_id>/", acts.settle, name="settle"),
    path("case/<str:reference>/reopen/<int:finding_id>/", acts.reopen, name="reopen"),
    path("case/<str:reference>/second/<int:finding_id>/", acts.second, name="second"),
    path("case/<str:reference>/confirm/<str:key>/", acts.confirm, name="confirm"),
    path("case/<str:reference>/choose/", acts.choose, name="choose"),
    path("case/<str:reference>/release/", acts.release, name="release"),
    path("case/<str:reference>/decline/", acts.decline, name="decline"),
]
