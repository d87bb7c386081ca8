"""The settings, their description and their effects, each tried in a process of its own."""

import ast
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.run import SETTINGS_VARIABLES

ROOT = Path(__file__).resolve().parents[2]
#: Read by compose.yaml alone.
COMPOSE_ONLY = {"COMPOSE_FILE", "WEB_PORT"}
SERVER = {
    "SITE_URL": "https://book.example",
    "ALLOWED_HOSTS": "book.example",
    "SECRET_KEY": "for-this-test-only-" + "0123456789" * 3,
    "REDIS_URL": "redis://redis.invalid:6379/0",
}


def settings_of(tmp_path: Path, *names: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """What a fresh process reads as these settings, as JSON on its standard output."""
    inherited = {name: value for name, value in os.environ.items() if name not in SETTINGS_VARIABLES}
    script = (
        "import json; from config import settings; "
        f"print(json.dumps({{name: getattr(settings, name) for name in {names!r}}}))"
    )
    return subprocess.run(
        [sys.executable, "-c", script],
        cwd=ROOT,
        env=inherited | {"DATA_DIR": str(tmp_path), "PYTHONPATH": str(ROOT)} | variables,
        capture_output=True,
        text=True,
    )


def read_variables() -> set[str]:
    """Every variable that config/settings.py reads."""
    tree = ast.parse((ROOT / "config" / "settings.py").read_text())
    return {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and ast.unparse(node.func).startswith("environment.")
        and node.args
        and isinstance(node.args[0], ast.Constant)
        and isinstance(node.args[0].value, str)
    }


def test_every_variable_is_described_and_none_besides():
    described = re.findall(r"^#?([A-Z_]+)=", (ROOT / ".env.example").read_text(), re.MULTILINE)
    assert len(described) == len(set(described))
    assert set(described) - COMPOSE_ONLY == read_variables()


def test_the_suite_keeps_every_variable_from_leaking_in():
    assert set(SETTINGS_VARIABLES) == read_variables()


def test_a_first_look_needs_no_variable_at_all(tmp_path):
    found = settings_of(tmp_path, "EMBEDDED", "DEBUG", "SITE_IS_SECURE", "STATIC_FILES_COLLECTED", "SECRET_KEY")
    assert found.returncode == 0, found.stderr
    settings = json.loads(found.stdout)
    assert settings["EMBEDDED"] is True
    assert settings["DEBUG"] is settings["SITE_IS_SECURE"] is settings["STATIC_FILES_COLLECTED"] is False
    assert (tmp_path / "secret_key").read_text() == settings["SECRET_KEY"]


def test_a_server_protects_cookies_and_transport(tmp_path):
    names = ("EMBEDDED", "DEBUG", "SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SECURE_SSL_REDIRECT")
    found = settings_of(tmp_path, *names, "SECURE_HSTS_SECONDS", **SERVER)
    assert found.returncode == 0, found.stderr
    settings = json.loads(found.stdout)
    assert settings["EMBEDDED"] is settings["DEBUG"] is False
    assert settings["SESSION_COOKIE_SECURE"] is settings["CSRF_COOKIE_SECURE"] is True
    assert settings["SECURE_SSL_REDIRECT"] is True
    assert settings["SECURE_HSTS_SECONDS"] >= 31_536_000


@pytest.mark.parametrize(
    ("proxies", "believed"), [({}, None), ({"TRUSTED_PROXIES": "1"}, ["HTTP_X_FORWARDED_PROTO", "https"])]
)
def test_only_a_trusted_proxy_is_believed_that_a_connection_is_secure(proxies, believed, tmp_path):
    found = settings_of(tmp_path, "SECURE_PROXY_SSL_HEADER", **SERVER, **proxies)
    assert json.loads(found.stdout)["SECURE_PROXY_SSL_HEADER"] == believed


def test_where_mails_are_written_to_files_is_no_mail_servers_to_say(tmp_path):
    found = settings_of(tmp_path, "EMAIL_FILE_PATH", EMAIL_URL="smtp://localhost:25")
    assert json.loads(found.stdout)["EMAIL_FILE_PATH"] == str(tmp_path / "mail")


@pytest.mark.parametrize("reason", ["SITE_URL", "REDIS_URL"])
def test_a_book_that_others_reach_does_not_start_without_a_key(reason, tmp_path):
    found = settings_of(tmp_path, "DEBUG", **{reason: SERVER[reason]})
    assert found.returncode != 0
    assert "SECRET_KEY: is not set" in found.stderr
    assert not (tmp_path / "secret_key").exists()


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("SITE_URL", "book.example"),
        ("ALLOWED_HOSTS", "*"),
        ("MAIL_FROM", "Tuition Car Book"),
        ("MAIL_FROM", "Tuition Car Book <book@book.example"),
        ("MIGRATE_AT_START", "perhaps"),
        ("TRUSTED_PROXIES", "yes"),
        ("SECRET_KEY", "short"),
        ("DEBUG", "perhaps"),
        ("DATABASE_URL", "oracle://book"),
        ("DATABASE_URL", "postgres://book:pass/word@db:5432/book"),
        ("REDIS_URL", "localhost"),
        ("REDIS_URL", "redis://redis.invalid:6379/notanumber"),
        ("EMAIL_URL", "mail.example"),
        ("BACKUP_RECIPIENT", "age1oops"),
        ("DATA_DIR", "~/book"),
        ("BACKUP_FOLDER", "backups"),
        ("BACKUP_URL", "s3://store.invalid/backups"),
        ("FILES_URL", "/mnt/files"),
        ("STATIC_FILES_COLLECTED", "perhaps"),
        ("LOG_LEVEL", "LOUD"),
        ("LOG_FORM", "xml"),
    ],
)
def test_a_slip_in_a_variable_stops_the_start_and_names_it(name, value, tmp_path):
    found = settings_of(tmp_path, "DEBUG", **SERVER | {name: value})
    assert found.returncode == 1
    assert re.fullmatch(rf"{name}: .*\n", found.stderr), found.stderr


def test_the_host_of_the_site_is_among_those_answered_to(tmp_path):
    found = settings_of(tmp_path, "ALLOWED_HOSTS", **SERVER | {"ALLOWED_HOSTS": ""})
    assert "book.example" in json.loads(found.stdout)["ALLOWED_HOSTS"]
    found = settings_of(tmp_path, "DEBUG", **SERVER | {"ALLOWED_HOSTS": "other.example"})
    assert (
        found.stderr
        == "ALLOWED_HOSTS: lacks book.example, the host of SITE_URL, so that every page would be refused.\n"
    )


@pytest.mark.parametrize("folder", ["files", "files/backups", "there/../files/backups", "", "../"])
def test_backups_among_the_books_files_or_around_them_stop_the_start(folder, tmp_path):
    found = settings_of(tmp_path, "DEBUG", BACKUP_FOLDER=f"{tmp_path}/{folder}")
    assert found.returncode == 1
    assert re.fullmatch(r"BACKUP_FOLDER: .+ and the folder of the book's files, .+/files, lie .+\n", found.stderr)


def test_backups_beside_the_books_files_do_not(tmp_path):
    assert settings_of(tmp_path, "DEBUG", BACKUP_FOLDER=f"{tmp_path}/files-backed-up").returncode == 0


@pytest.mark.parametrize("folder", ["/dev/null/book", "/proc/book"])
def test_a_folder_that_cannot_be_made_stops_the_start(folder, tmp_path):
    found = settings_of(tmp_path, "DEBUG", DATA_DIR=folder)
    assert found.returncode == 1
    assert re.fullmatch(rf"DATA_DIR: the folder {folder} cannot be made \(.+\)\.\n", found.stderr)


def test_nor_does_a_book_on_files_start_in_one_that_cannot_be_written(tmp_path):
    found = settings_of(tmp_path, "DEBUG", DATA_DIR="/proc")
    assert found.returncode == 1
    assert found.stderr.startswith("DATA_DIR: the book's account cannot write into /proc (")
