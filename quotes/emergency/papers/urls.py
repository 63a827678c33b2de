"""Addresses; included from the addresses of the emergency part, in the namespace of quotes."""

from django.urls import path

from quotes.emergency.papers import views

PAPERS = "desk/emergency/<str:code>/papers/"
urlpatterns = [
    path(PAPERS, views.papers, name="emergency_papers"),
    path(f"{PAPERS}costs.csv", views.papers_csv, name="emergency_papers_csv"),
    path(f"{PAPERS}<int:need_id>/<str:number>/", views.record, name="emergency_record"),
    path(f"{PAPERS}records/<int:record_id>.pdf", views.record_pdf, name="emergency_record_pdf"),
]
