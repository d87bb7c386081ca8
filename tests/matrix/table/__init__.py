"""One row for each address of the book: who is let in, and what each way of asking gives.

To add a page, add its row: ``Row("fleet:car", lookers, MARK)`` is a page of a car for its keeper and the coordinators.
"""

from tests.matrix.table.costing import COSTING
from tests.matrix.table.fleet import FLEET
from tests.matrix.table.people import ACCOUNTS, FACTORS, INSTRUCTORS

TABLE = [*COSTING, *FLEET, *INSTRUCTORS, *ACCOUNTS, *FACTORS]
