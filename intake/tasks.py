"""Tasks of the intake: letters to the customer, photos to be read, other systems to be told."""

from __future__ import annotations

from celery import current_task, shared_task
from django.utils import timezone

from intake.letters.sending import letter_send
from intake.outbox.once import sends_once
from intake.photos.reading import TOPIC, photo_read
from intake.webhooks.sending import delivery_send
from intake.webhooks.services import TOPIC as WEBHOOK_TOPIC


@shared_task(name="intake.mail_customer")
@sends_once("intake.mail_customer")
def mail_customer(request_id: int, letter: str, address: str = "", question_id: int = 0) -> None:
    """Send one letter. Its Message-ID is the task's, so that a rare second copy reads as one."""
    letter_send(
        request_id=request_id,
        letter=letter,
        address=address,
        message_id=str(current_task.request.id),
        now=timezone.now(),
        question_id=question_id,
    )


@shared_task(name=TOPIC)
@sends_once(TOPIC)  # it takes seconds: no transaction may stay open meanwhile
def read_photo(photo_id: int) -> None:
    """Read one photo. A second reading finds the first one's suggestion and leaves it."""
    photo_read(photo_id=photo_id)


@shared_task(name=WEBHOOK_TOPIC)
@sends_once(WEBHOOK_TOPIC)
def send_webhook(delivery_id: str, attempt: int) -> None:
    """Make one try. Its ``webhook-id`` is the same at every try, so that a double reads as one."""
    delivery_send(delivery_id=delivery_id, attempt=attempt)
