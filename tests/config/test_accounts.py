"""Signing in at the counter."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from quotes.models import HireCompany
from tests.intake.desk import cast

PASSWORD = "correct horse battery"

pytestmark = pytest.mark.django_db


@pytest.fixture
def rep() -> User:
    return User.objects.create_user("rosa", password=PASSWORD)


def sign_in(client: Client, password: str, *, name: str = "rosa") -> int:
    given = {"username": name, "password": password}
    return client.post("/accounts/sign-in/", given).status_code


def test_a_rep_signs_in_and_out(rep: User, client: Client) -> None:
    assert sign_in(client, PASSWORD) == 302
    assert client.session["_auth_user_id"] == str(rep.pk)
    assert client.post("/accounts/sign-out/").status_code == 302
    assert "_auth_user_id" not in client.session


def test_a_wrong_password_says_so_and_keeps_the_name(rep: User, client: Client) -> None:
    answer = client.post("/accounts/sign-in/", {"username": "rosa", "password": "wrong"})
    assert answer.status_code == 200
    assert b'id="error-summary"' in answer.content
    assert b'value="rosa"' in answer.content


def test_a_form_without_a_name_is_shown_again(client: Client) -> None:
    answer = client.post("/accounts/sign-in/", {"username": "", "password": ""})
    assert answer.status_code == 200
    assert b'id="error-summary"' in answer.content


def test_five_wrong_passwords_close_the_name_from_there_only(rep: User, client: Client) -> None:
    assert [sign_in(client, "wrong") for _ in range(4)] == [200] * 4
    assert sign_in(client, "wrong") == 429
    assert sign_in(client, PASSWORD) == 429, "even the right one, for a while"
    elsewhere = Client(REMOTE_ADDR="198.51.100.7")
    assert sign_in(elsewhere, PASSWORD) == 302


def test_signing_in_leads_to_no_other_site(rep: User, client: Client) -> None:
    given = {"username": "rosa", "password": PASSWORD, "next": "https://evil.example.com/"}
    answer = client.post("/accounts/sign-in/", given)
    assert answer.headers["Location"] == "/desk/"


def change(client: Client, old: str, new: str) -> int:
    given = {"old_password": old, "new_password1": new, "new_password2": new}
    return client.post("/accounts/password/", given).status_code


def test_a_rep_changes_the_own_password_with_the_present_one(client: Client) -> None:
    rosa = cast.person("rosa", "rep")
    elsewhere = Client()
    for browser in (client, elsewhere):
        browser.force_login(rosa)
    assert change(client, "not the present one", "four unrelated things") == 200
    assert change(client, "a long pass phrase", "four unrelated things") == 302
    assert client.get("/accounts/password/changed/").status_code == 200, "still signed in here"
    assert elsewhere.get("/desk/").status_code == 302, "signed out everywhere else"
    assert sign_in(Client(), "four unrelated things") == 302


@pytest.mark.parametrize(
    ("new", "taken"),
    [
        ("Coldwater-Ridge-2027", False),  # the company of the demo
        ("GeneratorRental!2027", False),
        ("password123456", False),
        ("short", False),
        ("seven herons on a ladder", True),
        ("power to the herons forever", True),
        ("x" * 64 + "mixture of letters", True),
    ],
)
def test_what_a_password_must_not_be(client: Client, new: str, taken: bool) -> None:
    HireCompany.objects.create(name="Coldwater Ridge", phone="1", email="a@b.example")
    client.force_login(cast.person("rosa", "rep"))
    assert (change(client, "a long pass phrase", new) == 302) == taken
