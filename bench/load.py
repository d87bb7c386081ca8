"""How many members the book serves at once: `make endure ARGS=load`, five minutes.

gunicorn as the image starts it, on a PostgreSQL and a Redis as a server has them, and the large book: 50 cars of ten
years. First 50 members use it for two minutes as members do. Then a few use it without a pause, more and more, until
something fails or 95 of 100 answers take half a second; the highest rate before that is told. Seconds that pass are
measured here, so whatever else the machine does is in them; locust itself takes its share of the same cores.

Exit status: 0 if the 50 members met no error and no slow answers, else 1.
"""

import csv
import io
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

from django.test import Client

from tests.composed import image
from tests.processes import OtherProcess
from tests.servers import PostgreSQL, Redis, free_port, short_folder

MEMBERS, SECONDS, STEP_SECONDS = 50, 120, 25
#: Members without a pause, step by step.
STEPS = (1, 2, 4, 8, 16)
#: Milliseconds that 95 of 100 answers may take at the most.
SLOWEST = 500
_TICKS = os.sysconf("SC_CLK_TCK")


class Trial(NamedTuple):
    """What locust tells of a kind of request, or of all."""

    name: str
    requests: int
    failed: int
    rate: float
    median: float
    p95: float
    worst: float

    @property
    def is_well(self) -> bool:
        return not self.failed and self.p95 < SLOWEST

    def __str__(self) -> str:
        return (
            f"{self.name:<28}{self.requests:>7}{self.failed:>8}{self.rate:>8.1f}{self.median:>9.0f}{self.p95:>8.0f}"
            f"{self.worst:>8.0f}"
        )


def main() -> int:
    """Print what was found. Returns the exit status."""
    folder = short_folder()
    folder.chmod(0o711)  # PostgreSQL, run by its own account as root, must pass through
    database, redis = PostgreSQL(folder / "pg", lasting=True), Redis(folder / "redis")
    port = free_port()
    os.environ |= _environment(folder, database, redis, port)
    (folder / "data/static").mkdir(parents=True)
    try:
        database.start()
        redis.start()
        told = _prepare(folder)
        with _serving(folder, port) as web:
            return _measure(web, database, redis, told, port)
    finally:
        redis.stop()
        database.stop()
        subprocess.run(["rm", "-rf", str(folder)], check=True)  # noqa: S607


def _environment(folder: Path, database: PostgreSQL, redis: Redis, port: int) -> dict[str, str]:
    return image()[1] | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "SITE_URL": "https://localhost",
        "ALLOWED_HOSTS": "localhost",
        "TRUSTED_PROXIES": "1",
        "SECRET_KEY": "only for the trial of load, only for the trial of load",
        "DATABASE_URL": database.url_of("postgres"),
        "DATA_DIR": str(folder / "data"),
        "REDIS_URL": redis.url,
        "EMAIL_URL": f"smtp://127.0.0.1:{port}",  # nothing here is mailed
        "MAIL_FROM": "Tuition Car Book <book@book.example>",
    }


def _prepare(folder: Path) -> Path:
    """Write the large book, and what locust must know of its members; where that lies."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.urls import reverse
    from PIL import Image

    from bench.book import LAST, NEWEST, TEN_YEARS, TODAY, at_noon, client_of, coordinator_client, write_book

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    cars = write_book(MEMBERS, TEN_YEARS)
    with at_noon():
        browsers = [(client_of(car.keeper), car) for car in cars]
        coordinator = coordinator_client()
    connection.close()
    photo = folder / "receipt.jpg"
    Image.effect_noise((1600, 1200), 40).convert("RGB").save(photo, "JPEG", quality=80)
    last = f"first={NEWEST}&last={LAST}"
    names = {"home": "home", "fill": "fill-log", "cost": "cost-log", "lessons": "teaching-log", "group": "group"}
    addresses = {name: reverse(f"costing:{view}") for name, view in names.items()}
    addresses |= {"statement": f"{reverse('costing:statement')}?{last}", "board": reverse("fleet:car-list")}
    told = {
        "addresses": addresses,
        "photo": str(photo),
        "today": TODAY.isoformat(),
        "monday": (TODAY - timedelta(days=TODAY.weekday())).isoformat(),
        "members": [{"cookie": _cookie(client), "mark": car.registration} for client, car in browsers],
        "coordinators": [{"cookie": _cookie(coordinator)}],
    }
    path = folder / "members.json"
    path.write_text(json.dumps(told))
    return path


def _cookie(client: Client) -> str:
    return "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())


def _serving(folder: Path, port: int) -> OtherProcess:
    """gunicorn by the image's own command, but for the address and the clock."""
    words = [word.replace("config.wsgi", "bench.served") for word in image()[0] if not word.startswith("--bind")]
    command = [sys.executable, "-m", *words, f"--bind=127.0.0.1:{port}"]
    noon = f"{json.loads((folder / 'members.json').read_text())['today']}T12:00+00:00"
    web = OtherProcess(command, log=folder / "web.log", environment=os.environ | {"SERVED_FROM": noon})
    web.wait_for_output("Booting worker", seconds=120)
    return web


def _measure(web: OtherProcess, database: PostgreSQL, redis: Redis, told: Path, port: int) -> int:
    head = f"{'':<28}{'count':>7}{'failed':>8}{'a s':>8}{'median':>9}{'95 %':>8}{'worst':>8}"
    before = _seconds(web.pid), _seconds(database.pid)
    found = list(_trial(told, port, MEMBERS, SECONDS, pause="3 to 9 s"))
    used = [after - start for after, start in zip((_seconds(web.pid), _seconds(database.pid)), before, strict=True)]
    print(f"{MEMBERS} members for {SECONDS} s, 3 to 9 s between two things that each does; milliseconds:\n{head}")
    print(*found, sep="\n")
    [all_of_it] = [one for one in found if one.name == "Aggregated"]
    per_request = [1000 * seconds / max(all_of_it.requests, 1) for seconds in used]
    print(
        f"CPU: web {used[0]:.1f} s, PostgreSQL {used[1]:.1f} s of {SECONDS * (os.cpu_count() or 1)} s;"
        f" a request {per_request[0]:.0f} and {per_request[1]:.1f} ms",
        flush=True,
    )
    print(f"Without a pause, {STEP_SECONDS} s each:\n{head}")
    best = None
    for count in STEPS:
        *_, step = _trial(told, port, count, STEP_SECONDS, pause="none")
        print(step._replace(name=f"{count} at once"), flush=True)
        if not step.is_well:
            break
        best = step if best is None or step.rate > best.rate else best
    if best:
        print(f"The highest rate without an error, 95 % below {SLOWEST} ms: {best.rate:.0f} requests a second")
    return 0 if all_of_it.is_well else 1


def _trial(told: Path, port: int, users: int, seconds: int, *, pause: str) -> Iterator[Trial]:
    """Let locust's members use the book; each kind of request, then all together."""
    _bring_odometers_up_to_date(told)
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "locust", "-f", "bench/members.py", "--headless", "--only-summary"]
        command += ["--users", str(users + 1), "--spawn-rate", "5", "--run-time", f"{seconds}s", "--reset-stats"]
        command += ["--host", f"http://127.0.0.1:{port}", "--csv", f"{folder}/found"]
        env = os.environ | {"LOAD_MEMBERS": str(told), "LOAD_PAUSE": pause}
        done = subprocess.run(command, env=env, capture_output=True, text=True)
        stats = Path(folder) / "found_stats.csv"
        if not stats.exists():
            raise RuntimeError(f"locust failed:\n{done.stdout}{done.stderr}")
        for row in csv.DictReader(io.StringIO(stats.read_text())):
            yield Trial(
                row["Name"],
                int(row["Request Count"]),
                int(row["Failure Count"]),
                float(row["Requests/s"]),
                float(row["Median Response Time"]),
                float(row["95%"]),
                float(row["Max Response Time"]),
            )
        failures = Path(folder) / "found_failures.csv"
        for row in csv.DictReader(io.StringIO(failures.read_text())):
            print(f"{row['Occurrences']} times {row['Name']}: {row['Error']}")


def _bring_odometers_up_to_date(told: Path) -> None:
    """Tell members how far the trial before has driven their cars."""
    from django.db import connection
    from django.db.models import Max

    from fleet.models import Car

    driven = dict(Car.objects.annotate(miles=Max("fill__odometer")).values_list("registration", "miles"))
    connection.close()
    known = json.loads(told.read_text())
    for member in known["members"]:
        member["miles"] = driven[member["mark"]]
    told.write_text(json.dumps(known))


def _seconds(pid: int) -> float:
    """CPU seconds of a process, of those that it started, and of those that have ended (proc(5))."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except FileNotFoundError:
        return 0
    return sum(map(int, fields[11:15])) / _TICKS + sum(_seconds(int(child)) for child in children)


if __name__ == "__main__":
    sys.exit(main())
