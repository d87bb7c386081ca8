"""The addresses of the cars, what falls due on them, and what is told of it."""

from collections.abc import Sequence
from typing import Any

from tests.matrix.rows import (
    AHEAD,
    MARK,
    Its,
    Row,
    anybody,
    coordinators,
    holder,
    id_of,
    lookers,
    members,
    of_car,
    owner,
    recorder,
)


def first_group(its: Its) -> Sequence[Any]:
    """The mark of somebody's car, and the first group of a check that is not in the book yet."""
    return (its.car.registration, "7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11", "outside")


JUDGED = {"severity": "watch", "words": "W", "done_by": "W"}
MENDED = {"words": "Mended", "done_by": "W", "amount": "54.85"}

FLEET = [
    Row(
        "fleet:car-list",
        members,
        queries=["within=30", "out-of-service=1", "q=a", "kept_by={its.member.pk}", "kind=mot&state=unknown", "page=2"],
    ),
    Row("fleet:car", lookers, MARK),
    Row(
        "fleet:car-hand-over",
        coordinators,
        MARK,
        post=200,
        done=303,
        typed=lambda its: {"keeper": its.other.pk, "odometer": "44900"},
        # Both keepers are told by mail of each other, and the taker of what is wrong with the car.
        tells=[
            "name of stranger",
            "name of keeper",
            "MOT's finding to stranger",
            "defect to stranger",
            "danger that is over to stranger",
            "vehicle_tax, day to stranger",
        ],
    ),
    Row(
        "fleet:member-leave",
        coordinators,
        id_of("member"),
        post=200,
        done=303,
        asks_who_first=True,
        ends=["CalendarFeed"],
        typed=lambda its: {f"becomes_{its.car.pk}": "nobody", f"odometer_{its.car.pk}": "44900"},
    ),
    Row("fleet:car-correct", lookers, MARK, post=200, done=303, typed={"description": "Blue"}),
    # The cars here have a danger that waits: a keeper cannot take such a car out of service.
    Row("fleet:car-service", lookers, MARK, post=200, done=303, writes=False),
    Row("fleet:check-record", lookers, MARK, get=302),
    Row("fleet:check-group", lookers, first_group, post=200, done=303),
    Row("fleet:check-list", lookers, MARK, queries=["page=2"]),
    Row("fleet:car-remind", coordinators, MARK, get=405, post=303, done=303),
    Row(
        "fleet:due-item-add",
        lookers,
        MARK,
        post=200,
        done=303,
        form_at="kind=other",
        typed={"due_on": AHEAD, "note": "Lease ends"},
        queries=["kind=other", "kind=mot"],
    ),
    Row("fleet:ready", lookers, MARK, post=200, done=303, typed={"tuition_insurance": "yes"}),
    Row("fleet:ready-sheet", lookers, lambda its: (its.car.registration, "teach"), is_slow=True),
    Row("fleet:mot-first", lookers, MARK, get=405, post=303, done=303, writes=False),
    Row("fleet:mot-findings", lookers, MARK),
    Row("fleet:odometer-add", lookers, MARK, post=200, done=303, typed={"miles": "44900"}),
    Row("fleet:readings", lookers, MARK, queries=["page=2"]),
    Row(
        "fleet:reading-correct",
        lookers,
        of_car("reading"),
        post=200,
        done=303,
        typed=lambda its: {"miles": its.reading.miles + 1},
    ),
    Row("fleet:reading-remove", lookers, of_car("reading"), post=303, done=303),
    Row("fleet:defect-report", lookers, MARK, post=200, done=303, typed={"description": "A chip", "severity": "watch"}),
    Row("fleet:defect", lookers, id_of("defect")),
    Row("fleet:defect-take-in-hand", lookers, id_of("defect"), post=303, done=303),
    Row(
        "fleet:defect-reassess",
        lookers,
        id_of("defect"),
        post=200,
        done=303,
        typed={"severity": "watch", "words": "W", "done_by": "W"},
    ),
    Row(
        "fleet:defect-close",
        lookers,
        id_of("defect"),
        post=200,
        done=303,
        typed={"words": "Mended", "done_by": "W", "amount": "54.85"},
    ),
    # Whoever holds the link sees that one defect; whoever recorded it is told that it takes somebody else.
    Row(
        "fleet:defect-confirm",
        members,
        lambda its: (its.put_right_token,),
        post=200,
        tells=["danger", "name of", "mark", "registration"],
    ),
    Row("fleet:defect-reopen", lookers, id_of("mended"), post=200, done=303, typed={"words": "Again"}),
    Row("fleet:photo", owner, id_of("paper")),
    Row("fleet:check-points", members),
    Row(
        "fleet:check-point-add",
        coordinators,
        post=200,
        done=303,
        typed={"words": "Sign on the roof"},
    ),
    Row("fleet:check-point-retire", coordinators, id_of("point"), get=405, post=303, done=303),
    Row("fleet:tread", lookers, MARK),
    Row("fleet:tread-add", lookers, MARK, post=200, done=303, typed={"front_left_inner": "4.8"}),
    Row("fleet:tyres-replaced", lookers, MARK, post=200, done=303, typed={"wheels": ["front_left"]}),
    Row("fleet:tyres-rotated", lookers, MARK, post=200, done=303, typed={"pattern": "crosswise"}),
    Row("fleet:car-add", members, post=200, done=303, typed={"registration": "QA58NEW", "fuel": "petrol"}),
    Row("fleet:month", members, queries=["month=2026-10", "month=1"]),
    Row("fleet:due-day", members, lambda its: (AHEAD,)),
    Row("fleet:board-sheet", members, post=303, queries=["within=30", "q=a&state=off"], is_slow=True),
    Row("fleet:due-item-correct", lookers, id_of("service"), post=200, done=303, typed={"due_on": AHEAD}),
    Row(
        "fleet:due-item-complete",
        lookers,
        id_of("service"),
        post=200,
        done=303,
        typed={"amount": "54.85"},
        queries=["cost={its.cost_ref}"],
    ),
    *(
        Row(name, recorder, id_of(thing), post=200, done=303, typed=typed)
        for name, thing, typed in (
            ("fleet:check-correct", "check", {"note": "Done"}),
            ("fleet:check-void", "check", {"reason": "Twice"}),
            ("fleet:completion-correct", "completion", {"note": "Done"}),
            ("fleet:completion-void", "completion", {"reason": "Twice"}),
        )
    ),
    *(
        Row(name, holder, id_of(thing), post=200, done=303, typed=typed, of="a credential")
        for name, thing, typed in (
            ("fleet:due-item-correct", "credential", {"due_on": AHEAD}),
            ("fleet:due-item-complete", "credential", {"next_due_on": "2030-03-15"}),
            ("fleet:due-item-book", "credential", {"booked_for": AHEAD}),
            ("fleet:completion-correct", "renewal", {"note": "Done"}),
            ("fleet:completion-void", "renewal", {"reason": "Twice"}),
        )
    ),
    Row("fleet:mot-fail", lookers, id_of("mot"), post=200, done=303, typed={"major": "Worn", "amount": "54.85"}),
    Row("fleet:due-item-book", lookers, id_of("service"), post=200, done=303, typed={"booked_for": AHEAD}),
    Row("fleet:profile", members),
    Row(
        "fleet:credential-add",
        members,
        post=200,
        done=303,
        form_at="kind=driving_licence",
        typed={"due_on": AHEAD},
        queries=["kind=driving_licence", "kind=adi_registration"],
    ),
    Row("fleet:reminder-choices", members, post=303, done=303),
    Row("fleet:calendar-feeds", members, post=404, done=200, typed={"scope": "own"}),
    Row("fleet:calendar-feed-revoke", owner, id_of("feed"), get=405, post=303, done=303),
    # A mail program sends it by itself, whoever is signed in beside it.
    Row("fleet:log-mail-off", anybody, lambda its: (its.log_mail_token,), post=200, done=200),
    # Whoever holds the secret is let in: a calendar program cannot sign in.
    Row("fleet:calendar-feed", anybody, lambda its: (its.feed_token,), tells=["day", "mark", "registration", "note"]),
    Row("fleet:reminder-log", coordinators),
    Row("fleet:health", anybody, post=200),
    Row("fleet:health-live", anybody),
    Row("fleet:health-ready", anybody),
]
