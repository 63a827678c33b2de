"""What the outbox refuses."""


class HandedOverOutsideTransaction(AssertionError):
    """A task was handed over without the transaction of the change it follows from."""

    def __init__(self, topic: str) -> None:
        super().__init__(f"outbox_put({topic!r}) belongs inside transaction.atomic()")


class BrokerAway(Exception):
    """The broker took no message; all stay in the outbox."""
