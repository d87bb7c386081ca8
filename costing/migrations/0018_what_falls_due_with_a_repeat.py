"""What falls due with the first or the last payment of what repeats, and what it will be from some day on."""

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0017_payees"),
    ]

    operations = [
        migrations.AddField(
            model_name="historicalrepeat",
            name="fees",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=9,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="historicalrepeat",
            name="final_payment",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=9,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="historicalrepeat",
            name="in_arrears",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="historicalrepeat",
            name="next_amount",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=9,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="historicalrepeat",
            name="next_amount_from",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="repeat",
            name="fees",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=9,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="repeat",
            name="final_payment",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=9,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="repeat",
            name="in_arrears",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="repeat",
            name="next_amount",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                max_digits=9,
                null=True,
                validators=[django.core.validators.MinValueValidator(0)],
            ),
        ),
        migrations.AddField(
            model_name="repeat",
            name="next_amount_from",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(("fees__isnull", True), ("fees__gt", 0), _connector="OR"),
                name="repeat_fees_of_some_amount",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(("final_payment__isnull", True), ("final_payment__gt", 0), _connector="OR"),
                name="repeat_final_payment_of_some_amount",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(("next_amount__isnull", True), ("next_amount__gt", 0), _connector="OR"),
                name="repeat_next_amount_of_some_amount",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(("final_payment__isnull", True), ("payments__isnull", False), _connector="OR"),
                name="repeat_ends_with_a_final_payment",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("next_amount__isnull", True), ("next_amount_from__isnull", True)),
                    models.Q(("next_amount__isnull", False), ("next_amount_from__isnull", False)),
                    _connector="OR",
                ),
                name="repeat_changes_on_a_day",
            ),
        ),
    ]
