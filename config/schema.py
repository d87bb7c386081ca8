"""Which release's tables a database has: its migrations held against those of this release."""

from dataclasses import dataclass
from enum import Enum

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

#: App and name.
Migration = tuple[str, str]


class Standing(Enum):
    """How the database's tables stand to this release."""

    UP_TO_DATE = "up to date"
    EMPTY = "empty"
    BEHIND = "behind"
    AHEAD = "ahead"


@dataclass(frozen=True)
class Schema:
    """The migrations that the release has, and those that the database has had."""

    of_release: frozenset[Migration]
    applied: frozenset[Migration]

    @property
    def missing(self) -> list[Migration]:
        return sorted(self.of_release - self.applied)

    @property
    def unknown(self) -> list[Migration]:
        """Of an app that this release lacks too: a later one may have brought it."""
        return sorted(self.applied - self.of_release)

    @property
    def standing(self) -> Standing:
        """Ahead if the database has any migration that this release does not know, whatever it lacks besides."""
        if self.unknown:
            return Standing.AHEAD
        if not self.applied:
            return Standing.EMPTY
        return Standing.BEHIND if self.missing else Standing.UP_TO_DATE

    def in_words(self) -> str:
        """What is wrong and what to do, in one line; empty if nothing is."""
        match self.standing:
            case Standing.AHEAD:
                return (
                    f"The database is of a newer release of the book: it has {'.'.join(self.unknown[-1])}, which this"
                    " one does not know. Start that release instead."
                )
            case Standing.BEHIND:
                more = len(self.missing) - 1
                return (
                    f"The database is of an earlier release of the book: it lacks {'.'.join(self.missing[0])}"
                    f"{f' and {more} more' if more else ''}. Run `manage.py migrate`, then start again."
                )
            case Standing.EMPTY:
                return "The database has no tables yet. Run `manage.py migrate`, then start again."
        return ""


def schema() -> Schema:
    """How the database stands to this release. Raises OperationalError if it cannot be reached."""
    release = MigrationLoader(None, load=False)
    release.load_disk()
    applied = set(MigrationRecorder(connection).applied_migrations())
    for key, migration in release.disk_migrations.items():
        # One that stands for several is there if they are, and they are known by it.
        replaced = set(migration.replaces)
        if replaced and replaced <= applied:
            applied.add(key)
        applied -= replaced - set(release.disk_migrations)
    return Schema(frozenset(release.disk_migrations), frozenset(applied))
