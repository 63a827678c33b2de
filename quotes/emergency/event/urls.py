"""Addresses; included from the addresses of the emergency part, in the namespace of quotes."""

from django.urls import path

from quotes.emergency.event import acts, need_page, views

EVENTS = "desk/emergency/"
EVENT = f"{EVENTS}<str:code>/"
NEED = f"{EVENTS}need/<int:need_id>/"
urlpatterns = [
    path(EVENTS, views.event_list, name="emergency_events"),
    path(NEED, need_page.need_page, name="emergency_need"),
    path(f"{NEED}called/", need_page.called, name="emergency_called"),
    path(f"{NEED}site.pdf", need_page.need_pdf, name="emergency_need_pdf"),
    path(EVENT, views.event_page, name="emergency_event"),
    path(f"{EVENT}board/", views.board, name="emergency_board"),
    path(f"{EVENT}plan/", acts.plan_again, name="emergency_plan"),
    path(f"{EVENT}plans/<int:number>/in-force/", acts.in_force, name="emergency_in_force"),
    path(f"{EVENT}needs/<int:need_id>/choose/", acts.choose, name="emergency_choose"),
    path(f"{EVENT}choices/<int:choice_id>/end/", acts.choice_over, name="emergency_choice_end"),
    path(f"{EVENT}needs/<int:need_id>/clear/", acts.clear, name="emergency_clear"),
    path(f"{EVENT}needs/<int:need_id>/take-in/", acts.take_in, name="emergency_take_in"),
    path(f"{EVENT}needs/<int:need_id>/move/", acts.move, name="emergency_move"),
    path(f"{EVENT}units/<str:number>/fail/", acts.fail, name="emergency_fail"),
    path(f"{EVENT}units/<str:number>/back/", acts.back, name="emergency_back"),
    path(f"{EVENT}close/", acts.close, name="emergency_close"),
]
