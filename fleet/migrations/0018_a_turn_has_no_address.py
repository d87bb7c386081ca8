from django.db import migrations


class Migration(migrations.Migration):
    """The column stays for processes of the release before, and has a default; a later release takes it away."""

    dependencies = [
        ("fleet", "0017_a_mail_whose_address_was_refused"),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[migrations.RemoveField(model_name="dutyturn", name="address_refused")]
        ),
    ]
