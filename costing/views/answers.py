"""What the pages share when they answer: a redirect after a write, and refusals put beside their fields."""

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms import BaseForm
from django.http import HttpResponseRedirect


class SeeOther(HttpResponseRedirect):
    """A redirect that is always fetched by GET: reloading what follows sends nothing twice."""

    status_code = 303


def put_refusal(form: BaseForm, refusal: ValidationError) -> None:
    """Show why an action refused beside the fields to blame, or above the form where there is none."""
    by_field = refusal.message_dict if hasattr(refusal, "error_dict") else {NON_FIELD_ERRORS: refusal.messages}
    for name, messages in by_field.items():
        for message in messages:
            form.add_error(name if name in form.fields else None, message)
