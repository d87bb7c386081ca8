"""Erasing oneself, or a former member at their request; the page says before what goes and what has to stay."""

from allauth.account.decorators import reauthentication_required
from django.contrib.auth import logout
from django.http import HttpResponse

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from instructors.access import MemberRequest, coordinators_only
from instructors.erasure import earliest, erase, still_kept
from instructors.forms import ErasureForm
from instructors.queries import member_or_404


@read_or_write
@reauthentication_required(app="instructors")
def erase_me(request: MemberRequest) -> HttpResponse:
    """Erase the member who is signed in: they leave, and all that is theirs goes."""
    form = ErasureForm(posted(request), name=request.user.name)

    def save() -> HttpResponse:
        erase(by=request.user, member=request.user)
        logout(request)
        return go_on(request, "Your records are erased. Thank you for having been with us.", "account_login")

    return form_page(request, "instructors/erase_me.html", form, save, {"kept": still_kept(request.user)})


@coordinators_only
@read_or_write
@reauthentication_required(app="instructors")
def member_erase(request: MemberRequest, pk: int) -> HttpResponse:
    """Erase a former member, who asked for it."""
    member = member_or_404(pk)
    form = ErasureForm(posted(request), name=member.name)

    def save() -> HttpResponse:
        erase(by=request.user, member=member)
        return go_on(request, "All that was theirs is erased. They are told by e-mail.", "instructors:people")

    context = {"member": member, "earliest": earliest(member), "kept": still_kept(member)}
    return form_page(request, "instructors/member_erase.html", form, save, context)
