"""The form field that takes receipts: photos from the phone's camera or album, and PDFs."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from config import budgets
from config.pictures import (
    IsHeic,
    NotAPdf,
    NotAPicture,
    NotReadNow,
    Page,
    PdfIsLocked,
    TooManyPages,
    TooManyPixels,
    as_pages,
)
from config.reader_process import TimeLeft

_CANNOT_BE_READ = "This cannot be read as a receipt: send a JPEG or PNG picture, or a PDF."
#: What is said of each sort of refusal.
WORDS: dict[type[NotAPicture], str] = {
    NotAPicture: _CANNOT_BE_READ,
    TooManyPixels: (
        f"This picture has too many pixels: at most {budgets.JPEG_PIXELS // 10**6} million for a JPEG photo, "
        f"{budgets.OTHER_PIXELS['PNG'] // 10**6} million for a PNG picture."
    ),
    NotReadNow: "This cannot be read now, because the server is busy. Send it again in a moment.",
    IsHeic: "This picture is in the HEIC format, which the book cannot read: send a JPEG.",
    NotAPdf: "This PDF cannot be drawn: it is damaged or too heavy. Send a photo of it.",
    TooManyPages: f"This PDF has more than {budgets.PDF_PAGES} pages. Send a photo of the one with the sum.",
    PdfIsLocked: "This PDF is locked with a password. Save it without one, or send a photo of it.",
}


class _SeveralFiles(forms.FileInput):
    """A control for several files at once; of a form that is shown again the browser has forgotten them."""

    allow_multiple_selected = True

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[UploadedFile]:
        """All the files that were sent, in their order."""
        return files.getlist(name) if hasattr(files, "getlist") else list(filter(None, [files.get(name)]))


class ReceiptsField(forms.FileField):
    """Receipts, as the pages of all the files in their order. What a file is, its content says."""

    def __init__(self, **options: Any) -> None:
        # Accepting JPEG, and not every picture, makes a phone convert its own formats. It offers its camera, too.
        accept = "image/jpeg,image/png,image/webp,application/pdf"
        widget = _SeveralFiles(attrs={"accept": accept, "data-shrink": True})
        super().__init__(**{"required": False, "widget": widget, **options})

    def clean(self, data: Iterable[UploadedFile], initial: Any = None) -> tuple[Page, ...]:
        """The pages. Raises ValidationError with a sentence for each file that is refused, and no page is kept."""
        uploads = list(data or ())
        if not uploads and self.required:
            raise ValidationError("Choose a photo or a PDF.", code="required")
        if len(uploads) > budgets.RECEIPT_FILES:
            raise ValidationError(f"Send at most {budgets.RECEIPT_FILES} files at once.", code="many")
        pages: list[Page] = []
        left = TimeLeft()
        refusals = []
        for number, upload in enumerate(uploads, 1):
            try:
                pages += self._pages_of(upload, left)
            except ValidationError as refusal:
                which = f"File {number}: " if len(uploads) > 1 else ""
                refusals.append(ValidationError(f"{which}{refusal.message}", code=refusal.code))
        if refusals:
            raise ValidationError(refusals)
        return tuple(pages)

    def _pages_of(self, upload: Any, left: TimeLeft) -> list[Page]:
        """The pages of one file. Its name is looked at nowhere."""
        if not upload.size:
            raise ValidationError("This file is empty.", code="empty")
        if upload.size > budgets.PICTURE_BYTES:
            most = budgets.PICTURE_BYTES // 10**6
            raise ValidationError(f"This file is too large. Send one of at most {most} MB.", code="large")
        try:
            return as_pages(upload, left)
        except NotAPicture as refusal:
            raise ValidationError(WORDS[type(refusal)], code="unreadable") from None
