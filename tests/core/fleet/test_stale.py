"""What was last read so long ago that it is worth reading again."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.stale import GOOD_FOR_DAYS, Gauge, Stale, stale_gauges

TODAY = date(2026, 3, 16)
ODOMETER, TREAD = Gauge.ODOMETER, Gauge.TREAD


@pytest.mark.parametrize(
    ("last_read", "stale"),
    [
        ({}, []),
        ({ODOMETER: None, TREAD: None}, []),
        # 30 days before 16 March is 14 February, 90 days before is 16 December.
        ({ODOMETER: date(2026, 2, 14), TREAD: date(2025, 12, 16)}, []),
        ({ODOMETER: date(2026, 2, 13)}, [Stale(ODOMETER, 31)]),
        ({TREAD: date(2025, 12, 15)}, [Stale(TREAD, 91)]),
        ({TREAD: date(2025, 3, 16), ODOMETER: date(2026, 2, 3)}, [Stale(ODOMETER, 41), Stale(TREAD, 365)]),
        ({ODOMETER: TODAY, TREAD: date(2026, 3, 17)}, []),
    ],
)
def test_an_odometer_is_good_for_30_days_and_tread_for_90(
    last_read: dict[Gauge, date | None], stale: list[Stale]
) -> None:
    assert stale_gauges(TODAY, last_read) == stale


@given(age=st.integers(-400, 400), gauge=st.sampled_from(Gauge))
def test_a_gauge_is_stale_from_one_day_on_and_stays_so(age: int, gauge: Gauge) -> None:
    found = stale_gauges(TODAY, {gauge: TODAY - timedelta(days=age)})
    assert bool(found) == (age > GOOD_FOR_DAYS[gauge])
    assert all(each.days == age for each in found)
