"""Rows written over and over, with the SQL made once a process; the reading is ``prepared.py``.

For one row Django asks each field several times and writes the SQL anew, which takes longer than
the database needs for it. Rows go in as they are: no signal, no logic in ``save``, and every value
of the kind that its field gives when it is read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from typing import Any

from django.db import DatabaseError, connections, models, router, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Field, Model

Adapt = Callable[[Any, BaseDatabaseWrapper, bool], Any]
Columns = Sequence["Field[Any, Any]"]
# what every database takes as it is
PLAIN = (models.CharField, models.TextField, models.IntegerField, models.BooleanField)


class _Written:
    """Columns of a model, and where and how their values go."""

    def __init__(self, model: type[Model], *names: str) -> None:
        self.model: type[Model] = model
        self.names: tuple[str, ...] = names

    @cached_property
    def _alias(self) -> str:
        return str(router.db_for_write(self.model))

    @property
    def _columns(self) -> Columns:
        raise NotImplementedError

    @cached_property
    def _adapters(self) -> list[Adapt | None]:
        return [_adapter(one) for one in self._columns]


class PreparedInsert(_Written):
    """New rows of a model; where columns are named, all of them, in the order rows have them."""

    @cached_property
    def _columns(self) -> Columns:
        given = [one for one in self.model._meta.concrete_fields if not _numbered(one)]
        by_name = {one.attname: one for one in given}
        columns = [by_name[name] for name in self.names or by_name]
        assert len(columns) == len(given), f"each column of {self.model} once"
        return columns

    @cached_property
    def _sql(self) -> str:
        quoted = connections[self._alias].ops.quote_name
        columns = ", ".join(quoted(str(one.column)) for one in self._columns)
        values = ", ".join("%s" for _ in self._columns)
        table = quoted(self.model._meta.db_table)
        return f"INSERT INTO {table} ({columns}) VALUES ({values})"  # noqa: S608 - own names alone

    def rows(self, rows: Iterable[Sequence[Any]]) -> None:
        """Add rows, each as the values of its columns."""
        connection = connections[self._alias]
        given = [_adapted(row, self._adapters, connection) for row in rows]
        with transaction.mark_for_rollback_on_error(self._alias), connection.cursor() as cursor:
            cursor.executemany(self._sql, given)

    def row(self, row: Model) -> None:
        """Add one row that is made already; where the database numbers it, it gets its key."""
        connection, key = connections[self._alias], self.model._meta.pk
        values = [row.__dict__[one.attname] for one in self._columns]
        given = _adapted(values, self._adapters, connection)
        with transaction.mark_for_rollback_on_error(self._alias), connection.cursor() as cursor:
            if _numbered(key):
                returning = f" RETURNING {connection.ops.quote_name(str(key.column))}"
                cursor.execute(self._sql + returning, given)
                row.pk = cursor.fetchone()[0]
            else:
                cursor.execute(self._sql, given)
        row._state.adding, row._state.db = False, self._alias


class PreparedSave(_Written):
    """Some columns of one row written as they stand on it, found by its key."""

    @cached_property
    def _columns(self) -> Columns:
        by_name = {one.attname: one for one in self.model._meta.concrete_fields}
        return [*(by_name[name] for name in self.names), self.model._meta.pk]

    @cached_property
    def _sql(self) -> str:
        quoted = connections[self._alias].ops.quote_name
        *changed, key = (f"{quoted(str(one.column))} = %s" for one in self._columns)
        table = quoted(self.model._meta.db_table)
        return f"UPDATE {table} SET {', '.join(changed)} WHERE {key}"  # noqa: S608 - own names alone

    def save(self, row: Model) -> None:
        """Write them; a row that is not there is a defect."""
        connection = connections[self._alias]
        values = [row.__dict__[one.attname] for one in self._columns]
        with transaction.mark_for_rollback_on_error(self._alias), connection.cursor() as cursor:
            cursor.execute(self._sql, _adapted(values, self._adapters, connection))
            if cursor.rowcount != 1:
                raise DatabaseError(f"{row!r} is not there to be saved")


def _numbered(field: Field[Any, Any]) -> bool:
    """Whether the database gives the value."""
    return isinstance(field, models.AutoField | models.BigAutoField)


def _adapter(field: Field[Any, Any]) -> Adapt | None:
    """What makes a value of this field the database's own; none where it is that already."""
    target = field.target_field if isinstance(field, models.ForeignKey) else field
    return None if isinstance(target, PLAIN) else target.get_db_prep_value


def _adapted(
    values: Sequence[Any], adapters: Sequence[Adapt | None], connection: BaseDatabaseWrapper
) -> list[Any]:
    return [
        value if adapt is None or value is None else adapt(value, connection, True)
        for value, adapt in zip(values, adapters, strict=True)
    ]
