"""A query that pages ask over and over, with its SQL made once a process.

For a wide table Django needs several times as long to write the SQL as the database to answer it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Generic, TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)
Value = TypeVar("Value", int, str)


class Prepared(Generic[Row, Value]):
    """The rows of a query that depends on one value; ``example`` is any such value."""

    def __init__(self, queryset: Callable[[Value], QuerySet[Row]], *, example: Value) -> None:
        self.queryset, self.example = queryset, example

    @cached_property
    def _query(self) -> QuerySet[Row]:
        return self.queryset(self.example)

    @cached_property
    def sql(self) -> str:
        """The SQL with one place for the value."""
        sql, values = self._query.query.sql_with_params()
        assert values == (self.example,), f"not a query of one value: {values}"
        return str(sql)

    def rows(self, value: Value) -> list[Row]:
        """The rows for this value, as model instances."""
        return list(self._query.model._default_manager.raw(self.sql, [value]))

    def first(self, value: Value) -> Row | None:
        """The first of them, ``None`` where there is none."""
        return next(iter(self.rows(value)), None)
