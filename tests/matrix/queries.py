"""Query strings that ask for what is none of the asker's business."""

from types import SimpleNamespace
from urllib.parse import urlencode

from tests.matrix.world import NO_ID

#: A question about columns that no page shows, put so that the answer is yes, and so that it is no: where a filter of
#: the address reached the database, the two pages would not be alike.
LOOKUPS = (
    {"password__startswith": "md5", "member__password__startswith": "md5", "costentry__isnull": "0"},
    {"password__startswith": "none", "member__password__startswith": "none", "costentry__isnull": "1"},
)


def lookups(its: SimpleNamespace) -> tuple[str, str]:
    """The same questions with somebody's own address and id, and with nobody's."""
    yes, no = LOOKUPS
    yes = yes | {"email": its.member.email, "member": its.member.pk, "keeper": its.member.pk, "id": its.car.pk}
    no = no | {"email": "nobody@book.example", "member": NO_ID, "keeper": NO_ID, "id": NO_ID}
    return urlencode(yes), urlencode(no)


def tampered(its: SimpleNamespace) -> str:
    """Every filter that some page of the book has, pointed at somebody's things, and a way out of the site."""
    return urlencode(
        {
            "of": its.member.pk,
            "kept_by": its.member.pk,
            "q": "a",
            "state": "unknown",
            "member": its.member.pk,
            "by": its.member.email,
            "car": its.car.registration,
            "cost": its.cost_ref,
            "ref": its.cost_ref,
            "kind": "cost",
            "category": "insurance",
            "voided": "1",
            "page": "2",
            "month": "2026-01",
            "from": "2024-01-01",
            "to": "2026-03-16",
            "first": "2024-01-01",
            "last": "2026-03-16",
            "within": "90",
            "format": "json",
            "next": "https://elsewhere.example/",
        }
    )
