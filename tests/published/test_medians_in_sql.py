"""The median and quartiles against another implementation: the SQL standard's percentile_cont, in PostgreSQL.

Source: ISO/IEC 9075-2, inverse distribution functions, as PostgreSQL's documentation of ordered-set aggregates
describes percentile_cont: linear interpolation between the two nearest values.
"""

from fractions import Fraction

import pytest
from django.db import connection
from hypothesis import given, settings
from hypothesis import strategies as st

from costing.core.group import quantile

PARTS = (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4))


@pytest.mark.django_db
@settings(max_examples=100)
@given(st.lists(st.integers(-50_000, 500_000), min_size=1, max_size=50))
def test_quantiles_agree_with_percentile_cont(pence: list[int]) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no percentile_cont")
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT percentile_cont(ARRAY[0.25, 0.5, 0.75]) WITHIN GROUP (ORDER BY pence) FROM unnest(%s::int[]) pence",
            [pence],
        )
        [expected] = cursor.fetchone()
    # All three are quarters of whole pence, which a float holds exactly.
    assert [float(quantile(map(Fraction, pence), part)) for part in PARTS] == expected
