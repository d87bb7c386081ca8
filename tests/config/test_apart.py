"""A task in a process of its own: where it runs, what it fails with, and that it never outlives its starter."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from config.apart import run_apart
from config.request_id import working_for
from tests.processes import ROOT
from tests.servers import wait_until

TASKS = "tests.config.apart_tasks"


@pytest.fixture(autouse=True)
def own_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Those of the book: those of a run of tests make its folder, which is there."""
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "config.settings")
    monkeypatch.setenv("DATA_DIR", str(tmp_path))


def test_it_runs_elsewhere_for_the_same_request(tmp_path: Path) -> None:
    with working_for("1234abcd"):
        run_apart(f"{TASKS}.tell", tmp_path / "told", seconds=60)
    pid, request_id = (tmp_path / "told").read_text().split()
    assert request_id == "1234abcd"
    assert int(pid) != os.getpid()


def test_one_that_fails_is_said_to_have_failed(tmp_path: Path) -> None:
    with pytest.raises(subprocess.CalledProcessError):
        run_apart(f"{TASKS}.tell", tmp_path / "no folder" / "told", seconds=60)


def test_one_that_hangs_is_ended_after_its_time(tmp_path: Path) -> None:
    """Whether it has begun by then or not: it is a process, and waited for no longer."""
    with pytest.raises(subprocess.TimeoutExpired):
        run_apart(f"{TASKS}.hang", tmp_path / "told", seconds=1)


def test_it_ends_with_whoever_started_it(tmp_path: Path) -> None:
    told = tmp_path / "told"
    run = f"run_apart('{TASKS}.hang', '{told}', seconds=600)"
    code = f"import django; django.setup(); from config.apart import run_apart; {run}"
    with subprocess.Popen([sys.executable, "-c", code], cwd=ROOT) as starter:
        wait_until(lambda: told.exists() and told.read_text(), "the task to begin")
        pid = int(told.read_text().split()[0])
        starter.kill()
    wait_until(lambda: not Path(f"/proc/{pid}").exists(), "the end of the task")
