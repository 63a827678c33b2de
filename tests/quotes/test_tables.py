"""Tables in and out as CSV."""

from __future__ import annotations

import pytest

from quotes.models import Rate, TaxRule, Unit
from quotes.tables.catalogue import TABLES
from quotes.tables.reading import TableRefused, table_import, table_read
from quotes.tables.table import as_typed, harmless
from quotes.tables.writing import table_text

pytestmark = pytest.mark.django_db
HEADER = "card,item_code,day,week,four_weeks,once\n"


@pytest.mark.parametrize("name", sorted(TABLES))
def test_what_is_written_reads_back_as_no_change(company: None, name: str) -> None:
    reading = table_read(TABLES[name], table_text(TABLES[name]))
    assert reading.problems == []
    assert {change.kind for change in reading.changes} == {"same"}


def test_a_dry_run_lists_every_error_with_its_line_and_writes_nothing(company: None) -> None:
    text = (
        HEADER
        + "NOWHERE,T60,1,2,3,\n"
        + "STANDARD-2027,T60,ten,30.00,90.00,\n"
        + "STANDARD-2027,T75,10.00,90.00,90.00,\n"
        + "STANDARD-2027,T75,-1.00,0.00,0.00,\n"
    )
    before = Rate.objects.count()
    problems = table_read(TABLES["rates"], text).problems
    assert [(p.line, p.column) for p in problems] == [
        (2, "card"),
        (3, "day"),
        (4, "week"),
        (5, "day"),
    ]
    with pytest.raises(TableRefused):
        table_import(TABLES["rates"], text)
    assert Rate.objects.count() == before


def test_a_change_is_told_with_before_and_after(company: None) -> None:
    text = HEADER + "STANDARD-2027,T60,300.00,858.00,2434.00,\n"
    (change,) = table_read(TABLES["rates"], text).changes
    assert change.kind == "changed"
    assert change.fields["day"][1] == "300.00"
    table_import(TABLES["rates"], text)
    assert Rate.objects.get(card__code="STANDARD-2027", item_code="T60").day == 300


def test_a_row_twice_is_an_error(company: None) -> None:
    row = "STANDARD-2027,T60,300.00,858.00,2434.00,\n"
    problems = table_read(TABLES["rates"], HEADER + row + row).problems
    assert [(p.line, p.message) for p in problems] == [(3, "STANDARD-2027 / T60 is there twice.")]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "missing"),
        ("card,item_code,colour\n", "Unknown column"),
        ("card,item_code,day,day\n", "twice"),
        ('card,item_code\n"open,T60\n', "CSV"),
        ("card,item_code,day,week,four_weeks\nA,B,1,2,3,4,5\n", "More cells"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_words(text: str, word: str) -> None:
    problems = table_read(TABLES["rates"], text).problems
    assert any(word in problem.message for problem in problems)


@pytest.mark.parametrize("text", ["=1+1", "+SUM(A1)", "-cmd", "@x"])
def test_no_cell_becomes_a_formula(text: str) -> None:
    # OWASP: CSV injection; a leading apostrophe makes a spreadsheet take the cell as text.
    assert harmless(text) == "'" + text
    assert as_typed(harmless(text)) == text


def test_negative_numbers_stay_numbers() -> None:
    assert harmless("-12.50") == "-12.50"


def test_a_byte_order_mark_is_passed_over(company: None) -> None:
    text = "\ufeff" + table_text(TABLES["units"])
    assert table_read(TABLES["units"], text).problems == []
    assert Unit.objects.count() == len(text.splitlines()) - 1


def test_two_units_of_one_percent_rule_are_kept_apart(company: None) -> None:
    assert TaxRule.objects.filter(state="CO", zip_prefix="").count() == 5
