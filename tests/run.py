"""One run of the suite: where its files, servers and settings are.

The process that is started first makes a folder for the run; the processes that xdist starts find it in the
environment. Each process has its own DATA_DIR, Redis and test database; they share one PostgreSQL.
"""

import os
import shutil
from pathlib import Path

from tests.servers import PostgreSQL, Redis, short_folder

#: postgresql or sqlite, the default: which database the suite runs on.
TEST_DATABASE = "TEST_DATABASE"
#: Set by this module for the processes of one run.
TEST_RUN_FOLDER = "TEST_RUN_FOLDER"
TEST_DATABASE_NAME = "TEST_DATABASE_NAME"

#: Every variable that config.settings reads: none may leak in from the shell of whoever runs the suite.
SETTINGS_VARIABLES = (
    "SITE_URL",
    "ALLOWED_HOSTS",
    "TRUSTED_PROXIES",
    "SECRET_KEY",
    "DEBUG",
    "DATA_DIR",
    "DATABASE_URL",
    "DATABASE_PASSWORD",
    "MIGRATE_AT_START",
    "REDIS_URL",
    "EMAIL_URL",
    "MAIL_FROM",
    "BACKUP_RECIPIENT",
    "BACKUP_FOLDER",
    "BACKUP_URL",
    "FILES_URL",
    "ALARM_URL",
    "STATIC_FILES_COLLECTED",
    "LOG_LEVEL",
    "LOG_FORM",
)


def on_postgresql() -> bool:
    """Whether this run was asked to use PostgreSQL; ValueError where it was asked for something unknown."""
    wanted = os.environ.get(TEST_DATABASE) or "sqlite"
    if wanted not in {"postgresql", "sqlite"}:
        raise ValueError(f"{TEST_DATABASE}: {wanted!r} is neither postgresql nor sqlite")
    return wanted == "postgresql"


def is_worker() -> bool:
    """Whether xdist started this process to run a part of the suite."""
    return "PYTEST_XDIST_WORKER" in os.environ


def folder() -> Path:
    """The folder of the run."""
    return Path(os.environ[TEST_RUN_FOLDER])


def own_folder() -> Path:
    """The part of it that belongs to this process."""
    return folder() / os.environ.get("PYTEST_XDIST_WORKER", "main")


def prepare_environment() -> None:
    """Set what config.settings reads, before it reads it. No server is started yet."""
    if not is_worker():
        os.environ[TEST_RUN_FOLDER] = str(short_folder())
        # The account that PostgreSQL runs as must get through to its own folder, and no further.
        folder().chmod(0o711)
    for name in SETTINGS_VARIABLES:
        os.environ.pop(name, None)
    own_folder().mkdir(mode=0o700)
    data = own_folder() / "data"
    # An empty folder of collected files, so that nobody is warned that there is none.
    (data / "static").mkdir(parents=True)
    database = postgresql().url_of("book") if on_postgresql() else f"sqlite:///{data / 'book.sqlite3'}"
    os.environ |= {
        "DATA_DIR": str(data),
        "SECRET_KEY": "only-for-tests-" + "x" * 32,
        "DATABASE_URL": database,
        TEST_DATABASE_NAME: "test_book" if on_postgresql() else str(data / "test.sqlite3"),
        "REDIS_URL": own_redis().url,
        "STATIC_FILES_COLLECTED": "0",
        "LOG_LEVEL": "WARNING",
    }


def postgresql() -> PostgreSQL:
    """The run's one cluster."""
    return PostgreSQL(folder() / "pg")


def own_redis() -> Redis:
    """This process's own Redis: what one part of the suite queues, no other part's worker may take."""
    return Redis(own_folder() / "redis")


def remove() -> None:
    """Remove what this process made; the first process removes all of it."""
    shutil.rmtree(own_folder() if is_worker() else folder(), ignore_errors=True)
