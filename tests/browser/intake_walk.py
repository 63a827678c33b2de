"""Walking through the intake with a real browser: the demo's stories as people would type them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from playwright.sync_api import Page

Answers = dict[str, str | bool]


@dataclass(frozen=True)
class Story:
    """An application, its rows of equipment and the answers of its steps."""

    application: str
    equipment: tuple[tuple[str, Answers], ...]
    steps: dict[str, Answers]
    priced: bool
    pages: int = 0  # from the first page to "sent"
    taps: int = 0  # answers given and buttons pressed


CONTACT: Answers = {
    "contact_name": "Ann Field",
    "email": "ann@example.com",
    "phone": "970 555 0142",
}


def _dates(start: str, end: str, hours: str, refuel: str) -> Answers:
    return {"hire_start": start, "hire_end": end, "hours_per_day": hours, "refuel_every": refuel}


DEWATERING = Story(
    "dewatering",
    (
        (
            "pump",
            {
                "nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G",
                "float_switch": "yes",
                "starting": "across_the_line",
                "name": "Sump pump",
            },
        ),
        ("lamp", {"nameplate": "1000 W metal halide 480 V 1 ph", "quantity": "4"}),
    ),
    {
        "water": {"float_starts_set": "set", "inflow": "200", "pump_rate": "400",
                  "active_volume": "2000"},
        "voltage": {"supply": "480Y/277"},
        "site": {"zip": "80424", "altitude": "9600", "ambient": "90", "delivery": "deliver"},
        "dates": _dates("2027-06-01", "2027-06-14", "24", "24"),
        "around": {"lead_length": "75", "crossing": "no", "public_nearby": "yes",
                   "noise_distance": "50", "noise_limit": "65"},
        "contact": CONTACT,
    },
    priced=True,
    pages=12,
    taps=40,
)  # fmt: skip
TRAILER = Story(
    "jobsite_trailer",
    (
        ("panel", {"nameplate": "50 A 120/240 V 1 ph panel", "demand_percent": "60"}),
        (
            "compressor",
            {"nameplate": "3 hp 230 V 1 ph 60 Hz 17 A", "restarts_itself": "yes",
             "starting": "across_the_line"},
        ),
        ("charger", {"nameplate": "500 W 120 V 1 ph", "quantity": "2"}),
    ),
    {
        "day": {"work_from": "07:00", "work_until": "17:00", "overnight": "no"},
        "hookup": {"feeds_building": "no"},
        "voltage": {"supply": "120/240"},
        "site": {"zip": "78701", "altitude": "489", "ambient": "100", "delivery": "deliver"},
        "dates": _dates("2027-07-05", "2027-10-01", "10", "120"),
        "around": {"lead_length": "50", "crossing": "no", "public_nearby": "no"},
        "contact": CONTACT,
    },
    priced=True,
    pages=15,
    taps=42,
)  # fmt: skip
LIGHTING = Story(
    "event_lighting",
    (
        ("lamp", {"nameplate": "1000 W metal halide 208 V 1 ph", "quantity": "12"}),
        ("lamp", {"nameplate": "250 W LED 120 V 1 ph", "quantity": "24"}),
        ("electronics", {"nameplate": "6 kVA 120 V 1 ph"}),
    ),
    {
        "show": {"lights_until": "23:30", "dimmers": "no", "children": "yes"},
        "voltage": {"supply": "208Y/120"},
        "site": {"zip": "97035", "altitude": "200", "ambient": "75", "delivery": "deliver"},
        "dates": _dates("2027-08-12", "2027-08-15", "8", "24"),
        "around": {"lead_length": "150", "crossing": "yes", "public_nearby": "yes",
                   "noise_distance": "100", "noise_limit": "60"},
        "contact": CONTACT,
    },
    priced=True,
    pages=14,
    taps=40,
)  # fmt: skip
EMERGENCY = Story(
    "emergency",
    (
        ("panel", {"nameplate": "125 A 208Y/120 3 ph panel", "demand_percent": "60"}),
        (
            "hvac",
            {"nameplate": "MCA 32 MOCP 45 208/230-3-60", "quantity": "3",
             "restarts_itself": "yes", "starting": "across_the_line"},
        ),
    ),
    {
        "facility": {"facility": "shelter", "life_support": "unsure", "standing_set": "no",
                     "redundancy": "no"},
        "hookup": {"feeds_building": "yes", "transfer_equipment": "yes"},
        "voltage": {"supply": "208Y/120"},
        "site": {"zip": "39530", "altitude": "20", "ambient": "95", "delivery": "deliver"},
        "dates": _dates("2027-09-01", "2027-09-21", "24", "48"),
        "around": {"lead_length": "100", "crossing": "no", "public_nearby": "yes",
                   "openings_distance": "30"},
        "contact": CONTACT,
    },
    priced=False,
    pages=13,
    taps=42,
)  # fmt: skip
STORIES = (DEWATERING, TRAILER, LIGHTING, EMERGENCY)


@dataclass
class Walk:
    """One walk; ``look`` is called on every page before it is answered."""

    page: Page
    look: Callable[[str], None] = lambda _name: None
    pages: list[str] = field(default_factory=list)
    taps: int = 0

    @property
    def request_address(self) -> str:
        return "/".join(self.page.url.split("/")[:5]) + "/"

    def start(self, application: str, address: str = "/") -> None:
        self.page.goto(address)
        self._see("start")
        self._answer({"application": application})
        self._press("main form .actions button")

    def equipment(self, story: Story) -> None:
        for place, (kind, answers) in enumerate(story.equipment):
            if place:
                self._press(f"button[name=kind][value={kind}]")
            self._see(f"equipment {place + 1}")
            self._answer(answers)
            self._press(".sheet .actions button")
            self._see(f"list {place + 1}")
        self._press(".all-equipment button")

    def steps(self, story: Story) -> None:
        for key, answers in story.steps.items():
            assert f"/{key}/" in self.page.url, self.page.url
            self._see(key)
            self._answer(answers)
            self._press(".sheet .actions button")

    def send(self) -> None:
        self._see("check")
        self._press("main form .actions button")

    def whole(self, story: Story, address: str = "/") -> None:
        self.start(story.application, address)
        self.equipment(story)
        self.steps(story)
        self.send()

    def _see(self, name: str) -> None:
        self.pages.append(name)
        self.look(name)

    def _press(self, selector: str) -> None:
        self.taps += 1
        with self.page.expect_navigation():
            self.page.click(selector)

    def _answer(self, answers: Answers) -> None:
        for key, value in answers.items():
            self.taps += 1
            choice = self.page.locator(f'[name="{key}"][value="{value}"]')
            if choice.count() and choice.first.get_attribute("type") in ("radio", "checkbox"):
                choice.first.check()
            elif value is True:
                self.page.check(f'[name="{key}__unsure"]')
            else:
                self.page.fill(f'[name="{key}"]', str(value))
