"""Refusals about emergency plans."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class EventIsClosed(ServiceRefusal):
    code = "event_closed"
    sentence = "This event is closed. Open a new one, or take the need into another."


class PlanOvertaken(ServiceRefusal):
    """Something changed since the plan was made; ``data["changes"]`` says what, in sentences."""

    code = "plan_overtaken"
    sentence = "Something changed since this plan was made. Nothing was booked; plan again."

    @property
    def changes(self) -> list[str]:
        return [str(one) for one in self.data.get("changes", ())]


class ChoiceRefused(ServiceRefusal):
    code = "choice_refused"
    status_code = 422


class NothingToClear(ServiceRefusal):
    code = "nothing_to_clear"
    sentence = "This need does not wait for a person any more."


class MoveNotAllowed(ServiceRefusal):
    code = "move_not_allowed"
    sentence = "The need cannot go to this state from where it is now. Load the page again."
