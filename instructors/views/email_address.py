"""A member's own e-mail address: asking for another, and proving that it is theirs."""

from allauth.account.adapter import get_adapter
from allauth.account.decorators import reauthentication_required
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect

from config.form_page import SeeOther, form_page, go_on, posted
from config.http import read_or_write
from config.site import page
from instructors.access import MemberRequest
from instructors.forms import AddressCodeForm, AddressForm
from instructors.signing_in import new_address
from instructors.signing_in.actions import change_address, refuse_taken_address


@read_or_write
@reauthentication_required(app="instructors")
def email_change(request: MemberRequest) -> HttpResponse:
    """Ask for the new address, and send a code there."""
    form = AddressForm(posted(request))

    def save() -> HttpResponse:
        email = form.cleaned_data["email"].lower()
        refuse_taken_address(by=request.user, email=email)
        new_address.send_code(request, by=request.user, email=email)
        return SeeOther("instructors:email-confirm")

    return form_page(request, "instructors/email_change.html", form, save)


@read_or_write
@reauthentication_required(app="instructors")
def email_confirm(request: MemberRequest) -> HttpResponse:
    """Take the code, change the address, and write to both the old and the new one."""
    email = new_address.address_to_confirm(request)
    if not email:
        return redirect("instructors:email-change")
    form = AddressCodeForm(posted(request))

    def save() -> HttpResponse:
        if not new_address.is_right_code(request, form.cleaned_data["code"]):
            raise ValidationError({"code": "That is not the code. After five wrong tries, ask for a new one."})
        try:
            before = change_address(by=request.user, email=email)
        except ValidationError as refusal:  # about the address, which is not a field of this page
            raise ValidationError({"code": refusal.messages}) from refusal
        new_address.forget(request)
        _tell_both(request, before, email)
        return go_on(request, f"From now on you sign in with {email}.", page("about-me"))

    return form_page(request, "instructors/email_confirm.html", form, save, {"email": email})


def _tell_both(request: MemberRequest, before: str, after: str) -> None:
    adapter = get_adapter(request)
    for address, mail in ((before, "email_changed"), (after, "email_confirmed")):
        adapter.send_notification_mail(f"account/email/{mail}", request.user, email=address)
