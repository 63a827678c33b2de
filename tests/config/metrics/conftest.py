from tests.quotes.conftest import company

__all__ = ["company"]
