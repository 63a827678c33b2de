"""Addresses of the intake's API."""

from django.urls import path

from intake.api import cases, own_key, questions, requests, sizing, webhooks

REQUEST = "requests/<str:reference>"
WEBHOOK = "webhooks/<int:id>"
urlpatterns = [
    path("sizing", sizing.SizingView.as_view(), name="sizing"),
    path("nameplates", sizing.PlateView.as_view(), name="nameplates"),
    path("questions", questions.Questions.as_view(), name="questions"),
    path("requests", requests.Requests.as_view(), name="requests"),
    path(REQUEST, requests.OneRequest.as_view(), name="request"),
    path(f"{REQUEST}/answers", requests.RequestAnswers.as_view(), name="answers"),
    path(f"{REQUEST}/loads", requests.RequestLoads.as_view(), name="loads"),
    path(f"{REQUEST}/loads/<int:id>", requests.OneLoad.as_view(), name="load"),
    path(f"{REQUEST}/submission", requests.Submission.as_view(), name="submission"),
    path(f"{REQUEST}/sizing", requests.RequestSizing.as_view(), name="request_sizing"),
    path("cases", cases.Cases.as_view(), name="cases"),
    path("cases/<str:reference>", cases.OneCase.as_view(), name="case"),
    path("cases/<str:reference>/answers/<str:key>", cases.CaseAnswer.as_view(), name="correct"),
    path(
        "cases/<str:reference>/findings/<int:id>/settlement",
        cases.FindingSettlement.as_view(),
        name="settlement",
    ),
    path(
        "cases/<str:reference>/findings/<int:id>/second",
        cases.FindingSecond.as_view(),
        name="second",
    ),
    path("cases/<str:reference>/owner", cases.CaseOwner.as_view(), name="case_owner"),
    path("cases/<str:reference>/questions", cases.CaseQuestions.as_view(), name="case_questions"),
    path("cases/<str:reference>/refusal", cases.CaseRefusal.as_view(), name="case_refusal"),
    path("key", own_key.OwnKey.as_view(), name="key"),
    path("key/rotation", own_key.KeyRotation.as_view(), name="key_rotation"),
    path("webhooks", webhooks.Webhooks.as_view(), name="webhooks"),
    path("webhooks/kinds", webhooks.Kinds.as_view(), name="webhook_kinds"),
    path(WEBHOOK, webhooks.OneWebhook.as_view(), name="webhook"),
    path(f"{WEBHOOK}/secret", webhooks.WebhookSecret.as_view(), name="webhook_secret"),
    path(f"{WEBHOOK}/deliveries", webhooks.Deliveries.as_view(), name="deliveries"),
    path(
        f"{WEBHOOK}/deliveries/<uuid:delivery>/attempts",
        webhooks.DeliveryAttempts.as_view(),
        name="delivery_attempts",
    ),
    path("cases/<str:reference>/release", cases.CaseRelease.as_view(), name="release"),
]
