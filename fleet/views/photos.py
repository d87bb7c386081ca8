"""Photos, handed to whoever may see them; none has a public address."""

from uuid import UUID

from django.http import FileResponse, Http404
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.views import MemberRequest


@require_safe
def photo(request: MemberRequest, pk: UUID) -> FileResponse:
    """One photo, always a JPEG of our own making, whatever was uploaded."""
    kept = queries.photo_for(request.user, pk)
    try:
        file = kept.image.open("rb")
    except FileNotFoundError:  # a book restored without its files
        raise Http404 from None
    headers = {"Cache-Control": "private, max-age=3600", "X-Content-Type-Options": "nosniff"}
    return FileResponse(file, content_type="image/jpeg", headers=headers)
