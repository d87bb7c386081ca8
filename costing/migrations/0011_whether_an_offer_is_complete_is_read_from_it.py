"""Whether an offer can be compared is read from its terms, by the rules of a document, and no longer stored."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("costing", "0010_what_an_offer_is_told_beside_its_terms")]

    operations = [migrations.RemoveField(model_name="offer", name="is_complete")]
