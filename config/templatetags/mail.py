"""For templates of mails in HTML: what each part wears."""

from django import template
from django.utils.html import format_html

from config.look import mail

register = template.Library()


@register.simple_tag
def dress(name: str) -> str:
    """The class and the style of a part (``config.look.mail.DRESSES``): the class is for the dark scheme."""
    return format_html('class="{}" style="{}"', name, mail.style_of(name))


@register.simple_tag
def dark_rules() -> str:
    """The rules in a mail's head that put its parts into the dark scheme."""
    return mail.dark_rules()
