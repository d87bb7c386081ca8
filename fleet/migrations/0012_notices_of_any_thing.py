"""A notice names what it is of by subject and kind, so that what is no due item can be told too."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def name_subject_and_kind(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Take subject and kind from the due item, and the occurrence from its day, or its mileage if it had no day.

    Of two items of one kind that fell due on one day, the first told stands for both.
    """
    Notice = apps.get_model("fleet", "Notice")
    told = set()
    for notice in Notice.objects.select_related("due_item").order_by("pk"):
        item, (due_on, _, miles) = notice.due_item, notice.occurrence.partition("/")
        notice.car_id, notice.member_id, notice.kind = item.car_id, item.member_id, item.kind
        notice.occurrence = f"{miles} miles" if due_on == "-" else due_on
        key = (item.car_id, item.member_id, item.kind, notice.occurrence, notice.step, notice.recipient_id)
        if key in told:
            notice.delete()
            continue
        told.add(key)
        notice.save()


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0011_confirmations_have_a_grade"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="notice", name="notice_told_once"),
        migrations.AddField(
            model_name="notice",
            name="car",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.PROTECT, related_name="notices", to="fleet.car"
            ),
        ),
        migrations.AddField(
            model_name="notice",
            name="member",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="notices_about",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="notice",
            name="kind",
            field=models.CharField(default="", max_length=32),
            preserve_default=False,
        ),
        migrations.RunPython(name_subject_and_kind, migrations.RunPython.noop, elidable=True),
        migrations.RemoveField(model_name="notice", name="due_item"),
        migrations.AddConstraint(
            model_name="notice",
            constraint=models.CheckConstraint(
                condition=models.Q(("car__isnull", False), ("member__isnull", True))
                | models.Q(("car__isnull", True), ("member__isnull", False)),
                name="notice_of_a_car_or_a_member",
            ),
        ),
        migrations.AddConstraint(
            model_name="notice",
            constraint=models.UniqueConstraint(
                condition=models.Q(("member__isnull", True)),
                fields=("car", "kind", "occurrence", "step", "recipient"),
                name="notice_of_a_car_told_once",
            ),
        ),
        migrations.AddConstraint(
            model_name="notice",
            constraint=models.UniqueConstraint(
                condition=models.Q(("car__isnull", True)),
                fields=("member", "kind", "occurrence", "step", "recipient"),
                name="notice_of_a_member_told_once",
            ),
        ),
        migrations.CreateModel(
            name="UnknownSpell",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=16)),
                ("since", models.DateField()),
                (
                    "car",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="unknown_spells",
                        to="fleet.car",
                    ),
                ),
            ],
            options={
                "ordering": ["car", "kind"],
                "constraints": [models.UniqueConstraint(fields=("car", "kind"), name="unknown_spell_one_an_item")],
            },
        ),
    ]
