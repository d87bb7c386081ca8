"""A member's own e-mail address: asking for another, and showing that it is theirs."""

from allauth.account.adapter import get_adapter
from allauth.account.decorators import reauthentication_required
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render

from config.http import read_or_write
from config.site import page
from instructors.forms import AddressCodeForm, AddressForm
from instructors.signing_in import new_address
from instructors.signing_in.actions import change_address, refuse_taken_address
from instructors.views.access import MemberRequest


@read_or_write
@reauthentication_required(app="instructors")
def email_change(request: MemberRequest) -> HttpResponse:
    """Ask for the new address, and send a code there."""
    form = AddressForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        email = form.cleaned_data["email"].lower()
        try:
            refuse_taken_address(by=request.user, email=email)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            new_address.begin(request, by=request.user, email=email)
            return redirect("instructors:email-confirm")
    return render(request, "instructors/email_change.html", {"form": form})


@read_or_write
@reauthentication_required(app="instructors")
def email_confirm(request: MemberRequest) -> HttpResponse:
    """Take the code from the new address, change to it, and tell both addresses."""
    email = new_address.waiting(request)
    if not email:
        return redirect("instructors:email-change")
    form = AddressCodeForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            if not new_address.is_shown_by(request, form.cleaned_data["code"]):
                raise ValidationError({"code": "This is not the code. After five wrong ones, ask for a new one."})
            before = change_address(by=request.user, email=email)
        except ValidationError as refusal:
            form.add_error("code", refusal.messages[0])
        else:
            new_address.forget(request)
            _tell_both(request, before, email)
            messages.success(request, f"From now on you sign in with {email}.")
            return redirect(page("about-me"))
    return render(request, "instructors/email_confirm.html", {"form": form, "email": email})


def _tell_both(request: MemberRequest, before: str, after: str) -> None:
    adapter = get_adapter(request)
    for address, mail in ((before, "email_changed"), (after, "email_confirmed")):
        adapter.send_notification_mail(f"account/email/{mail}", request.user, email=address)
