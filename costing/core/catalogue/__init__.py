"""The closed vocabularies of money, as data: cost categories, the parts of running a car, kinds of agreement.

One row says all of a thing: choices, database checks, forms, archive rules, cash flow, charts and sentences are made
from the rows, and no other module spells their names.
"""
