"""What the review desk does: each act one transaction, one event, one version of the case.

Import the acts from their own modules; ``case_open`` is what the intake calls.
"""

from intake.desk.services.opening import case_open

__all__ = ["case_open"]
