"""Every finding and caution that can reach a customer has words, in both languages."""

import json
import re
from pathlib import Path

import pytest
from django.utils.translation import override

import demo_fixtures
from intake.questions.caution_words import CAUTION_WORDS, caution_words
from intake.questions.finding_words import FINDING_WORDS, finding_words
from sizing.cautions import cautions
from tests.intake.questions.finding_codes import finding_codes

ROOT = Path(demo_fixtures.__file__).parent.parent
DOUBT = re.compile(r'(?:_doubt|BuildReferred)\(\s*"(\w+)"|^    code = "(\w+)"', re.MULTILINE)
OUTSIDE_SIZING = (
    "intake/requests/doubts.py",
    "quotes/building/steps.py",
    "quotes/building/availability.py",
    "quotes/pricing/errors.py",
    "quotes/rates/errors.py",
)


def codes_outside_sizing() -> set[str]:
    texts = ((ROOT / path).read_text(encoding="utf-8") for path in OUTSIDE_SIZING)
    found = {code for text in texts for pair in DOUBT.findall(text) for code in pair}
    return found - {""} | {"change_asked"}


def test_the_collected_codes_are_at_least_those_that_the_stories_meet() -> None:
    met = set()
    for path in Path(demo_fixtures.__file__).parent.glob("stories/*.expected.json"):
        met |= set(json.loads(path.read_text(encoding="utf-8"))["needs_person"])
    assert met
    assert met <= finding_codes()


@pytest.mark.parametrize("code", sorted(finding_codes() | codes_outside_sizing()))
def test_every_finding_has_words_in_both_languages(code: str) -> None:
    assert code in FINDING_WORDS
    with override("en"):
        english = str(FINDING_WORDS[code])
    with override("es"):
        spanish = finding_words(code, "the English detail")
    assert english
    assert spanish not in (english, "the English detail")


def test_the_cautions_are_those_of_the_method_word_for_word() -> None:
    assert {one.code for one in cautions()} == set(CAUTION_WORDS)
    with override("en"):
        assert [caution_words(one.code) for one in cautions()] == [one.text for one in cautions()]
