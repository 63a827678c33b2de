"""How the answer to each kind of question is checked. What was typed is kept as typed."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import Any

import phonenumbers
from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.questions.equipment import LARGEST_QUANTITY
from intake.questions.plate_words import plate_sentence
from intake.questions.question import UNSURE, Kind, Question
from intake.questions.sentences import quantity_sentence, shortened, too_long
from intake.questions.towns import zip_record
from sizing.errors import QuantityRefused
from sizing.nameplate import NameplateRefused, read_nameplate
from sizing.quantity import read_quantity

TIME_FORMATS = ["%H:%M", "%H:%M:%S", "%I:%M %p", "%I %p", "%I:%M%p", "%I%p"]


class AnswerField(forms.CharField):
    """Base of all: one line of text, no longer than the question allows."""

    def __init__(self, question: Question) -> None:
        super().__init__(required=False)
        self.question = question

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        if len(text) > self.question.longest:
            raise ValidationError(too_long(text, self.question.longest))
        return self.checked(text) if text else text

    def checked(self, text: str) -> str:
        """The text where it can be taken, else a sentence that says what to do."""
        return text


class QuantityField(AnswerField):
    def checked(self, text: str) -> str:
        measure = self.question.measure
        assert measure is not None
        try:
            read_quantity(
                text,
                measure.unit,
                low=measure.low,
                high=measure.high,
                default_unit=measure.assumed,
            )
        except QuantityRefused as refusal:
            raise ValidationError(quantity_sentence(refusal, text, measure)) from None
        return text


class WholeField(AnswerField):
    def checked(self, text: str) -> str:
        digits = text.replace(",", "").replace(" ", "")
        if not digits.lstrip("+-").isascii() or not digits.lstrip("+-").isdigit():
            raise ValidationError(
                _("“{text}” is not a whole number. Enter it like “4”.").format(text=shortened(text))
            )
        if len(digits) > 9 or int(digits) > LARGEST_QUANTITY:
            raise ValidationError(
                _("One row holds up to {most} pieces. Add another row for the rest.").format(
                    most=LARGEST_QUANTITY
                )
            )
        if int(digits) < 1:
            raise ValidationError(_("Enter 1 or more, or remove this equipment."))
        return str(int(digits))


class NameplateField(AnswerField):
    def checked(self, text: str) -> str:
        try:
            read_nameplate(text)
        except NameplateRefused as refusal:
            raise ValidationError([plate_sentence(p, text) for p in refusal.problems]) from None
        return text


class ZipField(AnswerField):
    def checked(self, text: str) -> str:
        digits = "".join(c for c in text if c.isascii() and c.isdigit())
        if len(digits) not in (5, 9) or any(c.isalpha() for c in text):
            raise ValidationError(
                _("“{text}” is not a ZIP code. Enter five digits, like 80424.").format(
                    text=shortened(text)
                )
            )
        if not zip_record(digits[:5]):
            raise ValidationError(
                _(
                    "There is no ZIP code {zip}. Check the digits, or use the nearest town's."
                ).format(zip=digits[:5])
            )
        return digits[:5]


class DateField(AnswerField):
    def checked(self, text: str) -> str:
        day = _day(text)
        if day is None:
            raise ValidationError(
                _("“{text}” is not a day. Enter it like {example}.").format(
                    text=shortened(text), example="06/15/2027"
                )
            )
        return day.isoformat()


def _day(text: str) -> date | None:
    try:
        return parse_date(text) or forms.DateField(input_formats=["%m/%d/%Y", "%m/%d/%y"]).clean(
            text
        )
    except (ValueError, ValidationError):
        return None


class TimeField(AnswerField):
    def checked(self, text: str) -> str:
        try:
            moment = forms.TimeField(input_formats=TIME_FORMATS).clean(text.replace(".", ""))
        except ValidationError:
            raise ValidationError(
                _("“{text}” is not a time of day. Enter it like 23:30 or 11:30 pm.").format(
                    text=shortened(text)
                )
            ) from None
        return f"{moment:%H:%M}"


class EmailField(AnswerField):
    def checked(self, text: str) -> str:
        try:
            validate_email(text)
        except ValidationError:
            raise ValidationError(
                _("“{text}” is not an email address. Enter it like name@example.com.").format(
                    text=shortened(text)
                )
            ) from None
        return text


class PhoneField(AnswerField):
    def checked(self, text: str) -> str:
        try:
            number = phonenumbers.parse(text, "US")
        except phonenumbers.NumberParseException:
            number = None
        if number is None or not phonenumbers.is_possible_number(number) or _local_only(number):
            raise ValidationError(
                _(
                    "“{text}” is not a phone number. Enter it with the area code, like "
                    "970 555 0142."
                ).format(text=shortened(text))
            )
        return text


def _local_only(number: Any) -> bool:
    """Seven digits: right in town, useless from elsewhere."""
    reason = phonenumbers.is_possible_number_with_reason(number)
    return bool(reason == phonenumbers.ValidationResult.IS_POSSIBLE_LOCAL_ONLY)


class ChoiceField(AnswerField):
    """One of the question's choices, or "not sure" where that is offered."""

    def checked(self, text: str) -> str:
        if text == UNSURE and self.question.not_sure:
            return text
        if self.question.choice(text) is None:
            raise ValidationError(_("Choose one of the answers below."))
        return text


class SeveralField(forms.MultipleChoiceField):
    """Any number of the question's choices."""

    def __init__(self, question: Question) -> None:
        choices = [(choice.value, choice.label) for choice in question.choices]
        super().__init__(required=False, choices=choices)
        self.question = question
        self.error_messages["invalid_choice"] = gettext_lazy("Choose from the answers below.")


FIELDS: dict[Kind, type[AnswerField] | type[SeveralField]] = {
    Kind.CHOICE: ChoiceField,
    Kind.PICK: ChoiceField,
    Kind.SEVERAL: SeveralField,
    Kind.QUANTITY: QuantityField,
    Kind.WHOLE: WholeField,
    Kind.TEXT: AnswerField,
    Kind.LONG_TEXT: AnswerField,
    Kind.NAMEPLATE: NameplateField,
    Kind.DATE: DateField,
    Kind.TIME: TimeField,
    Kind.ZIP: ZipField,
    Kind.EMAIL: EmailField,
    Kind.PHONE: PhoneField,
}


def field_of(question: Question) -> AnswerField | SeveralField:
    """The field that checks a question's answers. It holds nothing of a request or a language."""
    return _kept_field(question) if question.fixed else FIELDS[question.kind](question)


@lru_cache(maxsize=256)
def _kept_field(question: Question) -> AnswerField | SeveralField:
    return FIELDS[question.kind](question)
