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
from config.refusal import CannotStart
from config.release import Schema, Standing, bring_up_to_date, migrating, require_current, schema

NEWER = ("costing", "0999_of_a_later_release")


@pytest.mark.parametrize(
    ("missing", "unknown", "is_empty", "standing", "words"),
    [
        ((), (), False, Standing.UP_TO_DATE, ""),
        (("a.0001",), (), True, Standing.EMPTY, "has no tables yet"),
        (("a.0002",), (), False, Standing.BEHIND, "it lacks a.0002. Run `manage.py migrate`, then"),
        (("a.0002", "a.0003"), (), False, Standing.BEHIND, "it lacks a.0002 and 1 more. Run"),
        ((), ("a.0002",), False, Standing.AHEAD, "it has a.0002, which this one does not know"),
        # Of another line of development: to migrate it would make a schema that nobody has tried.
        (("a.0002",), ("a.0003",), False, Standing.AHEAD, "of a newer release"),
    ],
)
def test_a_schema_is_one_of_four_and_says_what_to_do(
    missing: tuple[str, ...], unknown: tuple[str, ...], is_empty: bool, standing: Standing, words: str
) -> None:
    found = Schema(missing, unknown, is_empty)
    assert found.standing is standing
    assert words in found.in_words()
    assert "\n" not in found.in_words()


@pytest.mark.django_db
def test_the_database_of_the_tests_is_that_of_this_release(django_assert_max_num_queries: Callable) -> None:
    with django_assert_max_num_queries(3):
        require_current()
    assert schema() == Schema((), (), is_empty=False)


@pytest.mark.django_db
def test_a_newer_database_is_neither_used_nor_migrated() -> None:
    MigrationRecorder(connection).record_applied(*NEWER)
    assert schema().unknown == (".".join(NEWER),)
    for act in (require_current, lambda: bring_up_to_date(print, may_migrate=True), lambda: call_command("migrate")):
        with pytest.raises(CannotStart, match=r"of a newer release of the book: it has costing\.0999"):
            act()


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
        "The database is of an earlier release: bringing it to this one (1 steps).",
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
        for key in several:
            del loader.disk_migrations[key]
        loader.disk_migrations["instructors", joined.name] = joined

    monkeypatch.setattr(MigrationLoader, "load_disk", load_disk)
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
    assert inside.wait(20)
    assert ended.wait(20)
    waiting.join()
