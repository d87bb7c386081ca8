"""The tests that a file has, for tables that name the test of each row."""

import ast
import re
from functools import cache
from pathlib import Path

_EXCUSED = re.compile(r"\.(skip|xfail)\b")


@cache
def named_in(path: Path) -> set[str]:
    """The names of the test functions of a file, of its classes too; skipped and expected failures are none."""
    functions = [node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.FunctionDef)]
    return {
        node.name
        for node in functions
        if node.name.startswith("test_")
        and not any(_EXCUSED.search(ast.unparse(decorator)) for decorator in node.decorator_list)
    }
