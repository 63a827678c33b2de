"""A query that pages ask over and over, with its SQL made once a process.

For a wide table Django needs several times as long to write the SQL as the database to answer it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from itertools import chain
from typing import Any, Generic, TypeVar, cast
from uuid import UUID

from django.contrib.auth.models import User
from django.db import connections, router, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper
from django.db.models import Model, QuerySet
from django.db.models.base import ModelState
from django.db.models.signals import post_init, pre_init
from django.db.models.sql import UpdateQuery
from django.db.models.sql.compiler import SQLCompiler

Row = TypeVar("Row")
Value = int | str | date | UUID
# examples, where a query asks for such a value
A_KEY = -1
AN_ID = UUID(int=0)
A_DAY, ANOTHER_DAY = date(1, 1, 1), date(1, 1, 2)
A_MOMENT, ANOTHER_MOMENT = datetime(1, 1, 1, tzinfo=UTC), datetime(1, 1, 2, tzinfo=UTC)
Convert = Callable[[Any, Any, BaseDatabaseWrapper], Any]
Converters = tuple[tuple[int, tuple[Convert, ...], Any], ...]  # column, functions, expression


@dataclass(frozen=True, slots=True)
class _Written:
    """SQL, the values in its places, and the places of each example."""

    sql: str
    values: tuple[object, ...]
    places: tuple[tuple[int, ...], ...]

    def run(self, cursor: CursorWrapper, values: tuple[Value, ...]) -> None:
        given: list[Any] = list(self.values)
        for places, value in zip(self.places, values, strict=True):
            adapted = _adapted(cursor.db, value)
            for at in places:
                given[at] = adapted
        cursor.execute(self.sql, given)


class Prepared(Generic[Row]):
    """The rows of a query that depends on some values.

    An example stands for each value when the SQL is written: unlike the others, and unlike
    everything else that the query compares with.
    """

    def __init__(self, queryset: Callable[..., QuerySet[Any, Row]], *examples: Value) -> None:
        self.queryset: Callable[..., QuerySet[Any, Row]] = queryset
        self.examples: tuple[Value, ...] = examples

    @cached_property
    def _query(self) -> QuerySet[Any, Row]:
        return self.queryset(*self.examples)

    @cached_property
    def _compiled(self) -> tuple[_Written, tuple[str, ...], Converters]:
        """The SQL, the model's fields by column, and what makes their values of the columns'."""
        model = self._query.model
        assert not self._query.query.select_related, "rows of one table alone"
        assert model.__init__ is Model.__init__, "rows that take their values as they are"
        assert not pre_init.has_listeners(model)
        assert not post_init.has_listeners(model)
        compiler = self._query.query.get_compiler(self._query.db)
        others = self.queryset(*map(_another, self.examples)).query.get_compiler(self._query.db)
        written = _written(compiler, self.examples, others)
        columns = [column for column, *_ in compiler.select]
        converters = compiler.get_converters(columns).items()
        return (
            written,
            tuple(one.target.attname for one in columns) if compiler.query.default_cols else (),
            tuple((at, tuple(each), column) for at, (each, column) in converters),
        )

    def rows(self, *values: Value) -> list[Row]:
        """The rows for these values: what the query gives, model instances or tuples."""
        written, names, converters = self._compiled
        alias = self._query.db
        connection = connections[alias]
        with connection.cursor() as cursor:
            written.run(cursor, values)
            found = [_converted(row, converters, connection) for row in cursor.fetchall()]
        if not names:
            return [cast(Row, tuple(row)) for row in found]
        return [cast(Row, _instance(self._query.model, alias, names, row)) for row in found]

    def first(self, *values: Value) -> Row | None:
        """The first of them, ``None`` where there is none."""
        return next(iter(self.rows(*values)), None)


class PreparedUpdate:
    """A change of the rows of a query; both depend on some values, as in ``Prepared``."""

    def __init__(
        self, change: Callable[..., tuple[QuerySet[Any, Any], dict[str, Any]]], *examples: Value
    ) -> None:
        self.change: Callable[..., tuple[QuerySet[Any, Any], dict[str, Any]]] = change
        self.examples: tuple[Value, ...] = examples

    @cached_property
    def _compiled(self) -> tuple[_Written, str]:
        alias = router.db_for_write(self.change(*self.examples)[0].model)
        compiler = self._compiler(alias, self.examples)
        others = self._compiler(alias, tuple(map(_another, self.examples)))
        return _written(compiler, self.examples, others), alias

    def _compiler(self, alias: str, examples: tuple[Value, ...]) -> SQLCompiler:
        queryset, fields = self.change(*examples)
        query = cast(UpdateQuery, queryset.query.chain(UpdateQuery))
        query.add_update_values(fields)
        return cast(SQLCompiler, query.get_compiler(alias))

    def update(self, *values: Value) -> int:
        """Change the rows for these values; return how many there were."""
        written, alias = self._compiled
        with transaction.mark_for_rollback_on_error(alias), connections[alias].cursor() as cursor:
            written.run(cursor, values)
            return int(cursor.rowcount)


def _written(compiler: SQLCompiler, examples: tuple[Value, ...], others: SQLCompiler) -> _Written:
    """The SQL, with the places of the examples: those that change with them, and no others."""
    (sql, values), (other_sql, other_values) = compiler.as_sql(), others.as_sql()
    adapted = [_adapted(compiler.connection, one) for one in examples]
    places = [tuple(at for at, value in enumerate(values) if value == one) for one in adapted]
    changed = {at for at, value in enumerate(values) if value != other_values[at]}
    apart = sorted(chain(*places)) == sorted(changed)
    assert sql == other_sql, f"{examples} change the SQL itself"
    assert apart, f"{examples} do not stand apart in {values}"
    return _Written(str(sql), tuple(values), tuple(places))


def _another(example: Value) -> Value:
    """A value of the same kind that is nobody's example."""
    if isinstance(example, date):
        return example + timedelta(days=1000)
    if isinstance(example, UUID):
        return UUID(int=example.int + 1000)
    return example - 1000 if isinstance(example, int) else f"{example}, another"


def _adapted(connection: BaseDatabaseWrapper, value: Value) -> object:
    """A value as the database takes it."""
    if isinstance(value, datetime):
        return connection.ops.adapt_datetimefield_value(value)
    if isinstance(value, date):
        return connection.ops.adapt_datefield_value(value)
    if isinstance(value, UUID) and not connection.features.has_native_uuid_field:
        return value.hex
    return value


def _converted(row: Any, converters: Converters, connection: BaseDatabaseWrapper) -> list[Any]:
    values = list(row)
    for at, each, column in converters:
        for convert in each:
            values[at] = convert(values[at], column, connection)
    return values


def _instance(model: type[Model], alias: str, names: Iterable[str], values: Iterable[Any]) -> Model:
    """What the model's ``from_db`` makes of these values, without a call for each of them."""
    made = model.__new__(model)
    made._state = ModelState()
    made._state.adding, made._state.db = False, alias
    made.__dict__.update(zip(names, values, strict=True))
    return made


def people_read(rows: Iterable[Model], *names: str) -> None:
    """Read the people that these fields of the rows point at, all of them by one query."""
    wanted = [(row, name, getattr(row, f"{name}_id")) for row in rows for name in names]
    found = User.objects.in_bulk({pk for _row, _name, pk in wanted if pk is not None})
    for row, name, pk in wanted:
        if pk is not None:
            setattr(row, name, found[pk])


def related_rows(row: Model, name: str, prepared: Prepared[Row]) -> list[Row]:
    """The related rows that were put on a row, else those read by its key."""
    put = rows_put(row, name)
    return prepared.rows(row.pk) if put is None else list(put)


def rows_put(row: Model, name: str) -> Iterable[Any] | None:
    """The related rows that were put on a row; ``None`` where nobody did."""
    put: dict[str, Iterable[Any]] = getattr(row, "_prefetched_objects_cache", {})
    return put.get(name)


def related_put(row: Model, name: str, rows: list[Any]) -> None:
    """Give a row its related rows, as ``prefetch_related`` would have read them."""
    kept = getattr(row, name).all()
    kept._result_cache, kept._prefetch_done = rows, True
    cache: dict[str, Any] = row.__dict__.setdefault("_prefetched_objects_cache", {})
    cache[name] = kept
