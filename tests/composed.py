"""The services of compose.yaml as processes of this machine, because no test can rely on a container engine.

Commands, settings, order and health checks are read from compose.yaml, what an image brings from the Dockerfile. Only
hosts and folders, which a container has to itself, are those of this machine.

    python -m tests.composed        # starts them all, says where, and ends them with Ctrl-C
"""

import json
import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Self

import psycopg
from psycopg.sql import SQL, Identifier
from ruamel.yaml import YAML

from tests.mailserver import MailServer
from tests.processes import ROOT, OtherProcess
from tests.run import SETTINGS_VARIABLES
from tests.servers import PostgreSQL, Redis, free_port, program, short_folder, wait_until

COMPOSE = ROOT / "compose.yaml"
#: Services for which the suite's own servers stand, and why.
STOOD_IN_FOR = {
    "db": "a script of its image makes the cluster and starts it, and there is no such script here",
    "redis": "another run may have its port; here it listens at a socket, with the options that compose.yaml says",
}
#: The Debian package of each program that is not Python's.
_PROGRAMS = {"caddy": "caddy", "pg_isready": "postgresql", "redis-cli": "redis-tools"}
#: Seconds that a service may take to be healthy, or done, on a busy machine.
_PATIENCE = 300

_VARIABLE = re.compile(r"\$\$|\$\{(?P<name>\w+)(?:(?P<how>:[-?+])(?P<more>[^}]*))?\}")


def interpolated(text: str, variables: Mapping[str, str]) -> str:
    """A text of compose.yaml as an engine reads it; KeyError, with its words, for a required variable that is empty."""

    def value(found: re.Match[str]) -> str:
        if not found["name"]:
            return "$"
        given = variables.get(found["name"], "")
        if found["how"] == ":?" and not given:
            raise KeyError(f"{found['name']} {found['more']}")
        if found["how"] == ":+":
            return found["more"] if given else ""
        return given or (found["more"] if found["how"] else "")

    return _VARIABLE.sub(value, text)


def filled_in(value: Any, variables: Mapping[str, str]) -> Any:
    """A value of compose.yaml with all texts in it ``interpolated``."""
    if isinstance(value, dict):
        return {key: filled_in(one, variables) for key, one in value.items()}
    if isinstance(value, list):
        return [filled_in(one, variables) for one in value]
    return interpolated(value, variables) if isinstance(value, str) else value


def services(variables: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """The services in the order in which they can be started."""
    found: dict[str, dict[str, Any]] = filled_in(YAML(typ="safe").load(COMPOSE), variables)["services"]
    ordered: dict[str, dict[str, Any]] = {}
    while waiting := [name for name in found if name not in ordered]:
        ready = next(name for name in waiting if set(found[name].get("depends_on", {})) <= set(ordered))
        ordered[ready] = found[ready]
    return ordered


def image() -> tuple[list[str], dict[str, str]]:
    """The command of the book's image, and the variables that it sets."""
    last_stage = (ROOT / "Dockerfile").read_text().replace("\\\n", " ").rpartition("\nFROM ")[2]
    [command] = re.findall(r"^CMD (\[.*\])$", last_stage, re.MULTILINE)
    [variables] = re.findall(r"^ENV (.*)$", last_stage, re.MULTILINE)
    return json.loads(command), dict(one.split("=", 1) for one in variables.split() if not one.startswith("PATH="))


def _version_of_caddy() -> tuple[int, ...]:
    said = subprocess.run([program("caddy", "caddy"), "version"], capture_output=True, text=True, check=True).stdout
    return tuple(map(int, re.findall(r"\d+", said)[:3]))


class Composed:
    """Everything that compose.yaml describes, with ``variables`` in .env, in a new folder; use it in ``with``."""

    def __init__(self, variables: Mapping[str, str]) -> None:
        self.folder = short_folder()
        # The account that PostgreSQL runs as must get through to its own folder, and no further.
        self.folder.chmod(0o711)
        self.https_port, self.http_port = free_port(), free_port()
        site = {"SITE_URL": f"https://localhost:{self.https_port}", "ALLOWED_HOSTS": "localhost"}
        self.services = services({**site, **variables})
        self.database = PostgreSQL(self.folder / "pg")
        self.redis = Redis(self.folder / "redis", self.services["redis"]["command"][1:])
        self.processes: dict[str, OtherProcess] = {}
        web = f"127.0.0.1:{free_port()}"
        #: What a container sees, and where that is here.
        self._here = {
            "@db:5432": f"@/{self.database.folder}",
            self.services["web"]["environment"]["REDIS_URL"]: self.redis.url,
            **dict.fromkeys(("web:8000", "0.0.0.0:8000", "127.0.0.1:8000"), web),
            "/etc/caddy": str(self._front()),
            **{place: self._made(place) for place in ("/app/var", "/app/backups", "/certificates", "/tmp")},  # noqa: S108
        }
        self._places = re.compile("|".join(map(re.escape, sorted(self._here, key=len, reverse=True))))

    def _made(self, place: str) -> str:
        folder = self.folder / place.removeprefix("/").replace("/", "-")
        folder.mkdir(mode=0o700)
        return str(folder)

    def _front(self) -> Path:
        """The front's folder, with settings that Debian's Caddy takes: it has the image's buffers in older words."""
        folder = self.folder / "front"
        shutil.copytree(ROOT / "config" / "front", folder)
        if _version_of_caddy() < (2, 6, 4):
            older, count = re.subn(
                r"request_buffers (\S+)", r"buffer_requests\n\t\tmax_buffer_size \1", (folder / "Caddyfile").read_text()
            )
            assert count == 1
            (folder / "Caddyfile").write_text(older)
        return folder

    @property
    def front(self) -> Path:
        """Where the front's settings lie, as they are used."""
        return Path(self._here["/etc/caddy"])

    @property
    def backups(self) -> Path:
        """What is mounted where backups go."""
        return Path(self._here["/app/backups"])

    @property
    def root_certificate(self) -> Path:
        """That of the authority which the front is for names that no other vouches for."""
        return Path(self._here["/certificates"]) / "caddy" / "pki" / "authorities" / "local" / "root.crt"

    def trusting(self) -> ssl.SSLContext:
        """For a client that takes the front's certificate and no other."""
        return ssl.create_default_context(cafile=str(self.root_certificate))

    def start_all(self) -> None:
        """Start each service once those it depends on are as it asks."""
        # The Dockerfile collects them into the image.
        self.run("web", "python", "manage.py", "collectstatic", "--no-input", "--verbosity=0")
        for name in self.services:
            self.start(name)

    def start(self, name: str) -> None:
        """Start a service, also once more, and wait until it is what those that depend on it ask for."""
        service = self.services[name]
        if name == "db":
            self.database.start()
            self._make_database(service["environment"])
        elif name == "redis":
            self.redis.start()
        else:
            self.processes[name] = OtherProcess(
                self._program(map(self._at, service.get("command") or image()[0])),
                log=self.folder / f"{name}.log",
                environment=self.environment(name),
                folder=Path(self._at(service["working_dir"])) if "working_dir" in service else ROOT,
            )
        self._await(name)

    def _make_database(self, made: Mapping[str, str]) -> None:
        """As the image does from its variables; who asks by the socket needs no password."""
        user, database = Identifier(made["POSTGRES_USER"]), Identifier(made["POSTGRES_DB"])
        folder = str(self.database.folder)
        with psycopg.connect(host=folder, user="postgres", dbname="postgres", autocommit=True) as server:
            server.execute(SQL("CREATE ROLE {} SUPERUSER LOGIN").format(user))
            server.execute(SQL("CREATE DATABASE {} OWNER {}").format(database, user))

    def _await(self, name: str) -> None:
        asked = {
            one["depends_on"][name]["condition"] for one in self.services.values() if name in one.get("depends_on", {})
        }
        if "service_completed_successfully" in asked:
            status = self.processes[name].wait(_PATIENCE)
            assert status == 0, self.processes[name].output()
        elif "healthcheck" in self.services[name]:
            wait_until(lambda: self.is_healthy(name), f"{name} to be healthy", _PATIENCE)
        elif name == "front":
            wait_until(lambda: self.opens(self.https_port), name, _PATIENCE)

    def opens(self, port: int) -> bool:
        """Whether a front at a port of this machine shows the authority's certificate.

        It takes connections some milliseconds earlier, and breaks them off.
        """
        try:
            with (
                socket.create_connection(("127.0.0.1", port), timeout=5) as connection,
                self.trusting().wrap_socket(connection, server_hostname="localhost"),
            ):
                return True
        except OSError:
            return False

    def is_healthy(self, name: str) -> bool:
        """What its health check finds; AssertionError, with what it said, if its process has ended."""
        if process := self.processes.get(name):
            assert process.process.poll() is None, process.output()
        kind, *test = self.services[name]["healthcheck"]["test"]
        command = ["sh", "-c", self._at(test[0])] if kind == "CMD-SHELL" else self._program(map(self._at, test))
        return subprocess.run(command, env=self.environment(name), capture_output=True).returncode == 0

    def run(self, name: str, *command: str) -> str:
        """What a command prints that is run as the service is, as ``docker compose run`` does; it must succeed."""
        done = subprocess.run(
            self._program(command), cwd=ROOT, env=self.environment(name), capture_output=True, text=True
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def environment(self, name: str) -> dict[str, str]:
        """The variables that a service has."""
        inherited = {key: value for key, value in os.environ.items() if key not in SETTINGS_VARIABLES}
        own = self.services[name].get("environment", {})
        from_image = image()[1] if self.services[name].get("image") == "tuition-car-book" else {}
        here = {
            "DJANGO_SETTINGS_MODULE": "config.settings",
            "PGHOST": str(self.database.folder),
            "HTTP_PORT": str(self.http_port),
            "HTTPS_PORT": str(self.https_port),
        }
        return inherited | {key: self._at(value) for key, value in (from_image | own).items()} | here

    def _program(self, words: Iterable[str]) -> list[str]:
        """A command with the program of this machine that it names."""
        first, *rest = words
        if first == "python":
            return [sys.executable, *rest]
        if first == "redis-cli":
            rest = ["-s", str(self.redis.socket), *rest]
        if first in _PROGRAMS:
            return [program(first, _PROGRAMS[first]), *rest]
        return [sys.executable, "-m", first, *rest]

    def _at(self, text: str) -> str:
        """A text of compose.yaml with the hosts and folders of this machine in it."""
        return self._places.sub(lambda found: self._here[found[0]], text)

    def stop(self, name: str) -> None:
        """Ask a service to end, as an engine does that starts it anew."""
        self.processes[name].stop()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for name in reversed(self.processes):
            self.stop(name)
        self.redis.stop()
        self.database.stop()
        subprocess.run(["rm", "-rf", str(self.folder)], check=True)  # noqa: S607


def variables_for(mail: MailServer, **more: str) -> dict[str, str]:
    """A file .env, but for where the site is."""
    return {
        "SECRET_KEY": "for-this-run-only-" + "0123456789" * 3,
        "DATABASE_PASSWORD": "anything",
        "EMAIL_URL": mail.url,
        "MAIL_FROM": "Tuition Car Book <book@book.example>",
    } | more


def main() -> None:
    mail = MailServer()
    mail.start()
    with Composed(variables_for(mail)) as composed:
        composed.start_all()
        print(composed.run("web", "python", "manage.py", "invite", "first@book.example", "--coordinator"))
        print(f"The certificate of its authority is {composed.root_certificate}. Ctrl-C ends it all.", flush=True)
        try:
            while True:
                time.sleep(3600)
        except KeyboardInterrupt:
            pass
    mail.stop()


if __name__ == "__main__":
    main()
