"""The cautions that stand on every page and paper of an emergency."""

from __future__ import annotations

from intake.questions.caution_words import caution_words
from sizing.cautions import cautions

BUILDING = ("carbon_monoxide", "backfeed", "local_codes")


def building_cautions() -> list[str]:
    """Carbon monoxide, backfeed and who decides, in the language of the page."""
    return [caution_words(one.code) for one in cautions() if one.code in BUILDING]
