"""Triggers that keep a car's odometer from falling, over its readings and its fills together.

No check constraint can compare two rows. Each row is held against its nearest neighbours in time in both
tables: as long as nothing falls there, nothing falls anywhere. SQLite drops a table's triggers when Django
rebuilds that table: a migration that alters either one has to install them again.
"""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

MESSAGE = "the odometer of a car never falls"
#: table, its day, its miles, and which of its rows count ({row} is a row's name)
POINTS = (
    ("fleet_odometerreading", "read_on", "miles", "1 = 1"),
    ("costing_fill", "filled_on", "odometer", "{row}.voided_at IS NULL"),
)


def falls(day: str, miles: str) -> str:
    """SQL that is true if ``miles`` on ``day`` of NEW's car is out of step with a neighbour in time."""
    return " OR ".join(
        f"COALESCE((SELECT other.{value} FROM {table} other WHERE other.car_id = NEW.car_id "  # noqa: S608 - names of POINTS
        f"AND other.{on} {before} {day} AND {counts.format(row='other')} "
        f"ORDER BY other.{on} {order}, other.{value} {order} LIMIT 1) {wrong} {miles}, 1 = 0)"
        for table, on, value, counts in POINTS
        for before, order, wrong in (("<", "DESC", ">"), (">", "ASC", "<"))
    )


def install(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
    for table, on, value, counts in POINTS:
        name = f"{table}_never_falls"
        condition = f"{counts.format(row='NEW')} AND ({falls(f'NEW.{on}', f'NEW.{value}')})"
        if editor.connection.vendor == "postgresql":
            editor.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF {condition} THEN "
                f"RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'check_violation'; END IF; RETURN NULL; END $$"
            )
            editor.execute(
                f"CREATE TRIGGER {name} AFTER INSERT OR UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()"
            )
        else:
            for event in ("INSERT", "UPDATE"):
                editor.execute(
                    f"CREATE TRIGGER {name}_{event.lower()} AFTER {event} ON {table} WHEN {condition} "
                    f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
                )


def remove(apps: StateApps, editor: BaseDatabaseSchemaEditor) -> None:
    for table, *_ in POINTS:
        name = f"{table}_never_falls"
        if editor.connection.vendor == "postgresql":
            editor.execute(f"DROP TRIGGER {name} ON {table}")
            editor.execute(f"DROP FUNCTION {name}()")
        else:
            editor.execute(f"DROP TRIGGER {name}_insert")
            editor.execute(f"DROP TRIGGER {name}_update")


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0001_records_and_group_figures"),
        ("fleet", "0001_cars_and_due_items"),
    ]

    operations = [migrations.RunPython(install, remove, elidable=False)]
