"""Answers with a picture that the book keeps, for views that have found out who may see it."""

from csp.decorators import csp_update
from django.db.models.fields.files import FieldFile
from django.http import FileResponse, HttpRequest, HttpResponseBase
from django.utils.cache import get_conditional_response

#: For a picture that is opened by itself: it runs nothing, and is a site of its own.
_sandboxed = csp_update({"sandbox": True})


def kept_picture(request: HttpRequest, picture: FieldFile, name: str) -> HttpResponseBase:
    """One picture, always a JPEG that the book encoded itself. ``name`` tells it from every other.

    It never changes, but who may see it does: a browser may keep it, but must ask each time. Raises FileNotFoundError
    in a book that was restored without its files.
    """
    same = f'"{name}"'
    answer: HttpResponseBase = get_conditional_response(request, etag=same) or FileResponse(
        picture.open("rb"), content_type="image/jpeg", headers={"X-Content-Type-Options": "nosniff"}
    )
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["ETag"] = same
    return _sandboxed(lambda _: answer)(request)
