"""compose.yaml and Dockerfile, as far as they can be tried without an engine."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from ruamel.yaml import YAML

from tests.run import SETTINGS_VARIABLES

ROOT = Path(__file__).resolve().parents[2]
COMPOSE = ROOT / "compose.yaml"
#: What would be dangerous, or wrong, if it were left out: no default serves.
REQUIRED = {"SITE_URL", "ALLOWED_HOSTS", "SECRET_KEY", "DATABASE_PASSWORD", "EMAIL_URL", "MAIL_FROM"}


@pytest.fixture(scope="module")
def compose() -> dict:
    return YAML(typ="safe").load(COMPOSE)


@pytest.fixture(scope="module")
def services(compose) -> dict:
    return compose["services"]


def volumes_of(service: dict) -> set[str]:
    """The volumes that it mounts, by the name that they have without anything in .env."""
    return {re.sub(r"\$\{\w+:-(\w+)\}", r"\1", volume).split(":")[0] for volume in service.get("volumes", [])}


def commands_of(services: dict) -> list[list[str]]:
    return [service["command"] for service in services.values() if "command" in service]


def test_it_keeps_to_the_compose_specification():
    checked = subprocess.run(
        [sys.executable, "-m", "check_jsonschema", "--builtin-schema", "vendor.compose-spec", str(COMPOSE)],
        capture_output=True,
        text=True,
    )
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_every_volume_network_and_service_it_names_is_defined(compose, services):
    for name, service in services.items():
        assert volumes_of(service) <= set(compose["volumes"]), name
        assert set(service["networks"]) <= set(compose["networks"]), name
        assert set(service.get("depends_on", {})) <= set(services), name


def test_what_it_defines_is_used(compose, services):
    used = {volume for service in services.values() for volume in volumes_of(service)}
    assert used == set(compose["volumes"])
    assert {network for service in services.values() for network in service["networks"]} == set(compose["networks"])


def test_a_service_that_must_be_healthy_says_when_it_is(services):
    awaited = {
        name
        for service in services.values()
        for name, condition in service.get("depends_on", {}).items()
        if condition["condition"] == "service_healthy"
    }
    assert awaited == {"db", "redis"}
    # A worker is well while its process runs: whether it does anything is a matter of duty.
    assert {name for name, service in services.items() if "healthcheck" not in service} == {"migrate", "worker"}


def test_a_container_is_well_if_its_process_is_whatever_becomes_of_the_others(services):
    test = services["web"]["healthcheck"]["test"][-1]
    deciding, _, rest = test.partition("try:")
    assert 'ask("live/")' in deciding
    assert re.fullmatch(r'\s*ask\("", data=b""\)\s*except OSError:\s*pass\s*', rest)
    assert not re.search("celery|redis", " ".join(services["beat"]["healthcheck"]["test"]))


def test_there_is_exactly_one_beat_and_it_is_not_copied(services):
    beats = {name: service for name, service in services.items() if "beat" in service.get("command", [])}
    assert list(beats) == ["beat"]
    assert not {"deploy", "scale"} & set(beats["beat"])
    # A worker may keep a schedule beside its tasks: that would be a second one.
    assert not [command for command in commands_of(services) if {"-B", "--beat"} & set(command)]


def test_the_database_is_brought_up_to_date_once_before_anything_uses_it(services):
    migrating = [name for name, service in services.items() if "migrate" in service.get("command", [])]
    assert migrating == ["migrate"]
    assert services["migrate"]["restart"] == "no"
    for name in ("web", "worker", "beat"):
        assert services[name]["depends_on"]["migrate"] == {"condition": "service_completed_successfully"}


def test_nothing_but_the_site_can_be_reached_and_that_from_this_machine_only(compose, services):
    assert [name for name, service in services.items() if "ports" in service] == ["web"]
    assert all(port.startswith("127.0.0.1:") for port in services["web"]["ports"])
    assert compose["networks"]["inside"]["internal"] is True
    assert services["db"]["networks"] == services["redis"]["networks"] == ["inside"]


def test_photos_are_kept_in_a_volume_that_the_books_account_may_write_to(services):
    image = (ROOT / "Dockerfile").read_text()
    [data_dir] = re.findall(r"DATA_DIR=(\S+)", image)
    files = str(Path(data_dir) / settings.MEDIA_ROOT.relative_to(settings.DATA_DIR))
    assert services["web"]["volumes"] == [f"files:{files}"]
    arriving = f"{files}/{Path(settings.FILE_UPLOAD_TEMP_DIR).name}"
    assert re.search(rf"install --directory --owner=book .*{files} {arriving}$", image, re.MULTILINE)


def test_whatever_backs_up_has_the_files_and_the_folder_for_backups(services):
    """The worker each day, and the migration of a book of an earlier release before it begins."""
    image = (ROOT / "Dockerfile").read_text()
    for name in ("worker", "migrate"):
        place, variable = services[name]["volumes"][1].rsplit(":", 1)[1], services[name]["environment"]["BACKUP_FOLDER"]
        assert services[name]["volumes"] == [*services["web"]["volumes"], f"${{BACKUP_FOLDER:-backups}}:{place}"]
        assert variable == f"${{BACKUP_FOLDER:+{place}}}"
        assert f"install --directory --owner=book --group=nogroup --mode=0700 {place} " in image


def test_the_one_proxy_in_front_is_believed(services):
    assert services["web"]["environment"]["TRUSTED_PROXIES"] == "${TRUSTED_PROXIES:-1}"


def test_each_secret_must_be_given_and_none_has_a_default():
    text = COMPOSE.read_text()
    assert set(re.findall(r"\$\{(\w+):\?", text)) == REQUIRED
    optional = set(re.findall(r"\$\{(\w+):[-+]", text))
    assert set(re.findall(r"(?<!\$)\$\{?(\w+)", text)) == REQUIRED | optional
    described = (ROOT / ".env.example").read_text()
    assert all(re.search(rf"^#?{name}=", described, re.MULTILINE) for name in REQUIRED | optional)


def test_the_book_is_given_only_what_it_reads(services):
    for name in ("migrate", "web", "worker", "beat"):
        assert set(services[name]["environment"]) <= set(SETTINGS_VARIABLES)


def test_the_image_is_made_of_files_that_are_there_and_not_ignored():
    copied = re.findall(r"^COPY (?!--from)(\S+) ", (ROOT / "Dockerfile").read_text(), re.MULTILINE)
    assert set(copied) >= {"config", "instructors", "fleet", "costing", "templates", "static"}
    kept = set(re.findall(r"^!(\S+)", (ROOT / ".dockerignore").read_text(), re.MULTILINE))
    assert kept == set(copied)
    assert all((ROOT / path).exists() for path in copied)


def test_the_image_runs_without_the_rights_of_root():
    lines = (ROOT / "Dockerfile").read_text().splitlines()
    last_stage = lines[max(number for number, line in enumerate(lines) if line.startswith("FROM ")) :]
    assert "USER book" in last_stage
    # What is copied or run after the switch would belong to the account that must not change it.
    assert not [line for line in last_stage[last_stage.index("USER book") :] if line.startswith(("COPY", "RUN"))]
