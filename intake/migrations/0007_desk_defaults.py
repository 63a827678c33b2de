"""Two findings need two people from the start; the owner may change the list."""

from django.db import migrations

CODES = ("life_safety", "backfeed")


def add(apps, schema_editor):
    rules = apps.get_model("intake", "FourEyesRule").objects
    for code in CODES:
        rules.get_or_create(code=code)


class Migration(migrations.Migration):
    dependencies = [("intake", "0006_four_eyes_size")]
    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
