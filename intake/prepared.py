"""A query that pages ask over and over, with its SQL made once a process.

For a wide table Django needs several times as long to write the SQL as the database to answer it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cached_property
from typing import Any, Generic, TypeVar

from django.contrib.auth.models import User
from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)
Value = TypeVar("Value", int, str)


class Prepared(Generic[Row, Value]):
    """The rows of a query that depends on one value.

    ``example`` is such a value, unlike all others that the query compares with.
    """

    def __init__(self, queryset: Callable[[Value], QuerySet[Row]], *, example: Value) -> None:
        self.queryset: Callable[[Value], QuerySet[Row]] = queryset
        self.example: Value = example

    @cached_property
    def _query(self) -> QuerySet[Row]:
        return self.queryset(self.example)

    @cached_property
    def _written(self) -> tuple[str, tuple[object, ...]]:
        """The SQL, and the values in its places."""
        sql, values = self._query.query.sql_with_params()
        assert values.count(self.example) == 1, f"not a query of one value: {values}"
        return str(sql), tuple(values)

    def rows(self, value: Value) -> list[Row]:
        """The rows for this value, as model instances."""
        sql, values = self._written
        given = [value if one == self.example else one for one in values]
        return list(self._query.model._default_manager.raw(sql, given))

    def first(self, value: Value) -> Row | None:
        """The first of them, ``None`` where there is none."""
        return next(iter(self.rows(value)), None)


def people_read(rows: Iterable[Model], *names: str) -> None:
    """Read the people that these fields of the rows point at, all of them by one query."""
    wanted = [(row, name, getattr(row, f"{name}_id")) for row in rows for name in names]
    found = User.objects.in_bulk({pk for _row, _name, pk in wanted if pk is not None})
    for row, name, pk in wanted:
        if pk is not None:
            setattr(row, name, found[pk])


def related_put(row: Model, name: str, rows: list[Any]) -> None:
    """Give a row its related rows, as ``prefetch_related`` would have read them."""
    kept = getattr(row, name).all()
    kept._result_cache, kept._prefetch_done = rows, True
    cache: dict[str, Any] = row.__dict__.setdefault("_prefetched_objects_cache", {})
    cache[name] = kept
