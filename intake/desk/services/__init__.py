"""What the review desk does: each act one transaction, one event, one version of the case."""

from intake.desk.services.opening import case_open

__all__ = ["case_open"]
