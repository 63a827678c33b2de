"""An index for searching cases by any part of a word, where the database has trigrams."""

from django.db import migrations

INDEX = "case_search_words"


def add(apps, schema_editor):
    if schema_editor.connection.vendor != "postgresql":
        return
    schema_editor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
    schema_editor.execute(
        f"CREATE INDEX {INDEX} ON intake_case USING gin (search_text gin_trgm_ops)"
    )


def remove(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"DROP INDEX {INDEX}")


class Migration(migrations.Migration):
    dependencies = [("intake", "0003_case_headline")]
    operations = [migrations.RunPython(add, remove, elidable=False)]
