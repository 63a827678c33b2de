"""A driver who signs for what was ordered, with a photo, as the phone's script sends it."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import requests
from bs4 import BeautifulSoup, Tag

from tests.faults.customers import AGAIN_SHARE, ANSWER_S, Customer, plate_picture
from tests.faults.ledger import Entry


class Driver(Customer):
    """Signs for each order once, and sends the same form again until its photo is kept too."""

    def __init__(self, *, passphrase: str, **usual: Any) -> None:
        super().__init__(**usual)
        self.passphrase = passphrase
        self.web = requests.Session()
        self.web.headers["Referer"] = self.url
        self.signed: set[str] = set()

    def job(self) -> None:
        """Sign for the oldest order that is not signed for; an order has one set here."""
        orders = (one for one in self.ledger.copy() if one.kind == "accepted")
        order = next((one for one in orders if one.detail not in self.signed), None)
        if order is not None and (sheet := self.sheet(f"/desk/out/{order.detail}/")):
            self.sign(order, *sheet)

    def sheet(self, path: str) -> tuple[str, dict[str, str]] | None:
        """Open the sign-off of an order's set; return its address and the form filled in."""
        link = self.page(path).select_one("a[href*='/sign/delivery/']")
        if not isinstance(link, Tag):
            self.ledger.counted("no sign-off to be opened")
            return None
        where = str(link["href"])
        form = self.page(where).select("form[data-signs] input:not([type=file])")
        filled = {str(one["name"]): str(one.get("value", "")) for one in form}
        filled |= {str(one["name"]): "on" for one in form if one.get("type") == "checkbox"}
        said = {"engine_hours": "5000", "fuel_percent": "100", "connector": "Ed Wire"}
        return where, {**filled, **said, "name": "Ann Field"}

    def page(self, path: str) -> BeautifulSoup:
        """Read a page, signing in where that is asked for."""
        shown = self.web.get(self.url + path, timeout=ANSWER_S)
        if "/sign-in/" in shown.url:
            form = BeautifulSoup(shown.text, "html.parser").select("main form input[type=hidden]")
            known = {str(one["name"]): str(one["value"]) for one in form}
            known |= {"username": "rep", "password": self.passphrase}
            shown = self.web.post(shown.url, data=known, timeout=ANSWER_S)
        shown.raise_for_status()  # a page that cannot be had now is asked for again later
        return BeautifulSoup(shown.text, "html.parser")

    def sign(self, order: Entry, where: str, filled: dict[str, str]) -> None:
        """Send the form until all of it is kept, and now and then once more."""
        self.signed.add(order.detail)
        photo = plate_picture(self.chance)
        self.ledger.asked("signed", order.detail, order.reference)
        self.ledger.asked("sign photo", order.detail, order.reference)
        heard, missing = False, True
        while missing or self.chance.random() < AGAIN_SHARE:
            told = self.told(where, filled, photo)
            if told is not None and not heard:
                self.ledger.acknowledged("signed", order.detail, order.reference)
                heard = True
            if told is not None and missing and not told["missing"]:
                self.ledger.acknowledged("sign photo", order.detail, order.reference)
                missing = False
            elif told is not None and told["missing"]:
                self.ledger.counted("signed without its photo")
            if self.stopping.wait(self.chance.uniform(0.1, 0.5)):
                return

    def sign_in_again(self, where: str, filled: dict[str, str]) -> None:
        """A clock that jumped ended the session; what was filled in stays, under a fresh token."""
        self.ledger.counted("signed out")
        with suppress(requests.RequestException):
            token = self.page(where).select_one("input[name=csrfmiddlewaretoken]")
            assert isinstance(token, Tag)
            filled["csrfmiddlewaretoken"] = str(token["value"])

    def told(self, where: str, filled: dict[str, str], photo: bytes) -> dict[str, Any] | None:
        """Send the form once; return what the script is told, nothing where that is no answer."""
        try:
            answer = self.web.post(
                self.url + where, data=filled, timeout=ANSWER_S, allow_redirects=False,
                files={"photo_fuel": ("gauge.jpg", photo, "image/jpeg")},
                headers={"X-Sent-By": "script"},
            )  # fmt: skip
        except requests.RequestException:
            self.ledger.counted("unanswered")
            return None
        if answer.status_code >= 500:
            self.ledger.counted(f"page answered {answer.status_code}")
            return None
        if "/sign-in/" in answer.headers.get("Location", ""):
            self.sign_in_again(where, filled)
            return None
        if answer.status_code not in (200, 201):
            raise AssertionError(f"{where}: {answer.status_code} {answer.text[:500]}")
        told: dict[str, Any] = answer.json()
        return told
