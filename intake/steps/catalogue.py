"""All steps in their order, each with its questions. Which of them apply depends on the answers."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from intake.questions import contact, jobs, power, site
from intake.questions.applications import APPLICATION, application_is
from intake.questions.question import Question
from intake.steps.comparing import dates_agree
from intake.steps.step import Step

START = Step("job", _("What the set will power"), (APPLICATION,))
EQUIPMENT = Step("equipment", _("Your equipment"))
CHECK = Step("check", _("Check your answers"))

STEPS: tuple[Step, ...] = (
    START,
    EQUIPMENT,
    Step(
        "water",
        _("The pump and its water"),
        (jobs.FLOAT_STARTS_SET, jobs.INFLOW, jobs.PUMP_RATE, jobs.ACTIVE_VOLUME, jobs.LIFT),
        applies=application_is("dewatering"),
    ),
    Step(
        "day",
        _("A day on the jobsite"),
        (jobs.WORK_FROM, jobs.WORK_UNTIL, jobs.OVERNIGHT),
        applies=application_is("jobsite_trailer"),
    ),
    Step(
        "show",
        _("The lights and the audience"),
        (jobs.LIGHTS_UNTIL, jobs.DIMMERS, jobs.CHILDREN),
        applies=application_is("event_lighting"),
    ),
    Step(
        "facility",
        _("The building"),
        (jobs.FACILITY, jobs.LIFE_SUPPORT, jobs.STANDING_SET, site.REDUNDANCY),
        applies=application_is("emergency"),
    ),
    Step(
        "hookup",
        _("Feeding a building or trailer"),
        (power.FEEDS_BUILDING, power.TRANSFER_EQUIPMENT),
        applies=application_is("emergency", "jobsite_trailer", "other"),
    ),
    Step("voltage", _("The voltage"), (power.SUPPLY, power.PLUGS)),
    Step(
        "site",
        _("The site"),
        (site.ZIP, site.DIRECTIONS, site.ALTITUDE, site.AMBIENT, site.DELIVERY),
    ),
    Step(
        "towing",
        _("Towing it yourself"),
        (site.VEHICLE_RATING, site.HITCH_CLASS, site.BRAKE_CONTROLLER),
        applies=site.tows,
    ),
    Step(
        "dates",
        _("Days and hours"),
        (site.HIRE_START, site.HIRE_END, site.HOURS_PER_DAY, site.REFUEL_EVERY),
        compare=dates_agree,
    ),
    Step(
        "around",
        _("Around the set"),
        (
            site.LEAD_LENGTH,
            site.CROSSING,
            site.PUBLIC_NEARBY,
            site.NOISE_DISTANCE,
            site.NOISE_LIMIT,
            site.OPENINGS_DISTANCE,
        ),
    ),
    Step(
        "contact",
        _("How we reach you"),
        (
            contact.CONTACT_NAME,
            contact.COMPANY,
            contact.EMAIL,
            contact.PHONE,
            contact.SITE_CONTACT,
            contact.NOTE,
        ),
    ),
    CHECK,
)

STEP_BY_KEY: dict[str, Step] = {step.key: step for step in STEPS}
QUESTIONS: dict[str, Question] = {q.key: q for step in STEPS for q in step.questions}
