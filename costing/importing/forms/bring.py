"""Which file, and what it holds."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from config import budgets
from costing.importing.core.sheet import Sheet
from costing.importing.readers.opening import open_file
from costing.importing.readers.refused import Refused

#: What a file may hold.
HOLDS = {
    "statement": "Payments from a bank statement",
    "cost": "Costs, from a list of my own",
    "fill": "Fills, from a list of my own",
    "lessons": "Lessons, from a list or diary of my own",
}


class BringForm(forms.Form):
    """A file and what it holds. ``cleaned_data["file"]`` is its sheet; the file itself is gone with the request."""

    holds = forms.ChoiceField(
        label="What it holds",
        choices=list(HOLDS.items()),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    file = forms.FileField(
        label="File",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.ods,.csv,.tsv,.txt,.ofx,.qfx,.xml"}),
        error_messages={"required": "Choose a file.", "empty": "This file is empty."},
    )

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, label_suffix="", initial={"holds": "statement"})

    def clean_file(self) -> Sheet:
        """Return what the file holds. Raises ValidationError if it cannot be read."""
        upload: UploadedFile = self.cleaned_data["file"]
        try:
            # One byte more than there may be, so that a larger file is known to be one without being read.
            return open_file(upload.read(budgets.IMPORT_BYTES + 1))
        except Refused as refused:
            raise ValidationError(str(refused), code="unreadable") from refused

    def clean(self) -> dict[str, Any]:
        """A bank's own statement is a statement, whatever was chosen, unless that cannot be."""
        sheet: Sheet | None = self.cleaned_data.get("file")
        if sheet and sheet.is_statement and self.cleaned_data.get("holds") in ("fill", "lessons"):
            self.add_error("holds", "This file is a bank statement, which tells payments only.")
        elif sheet and sheet.is_statement:
            self.cleaned_data["holds"] = "statement"
        return self.cleaned_data
