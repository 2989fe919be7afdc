from django.db import migrations, models

MARKS = [
    ("", "read from the label"),
    ("verified in stored public text", "verified in stored public text"),
    ("verified in secondary text only", "verified in secondary text only"),
    ("from memory, not verified", "from memory, not verified"),
    ("not found", "no figure was found"),
]


class Migration(migrations.Migration):
    dependencies = [("cases", "0010_telling_settles")]

    operations = [
        migrations.AlterField(
            model_name=name,
            name="mark",
            field=models.CharField(blank=True, choices=MARKS, max_length=40),
        )
        for name in ("labelperiod", "labelperiodevent")
    ]
