"""Migrations expand first and contract a release later: processes of the last release run on while one is applied."""

from collections.abc import Iterator

import pytest
from django.db import migrations, models
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState

#: The newest migration of each app, by number, before the rule: with them the first release began.
BEFORE_THE_RULE = {"costing": 25, "fleet": 15, "instructors": 7}
TAKES_AWAY = (
    migrations.RemoveField,
    migrations.DeleteModel,
    migrations.RenameField,
    migrations.RenameModel,
    migrations.AlterModelTable,
)


def breaks_the_last_release(operation: object, app: str, before: ProjectState) -> bool:
    """Whether code that knows the tables only as they were ``before`` could fail once this is applied."""
    match operation:
        case migrations.SeparateDatabaseAndState(database_operations=inside):
            return any(breaks_the_last_release(one, app, before) for one in inside)
        case migrations.AddField(field=field):
            # Django drops the default from the database again, and an INSERT of the last release would lack the column.
            has_default = field.db_default is not models.NOT_PROVIDED
            return not (field.null or field.many_to_many or has_default)
        case migrations.AlterField(model_name=model, name=name, field=field):
            old = before.models[app, model.lower()].fields[name]
            narrower = (getattr(field, "max_length", None) or 0) < (getattr(old, "max_length", None) or 0)
            return narrower or (old.null and not field.null)
        case migrations.AddConstraint(model_name=model):
            return (app, model.lower()) in before.models
    return isinstance(operation, TAKES_AWAY)


def newer_migrations() -> Iterator[tuple[migrations.Migration, ProjectState]]:
    loader = MigrationLoader(None)
    for (app, name), migration in sorted(loader.disk_migrations.items()):
        if app in BEFORE_THE_RULE and int(name[:4]) > BEFORE_THE_RULE[app]:
            yield migration, loader.project_state((app, name), at_end=False)


def test_no_migration_takes_from_the_last_release_what_it_needs() -> None:
    faults = [
        f"{migration.app_label}.{migration.name}: {operation.describe()}"
        for migration, before in newer_migrations()
        # A migration that contracts says since which release nobody uses what goes.
        if not getattr(migration, "contracts", "")
        for operation in migration.operations
        if breaks_the_last_release(operation, migration.app_label, before)
    ]
    assert not faults


STATE = ProjectState()
migrations.CreateModel(
    "Car", [("id", models.BigAutoField(primary_key=True)), ("name", models.CharField(max_length=9, null=True))]
).state_forwards("fleet", STATE)
RULE = models.CheckConstraint(condition=models.Q(name="x"), name="rule")


@pytest.mark.parametrize(
    ("operation", "breaks"),
    [
        (migrations.CreateModel("Van", []), False),
        (migrations.AddField("car", "colour", models.TextField(null=True)), False),
        (migrations.AddField("car", "colour", models.TextField(db_default="")), False),
        (migrations.AddField("car", "colour", models.TextField(default="")), True),
        (migrations.AlterField("car", "name", models.CharField(max_length=10, null=True)), False),
        (migrations.AlterField("car", "name", models.CharField(max_length=8, null=True)), True),
        (migrations.AlterField("car", "name", models.CharField(max_length=9)), True),
        (migrations.AddConstraint("car", RULE), True),
        (migrations.AddConstraint("van", RULE), False),
        (migrations.AddIndex("car", models.Index(fields=["name"], name="by_name")), False),
        (migrations.RemoveField("car", "name"), True),
        (migrations.RenameField("car", "name", "title"), True),
        (migrations.DeleteModel("Car"), True),
        (migrations.RunPython(migrations.RunPython.noop), False),
        (migrations.SeparateDatabaseAndState([migrations.DeleteModel("Car")]), True),
        (migrations.SeparateDatabaseAndState([], [migrations.DeleteModel("Car")]), False),
    ],
)
def test_the_rule_knows_what_would_break(operation: object, breaks: bool) -> None:
    assert breaks_the_last_release(operation, "fleet", STATE) is breaks
