"""Pages of a request, for the customer."""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from intake.steps.catalogue import CHECK, EQUIPMENT, STEPS
from intake.views import (
    asked,
    check,
    equipment,
    link,
    load,
    photo,
    photo_reading,
    picture,
    start,
    status,
    step,
    voltage,
)


class StepConverter(StringConverter):
    """The key of a step that is a page of questions."""

    regex = "|".join(step.key for step in STEPS if step not in (CHECK, EQUIPMENT))


class LoadActConverter(StringConverter):
    """What a button on the list does to a row of equipment."""

    regex = "copy|up|down|remove"


register_converter(StepConverter, "step")
register_converter(LoadActConverter, "load_act")

app_name = "intake"
REQUEST = "request/<str:reference>/"
urlpatterns = [
    path("", start.start, name="start"),
    path("r/<str:token>/", start.enter, name="enter"),
    path(REQUEST, status.status, name="status"),
    path(f"{REQUEST}link/", link.link, name="link"),
    path(f"{REQUEST}asked/<int:question_id>/", asked.asked, name="asked"),
    path(f"{REQUEST}picture/", picture.picture, name="picture"),
    path(f"{REQUEST}voltage/hint/", voltage.voltage_hinted, name="voltage_hint"),
    path(f"{REQUEST}check/", check.check, name="check"),
    path(f"{REQUEST}equipment/", equipment.equipment, name="equipment"),
    path(f"{REQUEST}equipment/add/", equipment.equipment_add, name="equipment_add"),
    path(f"{REQUEST}equipment/<int:load_id>/", load.load_page, name="load"),
    path(f"{REQUEST}equipment/<int:load_id>/keep/", load.load_kept, name="load_keep"),
    path(f"{REQUEST}equipment/<int:load_id>/plate/", load.plate_read, name="plate_read"),
    path(f"{REQUEST}equipment/<int:load_id>/photos/", photo_reading.readings, name="readings"),
    path(f"{REQUEST}equipment/<int:load_id>/<load_act:act>/", equipment.load_act, name="load_act"),
    path(f"{REQUEST}photo/<int:photo_id>/", photo.photo, name="photo"),
    path(f"{REQUEST}photo/<int:photo_id>/remove/", photo.photo_removed, name="photo_remove"),
    path(f"{REQUEST}<step:step_key>/", step.step_page, name="step"),
    path(f"{REQUEST}<step:step_key>/keep/", step.step_keep, name="step_keep"),
]
