"""Fills speak as the trade does: brimmed, and with or without a gap before."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costing", "0004_comparisons_and_offers")]

    operations = [
        migrations.RenameField(model, old, new)
        for model in ("fill", "historicalfill")
        for old, new in (("full", "brimmed"), ("missed_previous", "gap_before"))
    ]
