"""A statement's paper carries the figures of the statement to the penny, whatever the book holds."""

from random import Random

from costing.core.records import Period
from costing.statement.papers import pdf_of_statement
from costing.statement.report import statement
from instructors.models import Member
from tests.costing.statement_paper import holds, words_of
from tests.flows.test_one_statement import days_of
from tests.flows.test_one_statement import pytestmark as pytestmark
from tests.flows.test_one_statement import random_book as random_book


def test_the_paper_holds_each_figure(random_book: Random, keeper: Member) -> None:
    found = statement(keeper, Period(*days_of(random_book)))
    assert found
    holds(words_of(pdf_of_statement(found)), found)
