"""For every template: filters for money, numbers and days, and the named slots of the settings."""

from django import template
from django.conf import settings
from django.template.context import RequestContext

from config import showing
from config.request_id import current_request_id
from config.site import page

register = template.Library()

for _name in ("pounds", "pence_as_pounds", "whole", "day", "month", "hours", "in_words"):
    register.filter(_name, getattr(showing, _name))
register.filter("span", showing.span_of)

register.simple_tag(page)
register.simple_tag(current_request_id)


@register.simple_tag(takes_context=True)
def part(context: RequestContext, name: str) -> str:
    """Render the part of a page that ``settings.PARTS`` has under this name."""
    found = context.template.engine.get_template(settings.PARTS[name])  # type: ignore[union-attr]
    # Names that the part sets must not reach the page around it.
    with context.push():
        return found.render(context)
