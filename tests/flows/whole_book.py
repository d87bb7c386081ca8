"""A book with something in every table, to be backed up, emptied, restored and compared."""

import inspect
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from allauth.account.models import EmailAddress, EmailConfirmation
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import Group, Permission
from django.contrib.sessions.models import Session
from django.core.files.base import ContentFile
from django.core.management import call_command
from factory.django import DjangoModelFactory

from costing.models import Receipt
from fleet.models import Photo
from instructors.models import Member
from tests import factories

MOMENT = datetime(2026, 3, 16, 7, 30, 15, 123456, tzinfo=UTC)
PASSWORD = "three-crates-of-damsons"  # noqa: S105 - of nobody
#: Characters of several alphabets, and what CSV, JSON and SQL could trip over.
ODD = "Łąkowska 'née' \"O’Brien\";\\ \n,Ελπίδα\u2028\t%s 😀"


def fill_every_table(files: Path) -> Member:
    """Make a row of each model that there is, and the files that rows name; return the member who can sign in."""
    member = factories.CoordinatorFactory.create(email="whole@book.example", name="Wren Applegarth")
    member.set_password(PASSWORD)
    member.save()
    for _, factory in inspect.getmembers(factories, inspect.isclass):
        if issubclass(factory, DjangoModelFactory) and not factory._meta.abstract:
            factory.create()
    Group.objects.create(name=ODD).permissions.set(Permission.objects.all()[:2])
    Session.objects.create(session_key="abc", session_data="x" * 300, expire_date=MOMENT + timedelta(days=36_500))
    address = EmailAddress.objects.create(user=member, email=member.email, verified=True, primary=True)
    EmailConfirmation.objects.create(email_address=address, key="key", created=MOMENT, sent=None)
    Authenticator.objects.create(user=member, type="totp", data={"secret": "JBSWY3DP", "odd": [None, 1.1, ODD, {}]})
    UserSession.objects.create(user=member, session_key="abc", ip="2001:db8::1", user_agent=ODD[:60])
    factories.BackupRunFactory.create(size=5_000_000_000)
    for row, field in ((Photo.objects.get(), "image"), (Receipt.objects.get(), "picture")):
        getattr(row, field).save("ours.jpg", ContentFile(b"\xff\xd8" + bytes(range(256)) * 40))
    (files / "arriving").mkdir(exist_ok=True)
    (files / "arriving" / "half").write_bytes(b"on its way")
    return member


def rows() -> dict[str, list[dict[str, Any]]]:
    """All rows of all tables of the book, by model."""
    models = [model for model in apps.get_models(include_auto_created=True) if not model._meta.proxy]
    models = [model for model in models if model._meta.label not in settings.OF_THIS_INSTALLATION]
    return {model._meta.label: list(model._base_manager.order_by("pk").values()) for model in models}


def contents(files: Path) -> dict[str, bytes]:
    """All files of the book, by name."""
    found = (path for path in files.rglob("*") if path.is_file() and "arriving" not in path.parts)
    return {path.relative_to(files).as_posix(): path.read_bytes() for path in found}


def empty(files: Path) -> None:
    """Leave what a new installation has: an empty database, and no files."""
    call_command("flush", interactive=False, verbosity=0)
    for path in sorted(files.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink()
