from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0008_transfer_kind_not_said'),
    ]

    operations = [
        migrations.AddField(
            model_name='signoff',
            name='photos_missing',
            field=models.JSONField(blank=True, default=list),
        ),
    ]
