"""The people in the coordinators' repair shop."""

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.contrib import admin
from django.contrib.auth.models import Group
from django.http import HttpRequest

from instructors.models import Cooperative, Invitation, Member

# None means anything in the book.
admin.site.unregister([Group, EmailAddress, UserSession, Authenticator])


@admin.register(Member)
class MemberAdmin(admin.ModelAdmin):
    """Members join by invitation and are never deleted: what they logged stays. Passwords are not shown.

    Nor may an address be changed here: whoever could have sign-in codes sent to an address of theirs could
    read that member's costs. Roles and leaving have pages of their own, which keep the last coordinator.
    """

    fields = ["email", "name", "role", "grade", "joined_on", "left_on", "last_login"]
    readonly_fields = ["email", "role", "left_on", "last_login"]
    list_display = ["name", "email", "role", "grade", "joined_on", "left_on"]
    list_filter = ["role", "grade"]
    search_fields = ["name", "email"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(Cooperative)
class CooperativeAdmin(admin.ModelAdmin):
    """The one row of settings."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return not Cooperative.objects.exists()

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False


@admin.register(Invitation)
class InvitationAdmin(admin.ModelAdmin):
    """To be read: sending and withdrawing belong to the book's own pages."""

    fields = [
        "email",
        "name",
        "role",
        "grade",
        "invited_by",
        "created_at",
        "expires_at",
        "accepted_at",
        "withdrawn_at",
    ]
    list_display = ["name", "email", "invited_by", "expires_at", "accepted_at", "withdrawn_at"]
    list_select_related = ["invited_by"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object = None) -> bool:
        return False
