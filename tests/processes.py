"""Other processes of the book, started for a test on the database that the test sees."""

import os
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Self

from django.db import connection

from tests import run
from tests.servers import dying_with_us, end, wait_until

ROOT = Path(__file__).resolve().parent.parent


def environment() -> dict[str, str]:
    """The environment in which config.settings finds this test's own database, broker and mail server."""
    name = connection.settings_dict["NAME"]
    return os.environ | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "DATABASE_URL": run.postgresql().url_of(name) if run.on_postgresql() else f"sqlite:///{name}",
        "PYTHONUNBUFFERED": "1",
    }


class OtherProcess:
    """A process that is started in ``folder``; use it in ``with``.

    Its standard output and error are in ``output()`` together, also while it runs.
    """

    def __init__(self, command: Sequence[str], *, log: Path, environment: dict[str, str], folder: Path = ROOT) -> None:
        self._log = log
        with log.open("wb") as file:
            self.process = subprocess.Popen(
                dying_with_us(command), cwd=folder, env=environment, stdout=file, stderr=subprocess.STDOUT
            )

    @property
    def pid(self) -> int:
        return self.process.pid

    def output(self) -> str:
        """What it has printed so far."""
        return self._log.read_text(errors="replace")

    def wait_for_output(self, text: str, **patience: float) -> None:
        """Wait until it has printed ``text``; AssertionError, with what it did print, if it ends or hangs."""
        self.wait_for_match(re.escape(text), **patience)

    def wait_for_match(self, pattern: str, **patience: float) -> re.Match[str]:
        """The first of what it prints that matches, once that is there; as ``wait_for_output`` else."""
        found: list[re.Match[str]] = []

        def has_printed() -> bool:
            # Asked first: what has ended prints no more.
            has_ended = self.process.poll() is not None
            found.extend(re.finditer(pattern, self.output(), re.MULTILINE))
            assert found or not has_ended, f"ended before it printed {pattern!r}:\n{self.output()}"
            return bool(found)

        try:
            wait_until(has_printed, f"printing {pattern!r}", **patience)
        except TimeoutError as error:
            raise AssertionError(f"{error}:\n{self.output()}") from error
        return found[0]

    def port(self) -> int:
        """Where it serves on this machine, once gunicorn or the embedded server has said so."""
        told = r"(?:Listening at: http://127\.0\.0\.1|served at http://localhost):(\d+)[/ ]"
        return int(self.wait_for_match(told)[1])

    def wait(self, seconds: float = 600) -> int:
        """Its exit status; a busy machine may take long over a command."""
        return self.process.wait(seconds)

    def kill(self) -> None:
        """End it the hard way (SIGKILL), as a power cut would."""
        self.process.kill()
        self.process.wait()

    def stop(self) -> None:
        """Ask it to end; nothing if it has ended."""
        if self.process.poll() is None:
            end(self.process)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()


class BookProcess(OtherProcess):
    """A Python process of the book, such as ``-m celery ...`` or ``manage.py NAME ...``; ``folder`` holds its code."""

    def __init__(
        self, arguments: Sequence[str], *, log: Path, environment: dict[str, str], folder: Path = ROOT
    ) -> None:
        super().__init__([sys.executable, *arguments], log=log, environment=environment, folder=folder)
