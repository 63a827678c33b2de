"""The demo company, for every test of the handover."""

from tests.quotes.conftest import company, holder

__all__ = ["company", "holder"]
