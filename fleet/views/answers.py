"""What the pages about due items share when they answer."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import redirect, resolve_url

from fleet.core import registration as marks
from fleet.models import DueItem
from fleet.views import MemberRequest
from instructors.models import Member


def done(request: MemberRequest, item: DueItem, words: str) -> HttpResponse:
    """Say that it is done, where the item is listed."""
    messages.success(request, words)
    return redirect(home_of(item, request.user))


def home_of(item: DueItem, member: Member) -> str:
    """Where ``member`` finds an item listed: on its car's page, their own, or among the cars."""
    if item.car:
        return resolve_url("fleet:car", item.car.registration)
    return resolve_url("fleet:profile" if item.member == member else "fleet:car-list")


def home_words(item: DueItem, member: Member) -> str:
    """What that page is called."""
    if item.car:
        return marks.show(item.car.registration)
    return "my page" if item.member == member else "the cars"


def put_refusal(form: BaseForm, refusal: ValidationError) -> None:
    """Show an action's refusal beside its field, or at the top where the form has no such field."""
    if not hasattr(refusal, "error_dict"):
        form.add_error(None, refusal)
        return
    for field, errors in refusal.error_dict.items():
        form.add_error(field if field in form.fields else None, errors)
