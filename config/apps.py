"""The admin, opened to coordinators."""

from django.contrib.admin.apps import AdminConfig


class BookAdminConfig(AdminConfig):
    default_site = "config.admin.CoordinatorSite"
