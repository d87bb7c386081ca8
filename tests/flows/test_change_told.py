"""What a coordinator does to a member, from the coordinator's page to the member's inbox and own page."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.actions import log_cost, log_fill
from fleet.actions import Bill, close_defect, complete_due_item, report_defect
from fleet.costs import WorkCost
from fleet.models import Car, DueItem
from instructors.models import Act, ActMail, Member
from instructors.tasks import retry_act_mail
from tests.costing.pages import text_of
from tests.factories import DueItemFactory, OdometerReadingFactory
from tests.fleet.reminding import text_of as text_of_mail
from tests.mailserver import MailServer
from tests.processes import BookProcess
from tests.servers import wait_until

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_refused_mail_waits_and_counts_as_told_only_when_the_server_has_taken_it(
    everyone: dict[str, Client],
    car: Car,
    keeper: Member,
    coordinator: Member,
    smtp_server: MailServer,
    celery_worker_process: Callable[..., BookProcess],
) -> None:
    celery_worker_process()
    smtp_server.refusing = True
    page, record = reverse("fleet:car-hand-over", args=["QA51ABC"]), reverse("instructors:record")
    OdometerReadingFactory.create(car=car, read_on=timezone.localdate(), miles=41_200)
    typed = {"keeper": str(coordinator.pk), "on": timezone.localdate().isoformat(), "odometer": "41200"}
    everyone["coordinator"].post(page, typed)
    wait_until(lambda: ActMail.objects.filter(last_error__startswith="451").exists(), "the refusal")
    assert Act.objects.get(field="keeper").told_at is None
    assert "The e-mail about it has not gone out yet." in text_of(everyone["keeper"].get(record))
    assert "451 4.3.0" in text_of(everyone["coordinator"].get(reverse("fleet:reminder-log")))
    smtp_server.refusing = False
    ActMail.objects.update(next_attempt_at=timezone.now())
    retry_act_mail()
    [mail] = smtp_server.wait_for(1)
    wait_until(lambda: Act.objects.get(field="keeper").told_at is not None, "the act to count as told")
    assert mail["To"] == keeper.email
    assert "It is now: Zdzisława Łąkowska" in text_of_mail(mail)
    shown = text_of(everyone["keeper"].get(record))
    assert "It was Wren Applegarth and is now Zdzisława Łąkowska." in shown
    assert "by Zdzisława Łąkowska. You were told by e-mail." in shown


@pytest.mark.usefixtures("today")
def test_whoever_takes_a_car_over_sees_nothing_of_the_money_of_whoever_kept_it(
    everyone: dict[str, Client], car: Car, keeper: Member, coordinator: Member
) -> None:
    today = timezone.localdate()
    words = {"supplier": "Canary Motors", "note": "canary note"}
    log_cost(
        by=keeper, car=car, ref="canary-cost", paid_on=today, category="repairs", amount=Decimal("913.57"), **words
    )
    fill = {"quantity": Decimal("41.87"), "unit": "litre", "amount": Decimal("68.43")}
    log_fill(by=keeper, car=car, ref="canary-fill", filled_on=today, odometer=48_213, **fill)
    item = DueItemFactory(car=car, kind="service", due_on=today, every_months=12)
    complete_due_item(by=keeper, item=item, done_on=today, bill=Bill("canary-bill", Decimal("271.31")))
    defect, _ = report_defect(by=keeper, car=car, ref="r", severity="watch", description="Wiper smears", found_on=today)
    cost = WorkCost("repairs", today, Decimal("57.91"), supplier="Canary Motors")
    close_defect(by=keeper, defect=defect, closed_on=today, words="New blade", cost=cost, cost_ref="canary-defect")
    client = everyone["coordinator"]
    before = _pages(client, car, DueItem.objects.get(), defect.pk)
    typed = {"keeper": str(coordinator.pk), "on": today.isoformat(), "odometer": "48213"}
    client.post(reverse("fleet:car-hand-over", args=[car.registration]), typed)
    log_cost(by=coordinator, car=car, ref="own", paid_on=today, category="repairs", amount=Decimal("12.00"))
    after = _pages(client, car, DueItem.objects.get(), defect.pk)
    canaries = ("canary", "Canary", "913.57", "68.43", "41.87", "271.31", "57.91")
    for address, page in [*before.items(), *after.items()]:
        assert not [canary for canary in canaries if canary in page], address


def _pages(client: Client, car: Car, item: DueItem, defect: int) -> dict[str, str]:
    """Every page on which a car's work and costs stand or are put right, as it comes."""
    today = timezone.localdate()
    addresses = [
        *(reverse(f"fleet:{name}", args=[car.registration]) for name in ("car", "readings", "car-correct")),
        *(reverse(f"fleet:due-item-{name}", args=[item.pk]) for name in ("correct", "complete", "book")),
        reverse("fleet:due-item-complete", args=[item.pk]) + "?cost=canary-bill",
        *(reverse(f"fleet:{name}", args=[defect]) for name in ("defect", "defect-reopen")),
        *(reverse(f"costing:{name}") for name in ("home", "entries")),
        reverse("costing:statement") + f"?first={today - timedelta(days=60)}&last={today}&car={car.registration}",
    ]
    return {address: client.get(address).content.decode() for address in addresses}
