"""The filters every template has: one way to show money, numbers and days."""

from django import template

from config import showing

register = template.Library()

for _name in ("pounds", "pence_as_pounds", "whole", "day", "month", "hours"):
    register.filter(_name, getattr(showing, _name))
