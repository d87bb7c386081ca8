"""The first page. Today is Monday 16 March 2026."""

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import GroupFigure
from costing.queries.dismissals import Kept
from costing.views import home
from costing.wording.lines import Line
from fleet.actions import close_defect
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    DefectFactory,
    DueItemFactory,
    FillFactory,
    GroupFigureFactory,
    MemberFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    TreadReadingFactory,
)
from tests.fleet.defects import done

HOME = reverse("costing:home")
#: What the page may ask of the database, with the session and the member; a coordinator sees all cars.
MOST_QUERIES = {"keeper": 14, "coordinator": 18}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def _february_is_closed(db: None) -> None:
    GroupFigureFactory()
    GroupFigureFactory(span="year", contributor_count=4, median_cost_per_lesson_hour=None, median_cost_per_mile=None)


def nothing_due(car: Car) -> None:
    """All that every car must have runs for months."""
    for kind, due_on in (("mot", "2026-10-03"), ("vehicle_tax", "2026-09-30"), ("insurance", "2026-08-31")):
        DueItemFactory(car=car, kind=kind, due_on=due_on)


def page_of(client: Client) -> str:
    return client.get(HOME).content.decode()


def head_of(page: str) -> str:
    """The words of the page's one h1."""
    [head] = re.findall(r"<h1.*?</h1>", page, re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", head).split())


# --- The verdict ------------------------------------------------------------------------------------------


def test_nothing_against_a_car_is_said_only_if_nothing_is_due_unknown_or_open(
    everyone: dict[str, Client], car: Car
) -> None:
    nothing_due(car)
    FillFactory(car=car, filled_on="2026-03-12")
    head = head_of(page_of(everyone["keeper"]))
    assert head == "Nothing against QA51 ABC. Insurance runs out on 31 August. Logged up to Thursday."
    DefectFactory(car=car, severity="watch", description="Chip in the windscreen")
    assert head_of(page_of(everyone["keeper"])).startswith("Keep an eye on: Chip in the windscreen. Insurance")


def test_what_presses_most_is_the_first_sentence_and_the_next_day_the_second(
    everyone: dict[str, Client], car: Car
) -> None:
    nothing_due(car)
    DueItemFactory(car=car, kind="service", due_on="2026-04-09")
    assert head_of(page_of(everyone["keeper"])) == (
        "Service due in 24 days. Insurance runs out on 31 August. Nothing is logged yet."
    )


def test_what_is_not_known_is_named_and_never_fine(everyone: dict[str, Client], car: Car) -> None:
    page = page_of(everyone["keeper"])
    assert head_of(page) == "Not known: MOT, insurance, vehicle tax. Nothing is logged yet."
    assert "Nothing against" not in page


def test_what_is_overdue_comes_next_after_what_is_not_known(everyone: dict[str, Client], car: Car) -> None:
    """The car's page says so, and home must not skip it for a day that is months away."""
    nothing_due(car)
    DueItemFactory._meta.model.objects.filter(car=car, kind="mot").update(due_on=None)
    DueItemFactory(car=car, kind="breakdown_cover", due_on="2026-03-11")
    assert head_of(page_of(everyone["keeper"])) == (
        "Not known: MOT. Breakdown cover ran out 5 days ago. Nothing is logged yet."
    )


def test_each_sentence_opens_its_own_place(everyone: dict[str, Client], car: Car) -> None:
    nothing_due(car)
    FillFactory(car=car, filled_on="2026-03-16")
    [head] = re.findall(r"<h1.*?</h1>", page_of(everyone["keeper"]), re.DOTALL)
    assert re.findall(r'a href="([^"]+)"', head) == ["/cars/QA51ABC/", "/cars/QA51ABC/#due", "/entries/"]
    assert "Logged up to today." in head


def test_a_registration_that_has_lapsed_is_said_before_the_next_day(everyone: dict[str, Client], car: Car) -> None:
    nothing_due(car)
    DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on="2026-03-01")
    assert (
        "Nothing against QA51 ABC. No paid lessons: ADI registration ran out 15 days ago. Insurance runs out"
    ) in head_of(page_of(everyone["keeper"]))


def test_with_two_cars_each_has_its_verdict_the_worst_first(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    nothing_due(car)
    second = CarFactory(registration="QA51SEC", keeper=keeper)
    nothing_due(second)
    DueItemFactory(car=second, kind="service", due_on="2026-03-23")
    page = page_of(everyone["keeper"])
    assert head_of(page).startswith("QA51 SEC: Service due in 7 days. Nothing against QA51 ABC. Insurance")
    # With one car the knob opens its check; with two, the list of them.
    assert reverse("fleet:check-record", args=["QA51SEC"]) not in page


def test_a_car_off_the_road_is_said_first_with_its_reasons_and_the_ways_back(
    everyone: dict[str, Client], car: Car
) -> None:
    nothing_due(car)
    tax = DueItemFactory(car=car, kind="breakdown_cover", due_on="2026-03-12")
    DueItemFactory._meta.model.objects.filter(car=car, kind="insurance").update(due_on=date(2026, 3, 12))
    defect = DefectFactory(car=car, severity="dangerous", description="Brake hose weeps")
    TreadReadingFactory(car=car, inner="1.5")
    page = page_of(everyone["keeper"])
    assert head_of(page) == "QA51 ABC is off the road."
    stop = page[page.index('class="stop"') :]
    places = [
        stop.index("Dangerous, do not drive: Brake hose weeps"),
        stop.index("Front left tyre: less than 1.6 mm of tread"),
        stop.index("Insurance ran out on 12 March 2026"),
        stop.index("Logged up to" if "Logged up to" in stop else "Nothing is logged yet"),
    ]
    assert places == sorted(places)
    for way in (reverse("fleet:defect", args=[defect.pk]), reverse("fleet:tread", args=["QA51ABC"])):
        assert f'href="{way}"' in stop
    # What is overdue without stopping the car is no reason.
    assert reverse("fleet:due-item-complete", args=[tax.pk]) not in stop
    assert "Nothing against" not in page


def known_from_the_first(car: Car) -> None:
    """A first brim, and no lessons, on the day that the car came into service."""
    day = car.in_service_from
    FillFactory(car=car, filled_on=day, odometer=21_400, amount=0)
    TeachingRecordFactory(car=car, from_on=day, to_on=day, lesson_count=0, minutes=0, private_miles=0)


def test_a_danger_put_right_that_waits_asks_who_has_seen_it(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    nothing_due(car)
    defect = DefectFactory(car=car, severity="dangerous", description="Brake hose weeps")
    assert ">Put right<" in page_of(everyone["keeper"])
    close_defect(by=keeper, defect=defect, **done())
    page = page_of(everyone["keeper"])
    assert head_of(page) == "QA51 ABC is off the road."
    assert ">Who has seen it?<" in page
    assert ">Put right<" not in page


# --- The mirror -------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("_february_is_closed")
def test_the_mirror_and_the_table_behind_it_say_the_same(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    known_from_the_first(car)
    page = shown(everyone["keeper"], HOME)
    # February's tank of £60, and of January's of £55, bought after 754 days, 337 days; over 36 hours.
    mirror = page[page.index("£2.35 a lesson hour, 12 months to February") :]
    assert "February 2026: £1.67" in mirror
    assert "January 2026: not known" in mirror
    behind = ": its statement"
    assert f"Feb 2026 {behind} £1.67 £6.80 £1.67 12 months {behind} £2.35 not shown £2.35" in mirror


@pytest.mark.usefixtures("_february_is_closed")
def test_the_title_of_the_picture_is_the_finding(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    known_from_the_first(car)
    page = page_of(everyone["keeper"])
    assert "12 months to February 2026: a lesson hour cost £2.35</title>" in page
    GroupFigure.objects.filter(span="year").delete()
    GroupFigureFactory(span="year", median_cost_per_lesson_hour="3.40")
    page = page_of(everyone["keeper"])
    apart = "about £1.10 below the group’s £3.40"
    assert f"12 months to February 2026: a lesson hour cost £2.35, {apart} (rounded to 20p)</title>" in page
    # The card says it too, of the same 12 months; in the picture both figures are of February.
    assert f'<p class="quiet small">A{apart[1:]}, rounded</p>' in page
    for own_or_group, pence in (("You", "1.67"), ("Group", "6.80")):
        assert re.search(rf">{own_or_group}</text>\s*<text[^>]*>{pence}</text>", page)
    assert len(set(re.findall(r'<svg[^>]*aria-labelledby="([^"]+)"', page))) == len(
        re.findall(r'<svg[^>]*aria-labelledby="', page)
    )


@pytest.mark.usefixtures("_february_is_closed")
def test_each_column_opens_its_months_statement(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    known_from_the_first(car)
    page = page_of(everyone["keeper"])
    [narrow, wide] = re.findall(r'<svg class="chart"[^>]*aria-labelledby="months-.*?</svg>', page, re.DOTALL)
    for drawing in (narrow, wide):
        assert 'role="group"' in drawing
        columns = re.findall(r'<a href="([^"]+)" aria-label="([^"]+)"><title>', drawing)
        assert len(columns) == 12
        to, words = columns[-1]
        assert words == "February 2026: £1.67"
        assert to == f"{reverse('costing:statement')}?first=2026-02-01&amp;last=2026-02-28"
    statement = shown(everyone["keeper"], to.replace("&amp;", "&"))
    assert "February 2026" in statement
    assert "£1.67" in statement
    # The table behind the picture has the same link, for whoever finds a column too narrow.
    assert f'<a href="{to}">Feb 2026<span class="sr">: its statement</span></a>' in page


def test_the_mark_of_a_dear_month_names_what_was_dearest_in_it(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    known_from_the_first(car)
    for number in range(1, 4):
        month = add_months(date(2025, 10, 1), number - 1)
        last = add_months(month, 1) - timedelta(days=1)
        TeachingRecordFactory(car=car, from_on=month, to_on=last, minutes=36 * 60, private_miles=0)
        FillFactory(car=car, filled_on=last, odometer=40_000 + number * 1_000, unit="litre", amount="60.00")
    CostEntryFactory(car=car, category="repairs", paid_on="2026-02-04", amount="475.50")
    CostEntryFactory(car=car, category="servicing", paid_on="2026-02-03", amount="120.00")
    page = page_of(everyone["keeper"])
    assert re.search(r"<text[^>]*>repairs</text>", page)
    assert not re.search(r"<text[^>]*>service</text>", page)
    assert ">Service, repairs</th>" in page


def test_each_slice_opens_entries_that_add_up_to_it(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    known_from_the_first(car)
    CostEntryFactory(car=car, category="servicing", paid_on="2026-02-03", amount="120.00")
    CostEntryFactory(car=car, category="repairs", paid_on="2026-02-04", amount="75.50")
    CostEntryFactory(car=car, category="insurance", covers_from="2025-09-01", covers_to="2026-08-31", amount="911.37")
    page = page_of(everyone["keeper"])
    february = page[page.index(">Feb 2026<") : page.index(">12 months<")]
    slices = re.findall(r'<td class="num"><a href="(/entries/behind/[^"]+)">£([\d.]+)</a>', february)
    assert [re.findall(r"category=([\w-]+)", to)[0] for to, _ in slices] == ["fuel", "insurance", "all-service"]
    # Thirty hours, and a sixth of the miles private.
    for_an_hour = Decimal(5) / 6 / 30
    for to, figure in slices:
        behind = everyone["keeper"].get(to.replace("&amp;", "&")).content.decode()
        [total] = re.findall(r"add up to <b>£([\d.,]+)</b>, which is the figure", behind)
        parts = [Decimal(part) for part in re.findall(r'<span class="num">£([\d.]+)</span>', behind)]
        assert sum(parts) == Decimal(total)
        # A slice is its group's part of the lesson hour, a penny off at most.
        assert abs(Decimal(total) * for_an_hour - Decimal(figure)) <= Decimal("0.01")
    assert "Service and repairs, February 2026" in shown(everyone["keeper"], slices[2][0].replace("&amp;", "&"))


@pytest.mark.usefixtures("_february_is_closed")
def test_a_figure_that_is_missing_is_neither_nothing_nor_a_guess(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-02-10", odometer=48_000)
    page = shown(everyone["keeper"], HOME)
    assert "What a lesson hour costs you will show here" in page
    assert "What February 2026 lacks" in page
    assert "No lessons logged" in page
    assert "£0.00" not in page


def test_other_periods_are_one_tap_away(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = page_of(everyone["keeper"])
    assert f'href="{reverse("costing:statement")}?car=QA51ABC"' in page
    assert page.count(f'class="go" href="{reverse("costing:group")}"') == 1


# --- What is to come --------------------------------------------------------------------------------------


def test_what_falls_due_stands_on_the_road_and_in_rows_nearest_first(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="mot", due_on="2026-03-23")
    DueItemFactory(car=car, kind="vehicle_tax", due_on="2026-06-30")
    DueItemFactory(car=car, kind="service", due_on="2026-03-01")
    DueItemFactory(car=None, member=car.keeper, kind="driving_licence", due_on="2026-05-01")
    page = shown(everyone["keeper"], HOME)
    ahead = page[page.index("Ahead All that is due") :]
    assert "Service 1 Mar, 15 days ago; MOT 23 Mar, 7 days ahead; Driving licence photocard 1 May" in ahead
    rows = ahead[ahead.index("Service 1 March 2026, 15 days overdue") :]
    assert re.findall(r"Service|Insurance|MOT|photocard|Vehicle tax", rows.partition("Today")[0])[:1] == ["Service"]
    places = [rows.index(words) for words in ("Insurance Nothing is recorded", "MOT 23 March 2026, in 7 days", "1 May")]
    assert places == sorted(places)
    # Beyond the twelve weeks.
    assert "30 June" not in ahead


def test_nothing_recorded_leaves_the_road_empty(everyone: dict[str, Client], car: Car) -> None:
    nothing_due(car)
    page = shown(everyone["keeper"], HOME)
    assert "Nothing falls due in the next twelve weeks." in page
    assert "Nothing that is recorded falls due in the next twelve weeks." in page


# --- A newcomer -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["coordinator", "stranger"])
def test_whoever_has_no_car_is_led_to_enter_one(everyone: dict[str, Client], who: str) -> None:
    page = page_of(everyone[who])
    assert head_of(page) == "You have no car in the book."
    assert reverse("fleet:car-add") in page
    assert 'class="gate"' not in page
    assert "What a lesson hour costs you will show here" in page


def test_what_to_do_first_goes_as_it_is_done(everyone: dict[str, Client], car: Car) -> None:
    client = everyone["keeper"]

    def steps() -> list[str]:
        page = page_of(client)
        _, found, rest = page.partition('id="first"')
        return re.findall(r'class="go"[^>]*>([^<]+)<', rest.partition("</section>")[0]) if found else []

    assert steps() == ["First reading", "First fill", "MOT day", "First lessons", "How you hold the car"]
    OdometerReadingFactory(car=car)
    DueItemFactory(car=car, kind="mot", due_on="2026-10-03")
    assert steps() == ["First fill", "First lessons", "How you hold the car"]
    teach_february(CarFactory(registration="QA51SEC", keeper=car.keeper))
    assert "QA51 ABC: First fill" in steps()
    assert "QA51 SEC: MOT day" in steps()


def test_once_all_is_entered_nothing_is_left_to_begin_with(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    nothing_due(car)
    assert "To begin with" not in page_of(everyone["keeper"])


# --- A coordinator ----------------------------------------------------------------------------------------


def test_a_coordinator_sees_first_which_cars_must_not_be_used_and_why(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    nothing_due(colleague_car)
    DefectFactory(car=car, severity="dangerous", description="Brake hose weeps")
    DueItemFactory(car=car, kind="mot", due_on="2026-03-10")
    page = shown(everyone["coordinator"], HOME)
    assert head_of(page_of(everyone["coordinator"])) == "1 of 2 cars is off the road."
    assert "QA51 ABC Wren Applegarth Dangerous, do not drive: Brake hose weeps; MOT ran out on 10 March 2026" in page
    for who in ("keeper", "colleague"):
        assert "of 2 cars" not in shown(everyone[who], HOME)


def test_a_coordinator_sees_what_falls_due_next_and_may_remind(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    nothing_due(car)
    DueItemFactory(car=car, kind="service", due_on="2026-03-23")
    page = page_of(everyone["coordinator"])
    words = shown(everyone["coordinator"], HOME)
    ahead = words[words.index("Ahead, the co-op All 2 cars") :]
    assert "QA51 ABC Wren Applegarth Service due in 7 days" in ahead
    assert "QB02 XYZ Ελπίδα Καραβίδα Nothing is recorded for it" in ahead
    assert page.count(f'action="{reverse("fleet:car-remind", args=["QA51ABC"])}"') == 1
    assert page.count(f'action="{reverse("fleet:car-remind", args=["QB02XYZ"])}"') == 1
    # Nothing at all is recorded of one: it is named instead of having a lane.
    assert "No lane yet, as nothing is recorded for it: QB02 XYZ" in words
    assert "QA51 ABC: Service 23 Mar" in words
    assert "Insurance runs out" not in ahead
    DueItemFactory(car=colleague_car, kind="mot")
    assert "QB02 XYZ Ελπίδα Καραβίδα Not known: insurance, vehicle tax" in shown(everyone["coordinator"], HOME)


def test_nobody_is_reminded_of_what_is_booked(everyone: dict[str, Client], car: Car) -> None:
    nothing_due(car)
    DefectFactory(car=car, severity="watch")
    item = DueItemFactory(car=car, kind="service", due_on="2026-03-23")
    remind = f'action="{reverse("fleet:car-remind", args=["QA51ABC"])}"'
    assert remind in page_of(everyone["coordinator"])
    item.booked_for = date(2026, 3, 19)
    item.save()
    page = page_of(everyone["coordinator"])
    assert "Service booked for Thursday" in page
    assert remind not in page


def test_a_coordinators_own_car_has_its_verdict_and_its_gate(
    everyone: dict[str, Client], coordinator: Member, colleague_car: Car
) -> None:
    own = CarFactory(registration="QA51OWN", keeper=coordinator)
    nothing_due(own)
    nothing_due(colleague_car)
    page = page_of(everyone["coordinator"])
    assert head_of(page).startswith("Nothing against QA51 OWN.")
    assert reverse("fleet:check-record", args=["QA51OWN"]) in page
    # Off the road for everybody to see, and once with the ways back.
    DefectFactory(car=own, severity="dangerous")
    page = page_of(everyone["coordinator"])
    assert head_of(page) == "QA51 OWN is off the road."
    assert "cars is off the road" not in page


def test_what_looks_odd_is_said_at_the_head_of_the_page(everyone: dict[str, Client], car: Car) -> None:
    assert "look odd" not in shown(everyone["keeper"], HOME)
    for first, last in (("2025-03-10", "2025-11-09"), ("2026-02-10", "2027-02-09")):
        CostEntryFactory(car=car, category="insurance", paid_on=first, covers_from=first, covers_to=last)
    page = page_of(everyone["keeper"])
    assert "One thing looks odd: insurance." in head_of(page)
    assert f'<a href="{reverse("costing:odd-list")}">' in page
    for who in ("colleague", "coordinator"):
        assert "looks odd" not in shown(everyone[who], HOME)


def test_the_pot_and_what_is_left_have_a_line_once_they_are_kept(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(home, "pot_line", lambda *_, **__: Line("£63 a week for the pot: £140 behind", "/pot/", "cost"))
    left = Line("£21.40 an hour is left after the car", "/takings/", "lessons")
    monkeypatch.setattr(home, "left_line", lambda *_, **__: left)
    pages = {
        "costing:pot": "£63 a week for the pot: £140 behind.",
        "costing:takings": "£21.40 an hour is left after the car.",
    }
    kept = {"costing:pot": (False, True), "costing:takings": (True, False)}
    for page, words in pages.items():
        has_takings, has_pot = kept[page]
        found = Kept(frozenset(), has_pot=has_pot, has_takings=has_takings)
        monkeypatch.setattr(home, "kept_by", lambda _, found=found: found)
        assert f'<a class="go" href="{reverse(page)}">{words}</a>' in page_of(everyone["keeper"])
    monkeypatch.setattr(home, "kept_by", lambda _: Kept(frozenset(), has_pot=False, has_takings=False))
    page = page_of(everyone["keeper"])
    assert all(words not in page for words in pages.values())


def test_a_coordinator_is_told_how_many_have_logged_nothing_for_two_weeks_and_never_who(
    everyone: dict[str, Client], car: Car, colleague_car: Car, coordinator: Member
) -> None:
    quiet = "logged nothing for two weeks"
    for _ in range(2):
        FillFactory(car=CarFactory(), filled_on="2026-03-14")
    # Of four it would be plain who is meant; nor does whoever looks count, nor anybody who could have been invented.
    CarFactory(keeper=coordinator)
    invented = FillFactory(car=CarFactory(keeper=MemberFactory(joined_on="2025-12-17")), filled_on="2026-03-14")
    assert quiet not in shown(everyone["coordinator"], HOME)
    Member.objects.filter(pk=invented.car.keeper_id).update(joined_on=date(2025, 12, 16))
    assert "Two members have logged nothing for two weeks." in shown(everyone["coordinator"], HOME)
    FillFactory(car=car, filled_on="2026-03-03")
    page = shown(everyone["coordinator"], HOME)
    assert "One member has logged nothing for two weeks." in page
    [line] = re.findall(rf"<li>(?:(?!<li>).)*{quiet}.*?</li>", page_of(everyone["coordinator"]), re.DOTALL)
    assert colleague_car.keeper.name not in line
    assert "<a " not in line
    # Of today is of yesterday's fortnight: the 2nd is two weeks ago, and the 3rd was heard of since.
    car.fill_set.update(filled_on=date(2026, 3, 2), created_at=datetime(2026, 3, 2, 9, tzinfo=UTC))
    assert "Two members have" in shown(everyone["coordinator"], HOME)
    # Whoever brought a car since, or has none in service, has nothing to log yet.
    Car.objects.filter(pk=car.pk).update(in_service_from=date(2026, 3, 3))
    Car.objects.filter(pk=colleague_car.pk).update(in_service_to=date(2026, 3, 15))
    assert quiet not in shown(everyone["coordinator"], HOME)
    for who in ("keeper", "colleague", "stranger"):
        assert quiet not in shown(everyone[who], HOME)


# --- Who sees what, and at what cost ----------------------------------------------------------------------


def test_nobody_sees_the_costs_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    teach_february(car)
    for who in ("colleague", "coordinator", "stranger"):
        page = shown(everyone[who], HOME)
        assert "1.67" not in page
        assert ("QA51 ABC" in page) is (who == "coordinator")


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(HOME).url.startswith(reverse("account_login"))


def all_of_it(car: Car) -> None:
    """A car with something of every kind that the page asks for."""
    teach_february(car)
    nothing_due(car)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=48_000)
    CostEntryFactory(car=car, covers_miles=20_000, category="tyres", paid_on="2025-11-02")
    DefectFactory(car=car, severity="dangerous")
    TreadReadingFactory(car=car, inner="1.5")
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 16) - timedelta(days=1), miles=47_900)


@pytest.mark.usefixtures("_february_is_closed")
@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_the_queries_are_few_and_do_not_grow_with_the_cars(
    everyone: dict[str, Client], request: Any, who: str, colleague_car: Car, django_assert_max_num_queries: Any
) -> None:
    member = request.getfixturevalue(who)
    all_of_it(colleague_car)
    for _ in range(2):
        all_of_it(CarFactory(keeper=member))
        with django_assert_max_num_queries(MOST_QUERIES[who]) as asked:
            everyone[who].get(HOME)
        assert len(asked) > 5


def test_a_month_before_the_car_came_into_service_lacks_nothing(everyone: dict[str, Client], keeper: Member) -> None:
    FillFactory(car=CarFactory(keeper=keeper, in_service_from="2026-03-09"), filled_on="2026-03-10", odometer=48_000)
    page = shown(everyone["keeper"], HOME)
    assert "February 2026: you had no car in service then." in page
    assert "What February 2026 lacks" not in page
