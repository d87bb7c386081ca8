"""Photos, served only to those who may see them; none has a public address."""

from uuid import UUID

from django.http import FileResponse, Http404, HttpResponseBase
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.models import Photo
from instructors.access import MemberRequest


@require_safe
def photo(request: MemberRequest, pk: UUID) -> HttpResponseBase:
    """One photo, always a JPEG that the book encoded itself.

    It never changes, but who may see it does: a browser may cache it, but must ask each time.
    """
    kept = queries.photo_for(request.user, pk)
    same = f'"{pk}"'
    answer: HttpResponseBase = get_conditional_response(request, etag=same) or _picture(kept)
    answer.headers["Cache-Control"] = "private, no-cache"
    answer.headers["ETag"] = same
    return answer


def _picture(kept: Photo) -> FileResponse:
    try:
        file = kept.image.open("rb")
    except FileNotFoundError:  # a book restored without its files
        raise Http404 from None
    return FileResponse(file, content_type="image/jpeg", headers={"X-Content-Type-Options": "nosniff"})
