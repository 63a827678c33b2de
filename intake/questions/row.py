"""A question as it stands on its page: its value, its choices, its errors, and its markup."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

from django.template.loader import render_to_string
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from intake.marks import filled, mark
from intake.questions.power import YES_NO
from intake.questions.question import UNSURE, Choice, Kind, Question

DRAWN = frozenset({"nameplate", "plugs", "voltages", "selector", "sump", "transfer"})
TYPED = "typed"  # marks where the typed text goes
_TYPES = {Kind.DATE: "date", Kind.TIME: "time", Kind.EMAIL: "email", Kind.PHONE: "tel"}
_INPUT_MODES = {
    Kind.QUANTITY: "text",
    Kind.WHOLE: "numeric",
    Kind.ZIP: "numeric",
    Kind.EMAIL: "email",
    Kind.PHONE: "tel",
}


@dataclass(frozen=True, slots=True)
class Option:
    """One choice as it is rendered."""

    choice: Choice
    id: str
    checked: bool


@dataclass(frozen=True)
class Row:
    """One question on its page, for ``field.html``."""

    question: Question
    value: Any
    unsure: bool
    errors: tuple[str, ...] = ()

    @cached_property
    def html(self) -> SafeString:
        """The markup of ``field.html``."""
        return row_html(self)

    @cached_property
    def id(self) -> str:
        return f"q-{self.question.key}"

    @property
    def first_id(self) -> str:
        """The element that a line of the error summary leads to."""
        return f"{self.id}-1" if self.question.choices and not self.picked else self.id

    @cached_property
    def described_by(self) -> str:
        parts = (
            ("hint", bool(self.question.help)),
            ("unit", bool(self.question.measure)),
            ("error", bool(self.errors)),
        )
        return " ".join(f"{self.id}-{name}" for name, there in parts if there)

    @property
    def picked(self) -> bool:
        return self.question.kind is Kind.PICK

    @property
    def several(self) -> bool:
        return self.question.kind is Kind.SEVERAL

    @property
    def multiline(self) -> bool:
        return self.question.kind in (Kind.LONG_TEXT, Kind.NAMEPLATE)

    @property
    def plate(self) -> bool:
        return self.question.kind is Kind.NAMEPLATE

    @property
    def figure_template(self) -> str:
        """The drawing that goes with the question."""
        figure = self.question.figure
        return f"intake/figures/{figure}.html" if figure in DRAWN else ""

    @property
    def input_type(self) -> str:
        return _TYPES.get(self.question.kind, "text")

    @property
    def input_mode(self) -> str:
        return _INPUT_MODES.get(self.question.kind, "")

    @property
    def offers_unsure(self) -> bool:
        """A box beside a typed answer; among choices it is one choice more."""
        return self.question.not_sure and not self.question.choices

    @cached_property
    def options(self) -> list[Option]:
        """The choices that are shown at once."""
        return [option for option in self._all_options if not option.choice.rare]

    @cached_property
    def rare_options(self) -> list[Option]:
        """The choices that few need."""
        return [option for option in self._all_options if option.choice.rare]

    @property
    def rare_checked(self) -> bool:
        return any(option.checked for option in self.rare_options)

    @property
    def short(self) -> bool:
        """Few and short choices stand side by side."""
        return self.question.choices == YES_NO

    @property
    def chosen(self) -> tuple[str, ...]:
        """What is chosen of the choices there are."""
        given = self.value if isinstance(self.value, list) else [str(self.value)]
        return tuple(c.value for c in self.question.choices if c.value in given)

    @cached_property
    def _all_options(self) -> list[Option]:
        chosen = self.chosen
        return [
            Option(choice, f"{self.id}-{n}", choice.value in chosen)
            for n, choice in enumerate(self.question.choices, start=1)
        ]

    @property
    def unsure_among_choices(self) -> Option | None:
        """The last choice, "not sure", where that is offered."""
        if not self.question.not_sure or not self.question.choices:
            return None
        n = len(self.question.choices) + 1
        checked = self.unsure or self.value == UNSURE
        return Option(Choice(UNSURE, ""), f"{self.id}-{n}", checked)


def row_html(row: Row) -> SafeString:
    """The markup of a row. Of a catalogue's question it is drawn once and kept without the text.

    Without errors a row depends on its question, the language and the choices alone; what was
    typed is put into its place each time and is kept by nobody.
    """
    if row.errors or not row.question.fixed:
        return _rendered(row)
    unsure = row.unsure or row.value == UNSURE
    drawn = _drawn(row.question, get_language() or "", unsure, row.chosen)
    return mark_safe(filled(drawn, {TYPED: str(row.value)}))  # noqa: S308


@lru_cache(maxsize=2048)
def _drawn(question: Question, language: str, unsure: bool, chosen: tuple[str, ...]) -> str:
    value: Any = list(chosen) if question.choices else mark(TYPED)
    return _rendered(Row(question, value, unsure))


def _rendered(row: Row) -> SafeString:
    return render_to_string("field.html", {"row": row})
