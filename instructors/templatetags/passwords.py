"""What a password must be, said beside every field that asks for a new one."""

from django import template

from instructors.signing_in.passwords import RULES

register = template.Library()


@register.simple_tag
def password_rules() -> str:
    return RULES
