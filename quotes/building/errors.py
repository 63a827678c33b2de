"""What stops a build for good: the request goes to a person, who reads why."""

from __future__ import annotations

from typing import Any


class BuildReferred(Exception):
    """A quote that a person must finish; becomes a finding of the request's case."""

    def __init__(self, code: str, detail: str, question: str = "", **evidence: Any) -> None:
        super().__init__(detail)
        self.code, self.detail, self.question, self.evidence = code, detail, question, evidence
