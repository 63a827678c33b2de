"""Pages of the handover; included from the addresses of quotes, in the same namespace."""

from django.urls import path, re_path

from quotes.handover import customer, desk, live, sign_page

HIRE = "request/<str:reference>/hire/"
OUT = "desk/out/"
ORDER = f"{OUT}<str:number>/"
UNIT = f"{ORDER}<str:unit>/"
urlpatterns = [
    path("s/<str:token>/", live.set_page, name="set"),
    path("s/<str:token>/help/", live.set_help, name="set_help"),
    path(HIRE, customer.handover, name="handover"),
    path(f"{HIRE}change/", customer.change, name="hire_change"),
    path(f"{HIRE}statement.pdf", customer.statement, name="statement"),
    path(f"{OUT}worker.js", sign_page.worker, name="sign_worker"),
    path(OUT, desk.out_list, name="desk_out"),
    path(ORDER, desk.order_page, name="desk_order"),
    path(f"{ORDER}settle/", desk.settle, name="desk_settle"),
    path(f"{ORDER}statement.pdf", desk.statement, name="desk_statement"),
    path(f"{ORDER}photo/<int:photo_id>/", desk.photo, name="desk_photo"),
    path(f"{ORDER}report/<int:case_id>/close/", desk.case_close, name="desk_case_close"),
    re_path(
        r"^desk/out/(?P<number>[^/]+)/(?P<unit>[^/]+)/(?P<name>sheet|card)\.pdf$",
        desk.sheet,
        name="desk_sheet",
    ),
    path(f"{UNIT}sign/<str:kind>/", sign_page.sign, name="desk_sign"),
    path(f"{UNIT}help/", desk.help_on_phone, name="desk_help"),
    path(f"{UNIT}read/", desk.read, name="desk_read"),
    path(f"{UNIT}swap/", desk.swap, name="desk_swap"),
]
