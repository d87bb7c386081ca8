"""What is written of any offers document reads back as the same: as a file, and as it is stored."""

import json

from hypothesis import given, settings

from costing.choosing.document.reading import case_of, read_document, read_tables
from costing.choosing.document.schema import LISTS, TABLES, Tables
from costing.choosing.document.toml import document_in, file_of
from costing.choosing.document.writing import from_json, to_json
from tests.costing.documents import documents


@given(documents())
@settings(max_examples=150)
def test_a_file_that_was_written_reads_back_as_the_same_case(tables: Tables) -> None:
    written = file_of(tables)

    read = document_in("offers.toml", written.encode())
    assert read == tables
    assert case_of(read) == case_of(tables)
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
    assert read_document(document) == case_of(tables)
    read = read_tables(document)
    assert {name: to_json(name, read[name]) for name in TABLES} == {name: stored[name] for name in TABLES}
