"""What every mail in HTML has in common: one frame, what it wears made from the tokens, nothing to fetch, one key."""

import re
from collections.abc import Callable
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.utils import timezone

from config.look import mail as look
from config.look.tokens import PAIRS, SHADES, STATES
from config.mail import send_rendered, wrapped
from config.site import site_url
from fleet.actions import queue_mail
from fleet.core.defects import Severity
from fleet.core.quiet import Quiet
from fleet.models import Car, MailKind
from fleet.reminders import deliver_mail, run_reminders, sound_alarm
from fleet.reminders.letters.log import log_letter
from fleet.reminders.nudges import Nudge
from instructors.actions import record_act
from instructors.models import ActKind, Cooperative, Member
from instructors.notification import deliver_act_mail
from tests.factories import (
    BackupDrillFactory,
    BackupRunFactory,
    DefectFactory,
    DefectStepFactory,
    DueItemFactory,
    InvitationFactory,
    PhotoFactory,
    PulseFactory,
)
from tests.fleet.reminding import TODAY, html_of, in_days, text_of
from tests.mailserver import MailServer

[FOLDER] = settings.TEMPLATES[0]["DIRS"]
SOURCES = [*FOLDER.glob("*/mail/*.html"), FOLDER / "mail.html", FOLDER / "_mail_key.html"]
MAILS = {f"{path.parts[-3]}/mail/{path.stem}" for path in SOURCES if path.parent.name == "mail" and path.stem[0] != "_"}


@pytest.fixture
def send(
    today, car: Car, colleague_car: Car, keeper: Member, coordinator: Member, smtp_server: MailServer, settings: Any
) -> Callable[[str], None]:
    """A function that sends the mail of a template, with all that can be in it."""
    defect = DefectFactory.create(car=car, severity=Severity.DANGEROUS, photo=PhotoFactory.create(car=car))

    def reminder() -> None:
        Member.objects.filter(pk=keeper.pk).update(wants_log_mail=True)
        for kind, days in (("mot", -3), ("service", 9), ("insurance", 7)):
            DueItemFactory.create(car=car, kind=kind, due_on=in_days(days), note="Ask about the wipers")
        run_reminders(TODAY)

    def asked() -> None:
        reminder()
        smtp_server.clear()
        deliver_mail(queue_mail(to=keeper, kind=MailKind.ASKED, asked_by=coordinator).pk, TODAY)

    def of_defect() -> None:
        step = DefectStepFactory.create(defect=defect, severity=defect.severity, by=coordinator, words="Still low")
        deliver_mail(queue_mail(to=keeper, kind=MailKind.DEFECT, about=f"defect-{step.pk}").pk, TODAY)

    def alarm() -> None:
        PulseFactory.create()
        car.history.update(history_date=timezone.now() - timedelta(days=2))
        sound_alarm(timezone.now())

    def backup_alarm() -> None:
        PulseFactory.create()
        settings.BACKUP_FOLDER = Path("/mnt/backups")
        BackupRunFactory.create(made_at=timezone.now() - timedelta(days=2))
        BackupRunFactory.create(ended_at=timezone.now(), error="No space left on device")
        sound_alarm(timezone.now())

    def drill_alarm() -> None:
        PulseFactory.create()
        settings.BACKUP_FOLDER = Path("/mnt/backups")
        now = timezone.now()
        backup = BackupRunFactory.create(made_at=now, ended_at=now)
        BackupDrillFactory.create(backup=backup, ended_at=now, error="book-2026-03-15.backup is not there any more.")
        sound_alarm(now)

    def acts() -> None:
        words = {"about": "QA51 ABC", "field": "in_service_to", "now": "2026-02-28"}
        act = record_act(by=coordinator, kind=ActKind.CAR, concerns=keeper, subject="car:7", **words, is_mailed=True)
        deliver_act_mail(act.mail_id)

    def invitation() -> None:
        context = {
            "invitation": InvitationFactory.create(invited_by=coordinator),
            "cooperative": Cooperative(name="Three Valleys"),
            "link": f"{site_url()}/invitation/x/",
        }
        send_rendered("instructors/mail/invitation", context, to="new@book.example", message_id=uuid4())

    def log() -> None:
        letter = log_letter(Nudge(keeper, Quiet(in_days(-9), 9)))
        send_rendered(letter.template, letter.context, to=keeper.email, message_id=uuid4(), headers=letter.headers)

    senders = {
        "fleet/mail/reminder": reminder,
        "fleet/mail/asked": asked,
        "fleet/mail/defect": of_defect,
        "fleet/mail/alarm": alarm,
        "fleet/mail/backup_alarm": backup_alarm,
        "fleet/mail/drill_alarm": drill_alarm,
        "fleet/mail/log": log,
        "instructors/mail/acts": acts,
        "instructors/mail/invitation": invitation,
    }
    return lambda name: senders[name]()


class Elements(HTMLParser):
    """Every element of a page: its tag and its attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


@pytest.mark.parametrize("name", sorted(MAILS))
def test_every_mail_fetches_nothing_wears_only_the_tokens_and_has_one_key(
    send: Callable[[str], None], smtp_server: MailServer, name: str
) -> None:
    send(name)
    assert smtp_server.messages
    for message in smtp_server.messages:
        page = html_of(message)
        elements = Elements(page).found
        assert not {"img", "link", "script", "iframe", "video"} & {tag for tag, _ in elements}
        assert "url(" not in page
        assert "@import" not in page
        assert all(values["href"].startswith(f"{site_url()}/") for tag, values in elements if tag == "a")
        worn = [(values.get("class"), values.get("style")) for _, values in elements]
        assert all(style == (name and look.style_of(name)) for name, style in worn)
        assert [name for name, _ in worn].count("key") == 1


@pytest.mark.parametrize("name", sorted(MAILS))
def test_the_text_reads_well_by_itself(send: Callable[[str], None], smtp_server: MailServer, name: str) -> None:
    send(name)
    for message in smtp_server.messages:
        text = text_of(message).replace("\r\n", "\n")
        assert text.startswith("Hello ")
        assert "\n\n\n" not in text
        assert not re.search(r"&\w+;|</|\{\{|\{%", text)
        for line in text.splitlines():
            assert len(line) <= 76 or line.strip().startswith("http")
            assert "http" not in line or line.strip().startswith("http")


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_no_template_of_a_mail_spells_a_colour_a_style_or_an_address(path: Path) -> None:
    source = path.read_text()
    assert not re.search(r"style=|class=|#[0-9a-f]{3,8}\b|https?:|<img", source)


@pytest.mark.parametrize("name", look.DRESSES)
def test_every_ink_can_be_read_on_its_ground(name: str) -> None:
    dress = look.DRESSES[name]
    assert {pair.least for pair in PAIRS if (pair.ink, pair.ground) == (dress.ink, dress.ground)} & {4.5}
    assert dress.ground in SHADES


def test_the_dark_rules_name_every_part_and_nothing_else() -> None:
    rules = dict(re.findall(r"\.(\w+)\{([^}]*)\}", look.dark_rules()))
    assert rules.keys() == look.DRESSES.keys()
    assert rules["card"] == (
        f"color:{SHADES['ink'].dark} !important;background-color:{SHADES['card'].dark} !important;"
        f"border-color:{SHADES['frame'].dark} !important"
    )


def test_no_face_is_named_that_only_we_have() -> None:
    assert not re.search("Besley|Atkinson", " ".join(map(look.style_of, look.DRESSES)))


def test_every_state_has_a_sign_of_its_own_and_due_fills_as_its_time_runs() -> None:
    assert len({look.sign(state) for state in STATES}) == len(STATES)
    assert [look.sign("due", days) for days in (30, 24, 15, 8, 0)] == ["◔", "◔", "◑", "◕", "●"]
    assert look.sign("due", 48, 60) == "◔"
    with pytest.raises(KeyError):
        look.sign("fine")


def test_a_text_is_folded_at_words_below_where_it_begins_and_addresses_stay_whole() -> None:
    address = f"https://book.example/{'x' * 90}/"
    assert wrapped(f"\n{'word ' * 20}\n\n\n\n* {'item ' * 20}\n  {address}\n\n").splitlines() == [
        " ".join(["word"] * 15),
        " ".join(["word"] * 5),
        "",
        "* " + " ".join(["item"] * 15),
        "  " + " ".join(["item"] * 5),
        f"  {address}",
    ]
