"""The suite's own machinery: a real mail server, other processes on the test's database, its records."""

import smtplib

import pytest
from django.apps import apps
from django.core import mail
from factory.django import DjangoModelFactory

from config.celery import app
from instructors.models import Member
from tests import factories
from tests.prerequisites import PACKAGES, missing_packages

FACTORIES = [
    factory
    for factory in vars(factories).values()
    if isinstance(factory, type)
    and issubclass(factory, DjangoModelFactory)
    and factory is not DjangoModelFactory
    and not factory._meta.abstract
]


@pytest.mark.parametrize("factory", FACTORIES)
def test_a_made_up_record_is_one_that_the_book_would_take(factory, db):
    record = factory()
    # Null is what the book itself leaves in a field until it is known; no form may.
    record.full_clean(exclude=[field.name for field in record._meta.fields if field.null])
    assert factory._meta.model.objects.exists()


def test_every_record_of_the_book_can_be_made_up():
    made = {factory._meta.model for factory in FACTORIES}
    own = {model for name in ("instructors", "fleet", "costing") for model in apps.get_app_config(name).get_models()}
    assert {model for model in own if not model.__name__.startswith("Historical")} == made


def test_mail_reaches_the_server(smtp_server):
    mail.send_mail("Due soon", "The MOT of QA51 ABC", "book@book.example", ["keeper@book.example"])
    (message,) = smtp_server.messages
    assert message["Subject"] == "Due soon"
    assert message["To"] == "keeper@book.example"
    assert message.get_content().strip() == "The MOT of QA51 ABC"


def test_a_refusing_server_says_so_and_takes_nothing(smtp_server):
    smtp_server.refuse_next(1)
    with pytest.raises(smtplib.SMTPDataError, match="451"):
        mail.send_mail("First", "", "book@book.example", ["keeper@book.example"])
    mail.send_mail("Second", "", "book@book.example", ["keeper@book.example"])
    assert [message["Subject"] for message in smtp_server.messages] == ["Second"]
    smtp_server.refusing = True
    with pytest.raises(smtplib.SMTPDataError, match="451"):
        mail.send_mail("Third", "", "book@book.example", ["keeper@book.example"])
    assert smtp_server.refused_count == 2


def test_another_process_sees_the_rows_of_the_test(book_process, keeper, smtp_server):
    script = (
        "from django.core.mail import send_mail; from instructors.models import Member; "
        "send_mail(Member.objects.get().name, '', 'book@book.example', ['keeper@book.example'])"
    )
    process = book_process("manage.py", "shell", "--no-imports", "-c", script)
    assert process.wait() == 0, process.output()
    assert [message["Subject"] for message in smtp_server.messages] == [keeper.name]


def test_a_worker_does_what_was_queued(celery_worker_process, redis_server):
    worker = celery_worker_process()
    app.send_task("celery.ping")
    with redis_server.client() as client:
        worker.wait_for_output("celery.ping")
        assert client.llen("celery") == 0


def test_the_worker_of_an_earlier_test_is_gone(redis_server):
    assert not app.control.ping(timeout=0.3)


@pytest.mark.usefixtures("today")
def test_the_whole_cast_is_there_and_signed_in(everyone, car, colleague_car):
    assert set(everyone) == {"keeper", "colleague", "coordinator", "stranger", "anonymous"}
    signed_in = {name for name, client in everyone.items() if "_auth_user_id" in client.session}
    assert signed_in == set(everyone) - {"anonymous"}
    assert Member.objects.count() == 4
    assert car.keeper != colleague_car.keeper


def test_nothing_that_the_suite_needs_is_missing_here():
    assert not missing_packages()
    assert set(PACKAGES) >= {"initdb", "redis-server", "chromium"}
