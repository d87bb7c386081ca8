"""How the database stands to this release, and that one process at a time changes it."""

import threading
from collections.abc import Callable

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations import Migration
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from config import release
from config.backup import Refused
from config.backup.tables import tables_of_book
from config.refusal import CannotStart
from config.release import bring_up_to_date, migrating, require_current
from config.schema import Migration as Named
from config.schema import Schema, Standing, schema

OLD, NEW, OTHER = (("a", name) for name in ("0001", "0002", "0003"))


@pytest.mark.parametrize(
    ("of_release", "applied", "standing", "words"),
    [
        ({OLD}, {OLD}, Standing.UP_TO_DATE, ""),
        ({OLD}, set(), Standing.EMPTY, "has no tables yet"),
        ({OLD, NEW}, {OLD}, Standing.BEHIND, "it lacks a.0002. Run `manage.py migrate`, then"),
        ({OLD, NEW, OTHER}, {OLD}, Standing.BEHIND, "it lacks a.0002 and 1 more. Run"),
        ({OLD}, {OLD, NEW}, Standing.AHEAD, "it has a.0002, which this one does not know"),
        # Of another line of development: to migrate it would make a schema that nobody has tried.
        ({OLD, NEW}, {OLD, OTHER}, Standing.AHEAD, "of a newer release"),
    ],
)
def test_a_schema_is_one_of_four_and_says_what_to_do(
    of_release: set[Named], applied: set[Named], standing: Standing, words: str
) -> None:
    found = Schema(frozenset(of_release), frozenset(applied))
    assert found.standing is standing
    assert words in found.in_words()
    assert "\n" not in found.in_words()


@pytest.mark.django_db
def test_the_database_of_the_tests_is_that_of_this_release(django_assert_max_num_queries: Callable) -> None:
    with django_assert_max_num_queries(3):
        require_current()
    assert schema().standing is Standing.UP_TO_DATE


@pytest.mark.django_db
@pytest.mark.parametrize("newer", [("costing", "0999_of_a_later_release"), ("wings", "0001_of_a_later_release")])
def test_a_newer_database_is_neither_used_nor_migrated_nor_backed_up(newer: Named) -> None:
    MigrationRecorder(connection).record_applied(*newer)
    assert schema().unknown == [newer]
    says = rf"of a newer release of the book: it has {newer[0]}\.{newer[1]}, which this one does not know"
    for act in (require_current, lambda: bring_up_to_date(print, may_migrate=True), lambda: call_command("migrate")):
        with pytest.raises(CannotStart, match=says):
            act()
    with pytest.raises(Refused, match=says):
        tables_of_book()


@pytest.mark.django_db
def test_an_older_one_is_migrated_only_where_that_is_allowed(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    monkeypatch.setattr(release, "before_migrating", lambda say: done.append("backed up"))
    monkeypatch.setattr(release, "call_command", lambda *_, **options: done.append("migrated"))
    MigrationRecorder(connection).record_unapplied("costing", "0001_records_and_group_figures")
    for act in (require_current, lambda: bring_up_to_date(done.append, may_migrate=False)):
        with pytest.raises(CannotStart, match=r"Run `manage\.py migrate`, then start again"):
            act()
    bring_up_to_date(done.append, may_migrate=True)
    assert done == [
        "The database is of an earlier release: bringing it to this one (1 step).",
        "backed up",
        "migrated",
    ]


@pytest.mark.django_db
def test_a_migration_that_stands_for_others_counts_as_they_do(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = MigrationLoader.load_disk

    def load_disk(loader: MigrationLoader) -> None:
        whole(loader)
        several = [("instructors", name) for name in ("0001_people", "0002_when_and_what_to_mail")]
        joined = Migration("0001_joined", "instructors")
        joined.replaces = several
        parts = [loader.disk_migrations.pop(key) for key in several]
        joined.initial, joined.dependencies = True, parts[0].dependencies
        joined.operations = [operation for part in parts for operation in part.operations]
        loader.disk_migrations["instructors", joined.name] = joined

    tables = tables_of_book().keys()
    monkeypatch.setattr(MigrationLoader, "load_disk", load_disk)
    assert tables_of_book().keys() == tables
    assert schema().standing is Standing.UP_TO_DATE


@pytest.mark.django_db(transaction=True)
def test_one_at_a_time_migrates() -> None:
    inside, ended = threading.Event(), threading.Event()

    def second() -> None:
        with migrating():
            inside.set()
        connection.close()
        ended.set()

    with migrating():
        waiting = threading.Thread(target=second)
        waiting.start()
        assert not inside.wait(1)
    assert inside.wait(30)
    assert ended.wait(30)
    waiting.join()
