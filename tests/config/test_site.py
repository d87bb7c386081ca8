"""The site's own address: what links begin with, in pages, mails and calendars, and in other processes."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from config.server import shown
from config.site import address_of, page, remember_served_at, site_url, url_of
from tests.processes import ROOT, BookProcess
from tests.schemas import make_migrated_file
from tests.servers import wait_until
from tests.visiting import Visitor

ON_FILES = {"DATABASE_URL": "", "REDIS_URL": "", "EMAIL_URL": "", "SECRET_KEY": "", "SITE_URL": ""}
Manage = Callable[..., BookProcess]


def test_every_page_of_the_slots_is_there(settings) -> None:
    assert (page("home"), page("about-me"), page("car-cost", "QA51ABC")) == ("/", "/me/", "/cars/QA51ABC/cost/")
    assert page("more") == "/more/"
    assert page("rent-or-own") == "/rent-or-own/"
    assert set(settings.PAGES) == {
        "home",
        "more",
        "about-me",
        "car-cost",
        "car-card",
        "export",
        "paper",
        "member-leave",
        "rent-or-own",
        "waiting",
        "worker",
        "manifest",
    }


@pytest.mark.parametrize(
    ("host", "port", "expected"),
    [
        ("127.0.0.1", 8000, "http://localhost:8000"),
        ("127.0.1.1", 8123, "http://localhost:8123"),
        ("::1", 8123, "http://localhost:8123"),
        ("localhost", 80, "http://localhost"),
        ("192.0.2.7", 8000, "http://192.0.2.7:8000"),
        ("2001:db8::7", 8000, "http://[2001:db8::7]:8000"),
        ("book.example", 80, "http://book.example"),
        ("0.0.0.0", 8000, "http://localhost:8000"),  # noqa: S104
        ("::", 8000, "http://localhost:8000"),
    ],
)
def test_what_is_opened_in_a_browser(host: str, port: int, expected: str) -> None:
    assert url_of(host, port) == expected


def test_at_every_address_of_the_machine_it_goes_by_the_name_it_answers_to(settings) -> None:
    settings.ALLOWED_HOSTS = ["*", ".book.example", "car-book.example", "localhost"]
    assert url_of("0.0.0.0", 8000) == "http://car-book.example:8000"  # noqa: S104


def test_an_address_to_listen_at_is_shown_as_one_to_open() -> None:
    assert shown("127.0.0.1:8000") == "http://localhost:8000"
    assert shown("localhost") == "http://localhost:8000"
    assert shown("[::1]:8123") == "http://localhost:8123"


def test_the_setting_comes_before_where_it_is_served_and_that_before_nothing_known(settings, tmp_path) -> None:
    settings.DATA_DIR = tmp_path
    assert site_url() == "http://localhost:8000"
    remember_served_at("127.0.0.1", 8123)
    assert site_url() == "http://localhost:8123"
    assert address_of("fleet:car", "QA51ABC") == "http://localhost:8123/cars/QA51ABC/"
    settings.SITE_URL = "https://book.example"
    assert address_of("fleet:car", "QA51ABC") == "https://book.example/cars/QA51ABC/"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "var"


@pytest.fixture
def manage(book_process: Callable[..., BookProcess], data: Path) -> Manage:
    """A function that starts one of the book's commands on files alone."""

    def manage(*arguments: str, **variables: str) -> BookProcess:
        return book_process("manage.py", *arguments, DATA_DIR=str(data), **ON_FILES | variables)

    data.mkdir()
    make_migrated_file(data / "book.sqlite3")
    loaded = manage("load_archive", str(ROOT / "tests/costing/sample_archive"))
    assert loaded.wait() == 0, loaded.output()
    return manage


def served_at(server: BookProcess) -> str:
    return server.wait_for_match(r"served at (\S+)/ ")[1]


def links_in_mails(data: Path) -> set[str]:
    """How the links of all mails in files begin, once there is one: it goes beside the answer."""

    def mails() -> list[str]:
        return [file.read_text() for file in (data / "mail").glob("*")]

    # A line of dashes ends each.
    wait_until(lambda: any(mails()) and all(mail.endswith("---\n") for mail in mails()), "whole mails in files")
    return {site for mail in mails() for site in re.findall(r"https?://[^/\s\"]+", mail)}


def test_mails_of_the_site_and_of_commands_lead_to_where_it_is_served(manage: Manage, data: Path) -> None:
    with manage("serve", "127.0.0.1:0") as server:
        site = served_at(server)
        assert re.fullmatch(r"http://localhost:\d+", site)
        Visitor(site).send_form("/account/password/reset/", {"email": "ann@book.example"})
        assert links_in_mails(data) == {site}
        reminders = manage("send_reminders", "--on", "2027-06-01")
        assert reminders.wait() == 0, reminders.output()
        assert len(list((data / "mail").iterdir())) > 1
        assert links_in_mails(data) == {site}


def test_a_link_leads_to_the_book_whatever_host_was_asked(manage: Manage, data: Path) -> None:
    with manage("serve", "127.0.0.1:0") as server:
        site = served_at(server)
        # A port of the attacker's on this machine: the name is one that the book answers to.
        Visitor(site).send_form("/account/password/reset/", {"email": "ann@book.example"}, Host="localhost:1")
        assert links_in_mails(data) == {site}


def test_the_setting_says_where_members_find_it_behind_a_proxy(manage: Manage, data: Path) -> None:
    with manage("serve", "127.0.0.1:0", SITE_URL="http://book.example") as server:
        assert served_at(server) == "http://book.example"
