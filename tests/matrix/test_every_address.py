"""Every address, asked by everybody by every method: who is let in, who learns what, and what is written."""

from typing import Any

import pytest
from django.urls import get_resolver

from tests.matrix.asking import Asker
from tests.matrix.forms import form_on
from tests.matrix.looking import READS, Look
from tests.matrix.queries import lookups, tampered
from tests.matrix.roles import EVERYBODY
from tests.matrix.rows import METHODS, Row, addresses_of
from tests.matrix.table import TABLE

every_row = pytest.mark.parametrize("row", TABLE, ids=str)


def test_every_address_has_its_row() -> None:
    addresses, rows = set(addresses_of(get_resolver().url_patterns)), [row.name for row in TABLE]
    without, gone = sorted(addresses - set(rows)), sorted(set(rows) - addresses)
    assert not without, f"say in tests/matrix/table who may do what at {', '.join(without)}"
    assert not gone, f"there are rows of addresses that are gone: {', '.join(gone)}"
    assert len({str(row) for row in TABLE}) == len(TABLE)


@every_row
def test_reading(asker: Asker, row: Row) -> None:
    """Whoever is let in sees their own alone, whoever is not learns nothing, and nothing is written."""
    look, its, nothing = Look(asker, row), asker.world.now, asker.world.nothing
    for role in EVERYBODY:
        expected = [row.expected(role, "GET", its)]
        page = look.ask(role, "GET", its, expected)
        if not row.is_slow or page.status != 200:
            look.ask(role, "HEAD", its, expected)
        if not row.is_slow and page.status != 404:
            look.ask(role, "GET", its, expected, htmx=True)
        if not row.args:
            continue
        # What leads on, leads whoever is let in to what is theirs.
        is_alike = page.status not in (200, 302) or row.is_blind
        if is_alike and look.ask(role, "GET", nothing, expected).lasting != page.lasting:
            look.note(f"{role}: what is not theirs looks other than what is not there")
        before = asker.world.before
        look.ask(role, "GET", before, [row.expected(role, "GET", before)])
    assert look.faults == []
    assert not look.written, "a GET never writes"
    assert not look.logged


@every_row
def test_query_strings(asker: Asker, row: Row) -> None:
    """No filter reaches further than the page itself, and none that a page does not have does anything."""
    look, its = Look(asker, row), asker.world.now
    for role in EVERYBODY:
        expected = row.expected(role, "GET", its)
        if expected not in (200, 404):
            continue
        for query in row.queries if expected == 200 else ():
            look.ask(role, "GET", its, [200, 302, 303], query=query.format(its=its))
        if row.is_slow and expected == 200:
            continue
        look.ask(role, "GET", its, [expected, 302, 303, 404], query=tampered(its))
        if expected != 200:
            continue
        yes, no = lookups(its)
        answers = [look.ask(role, "GET", its, [expected], query=query) for query in (yes, no)]
        pages = {answer.lasting.replace(query, "") for answer, query in zip(answers, (yes, no), strict=True)}
        if len(pages) > 1:
            look.note(f"{role}: a filter of the address is answered")
    assert look.faults == []


@every_row
def test_writing(asker: Asker, row: Row) -> None:
    """Only whoever is let in writes, empty or filled in; nobody touches anybody else's money."""
    look, its, nothing = Look(asker, row), asker.world.now, asker.world.nothing
    filled_in = _filled_in(look)
    for role in EVERYBODY:
        expected = row.expected(role, "POST", its)
        is_in = role in row.who(its)
        if expected not in (404, 405):
            look.ask(role, "POST", its, [expected, *([200] if is_in else [])], htmx=True)
        answers = [look.ask(role, "POST", its, [expected])]
        if filled_in is not None:
            done = [expected] if not is_in else [row.done] if role == row.doer(its) else [row.done, row.post, 200]
            answers.append(look.ask(role, "POST", its, done, data=filled_in, query=row.form_at))
            if role == row.doer(its) and not answers[-1].written and row.writes:
                look.note(f"{role}: what was filled in wrote nothing")
        if row.args and not is_in:
            other = look.ask(role, "POST", nothing, [expected], data=filled_in)
            if {answer.lasting for answer in answers} != {other.lasting}:
                look.note(f"{role}: what is not theirs is answered otherwise than what is not there")
    assert look.faults == []
    assert not look.logged


def _filled_in(look: Look) -> dict[str, Any] | None:
    """The page's own form as whoever may use it would send it; None where there is nothing to send."""
    row, its = look.row, look.asker.world.now
    if row.done is None:
        return None
    doer = row.doer(its)
    page = look.ask(doer, "GET", its, [row.get], query=row.form_at) if row.get == 200 else None
    return {**(form_on(page.body, row.address(its)) if page else {}), **row.typed_by(its)}


@every_row
def test_other_methods(asker: Asker, row: Row) -> None:
    """What a row does not name is refused, by whomever it is asked."""
    look, its = Look(asker, row), asker.world.now
    for role in EVERYBODY:
        for method in METHODS:
            if method not in (*READS, "POST") or (method in READS and row.get == 405):
                look.ask(role, method, its, [row.expected(role, method, its)])
    assert look.faults == []
    assert not look.logged
