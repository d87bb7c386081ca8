"""Receipts added to an entry that is in the book already."""

from typing import Any

from django import forms

from config.receipts_field import ReceiptsField


class ReceiptForm(forms.Form):
    """One or several photos or PDFs; ``cleaned_data["receipt"]`` has their pages."""

    receipt = ReceiptsField(required=True, label="Photo or PDF")

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, label_suffix="")
