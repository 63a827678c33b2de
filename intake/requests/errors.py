"""Refusals of the services: one class a case, with a code, data and a sentence."""

from __future__ import annotations

from typing import Any


class ServiceRefusal(Exception):
    """Root of every refusal of the services; ``status_code`` is what the web answers with."""

    code = "refused"
    status_code = 409
    sentence = "This cannot be done now."

    def __init__(self, sentence: str = "", **data: Any) -> None:
        super().__init__(sentence or self.sentence)
        self.data = data


class MoveRefused(ServiceRefusal):
    code = "move_refused"
    sentence = (
        "This request has moved on in the meantime. Load the page again to see where it stands."
    )


class VersionConflict(ServiceRefusal):
    code = "version_conflict"
    status_code = 412
    sentence = "Somebody changed this in the meantime. Nothing of yours was saved over it."


class LinkRefused(ServiceRefusal):
    code = "link_refused"
    status_code = 404
    sentence = "This link is not valid any more. Ask us for a new one."


class AnswerRefused(ServiceRefusal):
    code = "answer_refused"
    status_code = 422

    def __init__(self, problems: dict[str, list[str]]) -> None:
        super().__init__("Some answers need another look.", problems=problems)
        self.problems = problems
