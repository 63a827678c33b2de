"""Refusals about a handover."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class PathRefused(ServiceRefusal):
    code = "path_refused"
    status_code = 400
    sentence = "These answers do not belong together. Start the questions again."


class AlreadySigned(ServiceRefusal):
    code = "already_signed"
    sentence = (
        "This unit is signed for already. Nothing was added; load the page to see the record."
    )


class SignOffIncomplete(ServiceRefusal):
    code = "sign_off_incomplete"
    status_code = 422


class ReadingRefused(ServiceRefusal):
    code = "reading_refused"
    status_code = 422


class ChangeRefused(ServiceRefusal):
    code = "change_refused"
    sentence = "This hire cannot be changed here. Call us; a person settles it."


class PriceMoved(ServiceRefusal):
    code = "price_moved"
    sentence = "The price is not what you saw any more. Nothing was agreed. Look at the new one."


class SwapRefused(ServiceRefusal):
    code = "swap_refused"


class StatementRefused(ServiceRefusal):
    code = "statement_refused"


class TooManyReports(ServiceRefusal):
    code = "too_many_reports"
    status_code = 429
    sentence = "Many reports came for this set within the hour. Please call us instead."
