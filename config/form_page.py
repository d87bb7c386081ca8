"""How every page handles its form: show it, say why it is refused, or save it and go on."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from django.contrib import messages
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.forms import BaseForm
from django.forms.renderers import BaseRenderer
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse, QueryDict
from django.shortcuts import render, resolve_url
from django.template import engines
from django.utils.datastructures import MultiValueDict
from django.utils.html import format_html, format_html_join

from config.asking import AskingForm
from config.http import HtmxRequest, wants_data

Context = Mapping[str, Any]


class FormRenderer(BaseRenderer):
    """Renders each field with the book's own template."""

    field_template_name = "_field.html"

    def get_template(self, template_name: str) -> Any:
        """A template of the pages' engine."""
        return engines["pages"].get_template(template_name)


class SeeOther(HttpResponseRedirect):
    """A redirect that browsers follow with GET, so that reloading the next page sends nothing twice."""

    status_code = 303

    def __init__(self, to: str, *arguments: object) -> None:
        """``to`` is an address, or the name of a page with the ``arguments`` of its address."""
        super().__init__(resolve_url(to, *arguments))


def posted(request: HttpRequest) -> QueryDict | None:
    """The posted data of a form; None for a GET."""
    return request.POST if request.method == "POST" else None


def posted_files(request: HttpRequest) -> MultiValueDict[str, UploadedFile] | None:
    """The posted files of a form; None for a GET."""
    return request.FILES if request.method == "POST" else None


def form_page(
    request: HttpRequest,
    template: str,
    form: BaseForm,
    save: Callable[[], HttpResponse],
    context: Context | Callable[[], Context] | None = None,
    again: Callable[[], HttpResponse | None] | None = None,
) -> HttpResponse:
    """Show ``form`` in ``template``, or save it once it has been sent and is valid.

    ``save`` calls an action and returns the answer, usually that of ``go_on``. If the action raises ValidationError,
    the page shows it beside the fields it is about. The template also gets ``context``; pass a function if it makes
    queries, so that a save does not run them. A script that sent the form is told why as JSON. ``again`` answers a
    form that was saved before and is sent again, and would be refused now for what it has changed itself; one that
    would not be, the action knows.
    """
    if form.is_bound and form.is_valid():
        try:
            return save()
        except ValidationError as refusal:
            put_refusal(form, refusal)
    if form.is_bound and again and (answer := again()):
        return answer
    if form.is_bound and wants_data(request):
        return _refused(form.errors, form.questions_as_data() if isinstance(form, AskingForm) else {})
    shown = context() if callable(context) else context or {}
    return render(request, template, {"form": form, **shown})


def no_form_page(request: HttpRequest, template: str, why: str) -> HttpResponse:
    """Show ``template`` where there is nothing to fill in. A script that sent a form all the same is told ``why``."""
    if request.method == "POST" and wants_data(request):
        return _refused({NON_FIELD_ERRORS: [why]})
    return render(request, template)


class Done(NamedTuple):
    """What was done: whether anything is new, in words, the address that undoes it ("" for none), and what follows.

    ``links`` are pairs of words and address.
    """

    is_new: bool
    told: str
    undo: str = ""
    links: Sequence[tuple[str, str]] = ()


def button_pressed(request: HttpRequest, act: Callable[[], str], to: str, *arguments: object) -> HttpResponse:
    """Answer a button without a form: show the words that ``act`` returns, or why it refused, and go on to ``to``.

    A script is told them as JSON.
    """
    try:
        words = act()
    except ValidationError as refusal:
        if wants_data(request):
            return _refused({NON_FIELD_ERRORS: refusal.messages})
        messages.error(request, " ".join(refusal.messages))
        return SeeOther(to, *arguments)
    return tell(request, Done(is_new=False, told=words), to, *arguments)


def go_on(request: HttpRequest, words: str, to: str, *arguments: object, level: int = messages.SUCCESS) -> SeeOther:
    """Redirect to the page ``to``, which then shows ``words``."""
    messages.add_message(request, level, words)
    return SeeOther(to, *arguments)


def tell(request: HttpRequest, done: Done, to: str, *arguments: object) -> HttpResponse:
    """Redirect to the page ``to``, which tells what was done and has the key that undoes it; tell a script as JSON."""
    if wants_data(request):
        return JsonResponse(done._asdict() | {"links": list(done.links)}, status=201 if done.is_new else 200)
    links = format_html_join("", ' <a href="{}">{}</a>', ((address, words) for words, address in done.links))
    # The tags of a message are the address that undoes it, of which _messages.html makes a key.
    messages.success(request, format_html("{}{}", done.told, links), extra_tags=done.undo)
    return SeeOther(to, *arguments)


def _refused(errors: Mapping[str, Iterable[Any]], questions: Mapping[str, Any] | None = None) -> JsonResponse:
    by_field = {
        "" if field == NON_FIELD_ERRORS else field: [str(one) for one in words] for field, words in errors.items()
    }
    return JsonResponse({"errors": by_field, "questions": questions or {}}, status=422)


def put_refusal(form: BaseForm, refusal: ValidationError) -> None:
    """Show why an action refused: beside the fields it is about, or above the form for anything else."""
    by_field = refusal.error_dict if hasattr(refusal, "error_dict") else {"": refusal.error_list}
    for field, errors in by_field.items():
        form.add_error(field if field in form.fields else None, errors)


def page_or_fragment(request: HtmxRequest, template: str) -> str:
    """The template to answer with: ``app/_page.html`` for htmx, else ``app/page.html``, which includes it."""
    folder, name = template.rsplit("/", 1)
    return f"{folder}/_{name}" if request.htmx else template
