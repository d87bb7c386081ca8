"""What is written of any offers document reads back as the same: as a file, and as it is stored."""

import json

from hypothesis import given, settings

from costing.choosing.document.checks import checked
from costing.choosing.document.schema import LISTS, TABLES, Tables
from costing.choosing.document.tables import case_made_of, from_json, read_tables, to_json
from costing.choosing.document.toml import document_in, file_of
from tests.costing.documents import documents


@given(documents())
@settings(max_examples=150)
def test_a_file_that_was_written_reads_back_as_the_same_case(tables: Tables) -> None:
    written = file_of(tables)

    read = document_in("offers.toml", written.encode())
    assert read == tables
    assert case_made_of(checked(read), "GB") == case_made_of(checked(tables), "GB")
    assert file_of(read) == written


@given(documents())
@settings(max_examples=150)
def test_what_is_stored_reads_back_as_the_same_case(tables: Tables) -> None:
    stored = {name: to_json(name, tables[name]) for name in TABLES}
    stored |= {name: [to_json(name, row) for row in tables[name]] for name in LISTS}

    stored = json.loads(json.dumps(stored))
    document = {name: from_json(name, stored[name]) for name in TABLES}
    document |= {name: [from_json(name, row) for row in stored[name]] for name in LISTS}
    assert read_tables(document) == tables
    assert case_made_of(read_tables(document), "GB") == case_made_of(checked(tables), "GB")
    read = read_tables(document)
    assert {name: to_json(name, read[name]) for name in TABLES} == {name: stored[name] for name in TABLES}
