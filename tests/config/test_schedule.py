"""The schedule when a clock that was ahead is put right: what ran in a day to come is not waited for until then."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine

from config import loops
from config.celery import app
from config.schedule import Scheduler

RIGHT = datetime(2026, 3, 16, 12, 0, 30, tzinfo=UTC)
WRONG = RIGHT + timedelta(days=40)


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the entries that beat has sent."""
    names: list[str] = []
    monkeypatch.setattr(Scheduler, "apply_entry", lambda self, entry, producer=None: names.append(entry.name))
    return names


def look(scheduler: Scheduler) -> None:
    """Send all that is due."""
    while scheduler.tick() == 0:
        pass


@pytest.mark.django_db
@pytest.mark.parametrize("is_restarted", [False, True])
def test_beat_goes_on_when_a_clock_that_was_ahead_is_put_back(
    sent: list[str], tmp_path: Path, is_restarted: bool
) -> None:
    def started() -> Scheduler:
        return Scheduler(app, schedule_filename=str(tmp_path / "beat"), lazy=False)

    with time_machine.travel(WRONG, tick=False) as clock:
        scheduler = started()
        clock.shift(timedelta(days=1))
        look(scheduler)
        assert set(sent) >= set(app.conf.beat_schedule)
        sent.clear()
        clock.move_to(RIGHT)
        if is_restarted:
            scheduler.close()
            scheduler = started()
        look(scheduler)
        assert sorted(set(sent)) == sorted(sent)
        assert set(sent) >= set(app.conf.beat_schedule)
        sent.clear()
        clock.shift(timedelta(hours=1))
        look(scheduler)
        assert {"remind", "watch"} <= set(sent)
        assert len(sent) == len(set(sent))
        scheduler.close()


def test_the_embedded_server_goes_on_too(monkeypatch: pytest.MonkeyPatch) -> None:
    run: list[str] = []
    monkeypatch.setattr(loops, "_run", lambda task, *_: run.append(task))
    with time_machine.travel(RIGHT, tick=False):
        last_runs: dict[str, Any] = dict.fromkeys(app.conf.beat_schedule, WRONG)
        for _ in range(2):
            loops._run_due(last_runs)
    assert sorted(run) == sorted(entry["task"] for entry in app.conf.beat_schedule.values())
