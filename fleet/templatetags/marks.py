"""How templates show registration marks."""

from django import template

from fleet.core import registration

register = template.Library()

register.filter("mark", registration.show)
