"""compose.yaml and Dockerfile, as far as they can be tried without an engine."""

import base64
import hashlib
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from gunicorn.config import Config
from ruamel.yaml import YAML

from config import budgets
from tests.composed import COMPOSE, interpolated
from tests.processes import ROOT
from tests.run import SETTINGS_VARIABLES

FRONT = ROOT / "config" / "front"
OWN_PROXY = FRONT / "own-proxy.yaml"
OF_THE_BOOK = ("migrate", "web", "worker", "beat")
#: What would be dangerous, or wrong, if it were left out: no default serves.
REQUIRED = {"SITE_URL", "ALLOWED_HOSTS", "SECRET_KEY", "DATABASE_PASSWORD", "EMAIL_URL", "MAIL_FROM"}


@pytest.fixture(scope="module")
def compose() -> dict:
    return YAML(typ="safe").load(COMPOSE)


@pytest.fixture(scope="module")
def services(compose) -> dict:
    return compose["services"]


@pytest.fixture(scope="module")
def own_proxy() -> dict:
    """What is read besides, by whoever has a proxy of their own."""
    return YAML(typ="safe").load(OWN_PROXY)["services"]


def volumes_of(service: dict) -> set[str]:
    """The volumes that it mounts, by the name that they have without anything in .env."""
    return {re.sub(r"\$\{\w+:-(\w+)\}", r"\1", volume).split(":")[0] for volume in service.get("volumes", [])}


def commands_of(services: dict) -> list[list[str]]:
    return [service["command"] for service in services.values() if "command" in service]


def stages() -> list[str]:
    """The stages of the Dockerfile, each line whole."""
    text = (ROOT / "Dockerfile").read_text().replace("\\\n", " ")
    return re.split(r"^(?=FROM )", text, flags=re.MULTILINE)[1:]


def test_it_keeps_to_the_compose_specification():
    check = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", "vendor.compose-spec"]
    checked = subprocess.run(
        [*check, str(COMPOSE), str(OWN_PROXY)],
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
    # A worker is well while its process runs: whether it does anything is a matter of duty. So is the front.
    assert {name for name, service in services.items() if "healthcheck" not in service} == {
        "migrate",
        "worker",
        "front",
    }


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


def test_nothing_but_the_front_can_be_reached_and_it_reaches_web_alone(compose, services):
    assert [name for name, service in services.items() if "ports" in service] == ["front"]
    assert compose["networks"]["inside"]["internal"] is True
    assert services["db"]["networks"] == services["redis"]["networks"] == ["inside"]
    assert services["front"]["networks"] == ["outside"]
    assert "outside" in services["web"]["networks"]


def test_a_proxy_of_ones_own_takes_the_place_of_the_front(services, own_proxy):
    assert list(own_proxy) == ["front", "web"]
    # A service with a profile that nobody names is not started.
    assert own_proxy["front"] == {"profiles": ["not-used"]}
    assert all(port.startswith("127.0.0.1:") for port in own_proxy["web"]["ports"])
    assert f"COMPOSE_FILE=compose.yaml:{OWN_PROXY.relative_to(ROOT)}" in (ROOT / ".env.example").read_text()


# --- How each service is kept in bounds -----------------------------------------------------------------------


def test_no_service_has_more_rights_than_it_needs(services):
    for name, service in services.items():
        assert service["read_only"] is True, name
        assert service["cap_drop"] == ["ALL"], name
        assert service["security_opt"] == ["no-new-privileges:true"], name
        assert not {"privileged", "cap_add", "devices", "pid", "network_mode"} & set(service), name
        # Who is not root by this file is so by the image.
        assert "build" in service or service["user"] in {"postgres", "redis"}, name
    for stage in (stage for stage in stages() if " AS packages" not in stage):
        assert re.search(r"^USER (?!root|0)\w+", stage, re.MULTILINE)


def test_what_each_service_takes_of_memory_and_of_the_disk_is_bounded(services):
    for name, service in services.items():
        assert re.fullmatch(r"\d+[mg]", service["mem_limit"]), name
        assert set(service["logging"]["options"]) == {"max-size", "max-file"}, name
        assert service["restart"] == ("no" if name == "migrate" else "unless-stopped"), name


def test_each_image_is_of_one_release(services):
    bases = re.findall(r"^FROM (\S+)", (ROOT / "Dockerfile").read_text(), re.MULTILINE)
    pulled = [service["image"] for service in services.values() if "build" not in service]
    assert len(bases) == 3
    assert len(pulled) == 2
    for image in (*bases, *pulled):
        # PostgreSQL numbers its releases with two.
        parts = 2 if image.startswith("postgres:") else 3
        assert re.fullmatch(rf"[a-z]+:\d+(\.\d+){{{parts - 1}}}-[a-z-]+", image), image


# --- The front ------------------------------------------------------------------------------------------------


def test_the_front_reads_what_it_is_given_and_lies_in_its_image(services):
    settings_of_it = (FRONT / "Caddyfile").read_text()
    read = set(re.findall(r"\{\$(\w+)", settings_of_it))
    given = services["front"]["environment"]
    assert read == {name for name in given if not name.startswith("XDG_")}
    assert given["SITE_URL"] == services["web"]["environment"]["SITE_URL"]
    assert [port.split(":")[1:] for port in services["front"]["ports"]] == [
        ["80", given["HTTP_PORT"]],
        ["443", given["HTTPS_PORT"]],
    ]
    [stage] = [stage for stage in stages() if stage.startswith("FROM caddy:")]
    copied = re.search(rf"^COPY (.+) {services['front']['working_dir']}/$", stage, re.MULTILINE)[1].split()
    assert {ROOT / path for path in copied} == {FRONT / "Caddyfile", FRONT / "away.html"}
    assert f"install -d -o front -m 0700 {given['XDG_DATA_HOME']}" in stage
    assert services["front"]["volumes"] == [f"certificates:{given['XDG_DATA_HOME']}"]


def test_the_front_takes_as_much_as_the_book_does():
    most = re.search(r"max_size (\d+)MB", (FRONT / "Caddyfile").read_text())[1]
    assert int(most) * 10**6 == budgets.REQUEST_BYTES


def test_the_front_keeps_what_a_stranger_may_send_until_it_has_come_whole():
    kibibytes = re.search(r"request_buffers (\d+)KiB", (FRONT / "Caddyfile").read_text())[1]
    assert int(kibibytes) * 1024 > budgets.STRANGER_BYTES


def test_the_front_gives_the_book_up_only_after_the_longest_that_it_may_take():
    """A web process that does nothing is ended after gunicorn's timeout, and files may be read for as long as said."""
    seconds = re.search(r"response_header_timeout (\d+)s", (FRONT / "Caddyfile").read_text())[1]
    assert int(seconds) > max(Config().timeout, budgets.FILES_SECONDS)
    assert "--timeout" not in (ROOT / "Dockerfile").read_text()


def test_the_page_for_when_the_book_is_away_needs_nothing_of_it():
    page, settings_of_front = (FRONT / "away.html").read_text(), (FRONT / "Caddyfile").read_text()
    assert not re.search(r"<script|<link|<img|src=|@import|url\(", page)
    digest = hashlib.sha256(re.search(r"<style>(.*?)</style>", page, re.DOTALL)[1].encode()).digest()
    assert f"style-src 'sha256-{base64.b64encode(digest).decode()}'" in settings_of_front
    assert page.count("<h1>") == 1


# --- Files, secrets and images --------------------------------------------------------------------------------


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


def test_the_one_proxy_in_front_is_believed(services, own_proxy):
    assert services["web"]["environment"]["TRUSTED_PROXIES"] == "1"
    assert own_proxy["web"]["environment"] == {"TRUSTED_PROXIES": "${TRUSTED_PROXIES:-1}"}


def test_each_secret_must_be_given_and_none_has_a_default():
    text = COMPOSE.read_text() + OWN_PROXY.read_text()
    assert set(re.findall(r"\$\{(\w+):\?", text)) == REQUIRED
    optional = set(re.findall(r"\$\{(\w+):[-+]", text))
    assert set(re.findall(r"(?<!\$)\$\{?(\w+)", text)) == REQUIRED | optional
    described = (ROOT / ".env.example").read_text()
    for name in REQUIRED | optional:
        # What it is stands before it, with what holds without it unless there must be one.
        found = re.search(rf"((?:^# .+\n)+)#?{name}=", described, re.MULTILINE)
        assert found, name
        assert name in REQUIRED or "Default: " in found[1], name


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("${SITE_URL:?is required}", "https://book.example"),
        ("to ${WEB_PORT:-8000}", "to 8000"),
        ("${BACKUP_FOLDER:+/app/backups}", ""),
        ("${SITE_URL:+there}", "there"),
        ("${WEB_PORT}$$HOME", "$HOME"),
    ],
)
def test_variables_are_read_as_an_engine_reads_them(text: str, read: str):
    assert interpolated(text, {"SITE_URL": "https://book.example", "WEB_PORT": ""}) == read


def test_a_required_variable_that_is_empty_is_named():
    with pytest.raises(KeyError, match="SECRET_KEY is required"):
        interpolated("${SECRET_KEY:?is required}", {"SECRET_KEY": ""})


def test_the_book_is_given_only_what_it_reads(services):
    for name in OF_THE_BOOK:
        assert set(services[name]["environment"]) <= set(SETTINGS_VARIABLES)


def test_the_image_is_made_of_files_that_are_there_and_not_ignored():
    of_the_book = "".join(stage for stage in stages() if not stage.startswith("FROM caddy:"))
    copied = re.findall(r"^COPY (?!--from)(\S+) ", of_the_book, re.MULTILINE)
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
