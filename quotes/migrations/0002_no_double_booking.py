"""On PostgreSQL no two bookings that stand may hold one unit on one day.

SQLite has no exclusion constraint; there the check inside the one writing transaction counts.
"""

from django.db import migrations

ADD = """
ALTER TABLE quotes_booking ADD CONSTRAINT no_double_booking
EXCLUDE USING gist (unit_id WITH =, daterange(starts_on, free_on, '[)') WITH &&)
WHERE (cancelled_at IS NULL)
"""


def add(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")
        schema_editor.execute(ADD)


def remove(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("ALTER TABLE quotes_booking DROP CONSTRAINT no_double_booking")


class Migration(migrations.Migration):
    dependencies = [("quotes", "0001_first")]
    operations = [migrations.RunPython(add, remove)]
