"""An offer's position gives its letter, A to H. Where offers came and went, some may have a position beyond those."""

from typing import Any

from django.db import migrations

_LETTERS = 8


def close_up(apps: Any, schema_editor: Any) -> None:
    """Number the offers of a comparison from 0 where one of them has no letter; their order stays."""
    offers = apps.get_model("costing", "Offer").objects
    beyond = offers.filter(position__gte=_LETTERS).values_list("comparison", flat=True).distinct()
    for comparison in list(beyond):
        # From the lowest up, so that no new position is still taken.
        for position, offer in enumerate(offers.filter(comparison=comparison).order_by("position")):
            offers.filter(pk=offer.pk).update(position=position)


class Migration(migrations.Migration):
    dependencies = [("costing", "0006_closed_is_closed")]

    operations = [migrations.RunPython(close_up, migrations.RunPython.noop, elidable=True)]
