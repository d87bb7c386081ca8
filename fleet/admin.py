"""The fleet in the coordinators' repair shop. What was sent and what ran can be read there, not changed."""

from typing import Any

from django import forms
from django.contrib import admin
from django.http import HttpRequest

from fleet.actions import check_reading
from fleet.core.odometer import Reading
from fleet.models import Car, Completion, DueItem, OdometerReading, ReminderMail, ReminderRun


class ReadOnlyAdmin(admin.ModelAdmin):
    """Rows that the book writes itself."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


class KeptAdmin(admin.ModelAdmin):
    """Rows that may be mended but not deleted: their history is the co-op's."""

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(Car)
class CarAdmin(KeptAdmin):
    list_display = ["registration", "description", "keeper", "in_service_from", "in_service_to"]
    list_select_related = ["keeper"]
    search_fields = ["registration", "description", "keeper__name"]


class OdometerReadingForm(forms.ModelForm):
    """Held against the car's other readings and fills, as on the book's own page."""

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        if not self.errors:
            given = self.cleaned_data
            was = Reading(self.initial["read_on"], self.initial["miles"]) if self.instance.pk else None
            check_reading(given["car"], given["read_on"], given["miles"], ignoring=was)
        return cleaned


@admin.register(OdometerReading)
class OdometerReadingAdmin(admin.ModelAdmin):
    form = OdometerReadingForm
    list_display = ["car", "read_on", "miles"]
    list_select_related = ["car"]
    list_filter = ["car"]
    date_hierarchy = "read_on"


@admin.register(DueItem)
class DueItemAdmin(KeptAdmin):
    list_display = ["kind", "car", "member", "due_on", "due_miles", "booked_for", "closed_on"]
    list_select_related = ["car", "member"]
    list_filter = ["kind", "car"]


@admin.register(Completion)
class CompletionAdmin(KeptAdmin):
    list_display = ["due_item", "done_on", "odometer", "recorded_by"]
    list_select_related = ["due_item__car", "due_item__member", "recorded_by"]
    readonly_fields = ["recorded_by", "recorded_at"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False  # a completion moves its due item on: the book's own page does both


@admin.register(ReminderMail)
class ReminderMailAdmin(ReadOnlyAdmin):
    list_display = ["day", "recipient", "state", "attempt_count", "next_attempt_at", "last_error"]
    list_select_related = ["recipient"]
    list_filter = ["state"]


@admin.register(ReminderRun)
class ReminderRunAdmin(ReadOnlyAdmin):
    list_display = [
        "day",
        "started_at",
        "finished_at",
        "new_notice_count",
        "already_told_count",
        "mail_count",
    ]
