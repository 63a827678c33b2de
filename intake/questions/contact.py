"""Questions about the person who asks."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions.question import Kind, Question

CONTACT_NAME = Question(
    key="contact_name",
    kind=Kind.TEXT,
    label=_("Your name"),
    missing=_("Enter your name."),
    not_sure=False,
    autocomplete="name",
    longest=120,
)
COMPANY = Question(
    key="company",
    kind=Kind.TEXT,
    label=_("Company or agency"),
    missing=_("Enter the company."),
    optional=True,
    not_sure=False,
    autocomplete="organization",
)
EMAIL = Question(
    key="email",
    kind=Kind.EMAIL,
    label=_("Email address"),
    help=_("The quote and your link go there."),
    missing=_("Enter your email address, like name@example.com."),
    not_sure=False,
    autocomplete="email",
    longest=254,
)
PHONE = Question(
    key="phone",
    kind=Kind.PHONE,
    label=_("Phone number"),
    help=_("With area code; an extension is fine."),
    why=_("A rep calls only if an answer needs a word with you, in working hours."),
    missing=_("Enter a phone number with its area code."),
    not_sure=False,
    autocomplete="tel",
    longest=40,
)
SITE_CONTACT = Question(
    key="site_contact",
    kind=Kind.TEXT,
    label=_("Somebody on site to call"),
    help=_("Name and phone number, if it is not you."),
    missing=_("Enter who is on site."),
    optional=True,
    not_sure=False,
)
NOTE = Question(
    key="note",
    kind=Kind.LONG_TEXT,
    label=_("Anything else we should know?"),
    missing=_("Enter your note."),
    optional=True,
    not_sure=False,
    longest=2000,
)
