"""The rules of the house that a machine can check: who may import whom, and what nowhere occurs.

The layers of the apps are import-linter's contracts in pyproject.toml; the rest is read from the source. That no GET
writes is asked of every address in tests/matrix.
"""

import ast
import fnmatch
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest
from django.apps import apps
from django.urls import URLPattern, get_resolver

ROOT = Path(__file__).resolve().parent.parent
APPS = ("costing", "fleet", "instructors")
#: What one app may use of another's. Its wording too: a state is called the same on every page.
OPEN_TO_OTHER_APPS = {"queries", "actions", "models", "core", "wording", "costs", "own_cars", "access"}
#: The modules of a core that work on arrays.
USE_NUMPY = {ROOT / f"costing/choosing/core/{name}.py" for name in ("odds", "draws")}
#: By wing, what the rest may use of it.
DOORS = {
    "costing.choosing": ("costing.choosing.urls", "costing.choosing.report"),
    "costing.importing": ("costing.importing.urls",),
    "costing.statement": ("costing.statement.urls", "costing.statement.report", "costing.statement.papers"),
    "costing.planning": ("costing.planning.urls", "costing.planning.report"),
}
#: What the pure cores may use besides the standard library and themselves.
CORES = {
    "costing/core": ("costing.core", "fleet.core"),
    "costing/choosing/core": ("costing.choosing.core", "costing.core", "fleet.core"),
    "costing/importing/core": ("costing.importing.core", "costing.core", "fleet.core"),
    "costing/statement/core": ("costing.statement.core", "costing.core", "fleet.core"),
    "costing/planning/core": ("costing.planning.core", "costing.core", "fleet.core"),
    "fleet/core": ("fleet.core",),
}
#: From the top down: nothing in one of them names what is in one above it. The rest is plumbing, below them all.
RANKS = ("costing", "fleet", "instructors", "config")
#: Where everything comes together: the addresses, the named slots and the schedule.
NAMES_EVERYTHING = {ROOT / "config/urls.py", ROOT / "config/settings.py", ROOT / "config/celery.py"}
#: The archive is the book as tables: what compares, dumps and loads them goes by model, whichever app's it is.
GOES_BY_MODEL = {ROOT / f"costing/archive/{name}.py" for name in ("condition", "writing")}
#: Who may close months: the schedule and commands.
MAY_CLOSE = ("costing/tasks.py", "costing/management/")
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "manage.py", "compose.yaml", "Dockerfile"),
    *("Makefile", ".ci", ".env.example", ".dockerignore", ".gitignore", ".git", "requirements", "bench"),
    *("config", "instructors", "fleet", "costing", "templates", "static", "tests"),
}


@cache
def syntax(path: Path) -> ast.Module:
    return ast.parse(path.read_text(), filename=str(path))


def modules(*folders: str) -> list[Path]:
    """The project's own modules in these folders, without the migrations."""
    found = [path for folder in folders for path in sorted((ROOT / folder).rglob("*.py"))]
    assert found, f"no module in {folders}"
    return [path for path in found if "migrations" not in path.parts]


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name of each thing a module imports; from a import b gives a.b."""
    for node in ast.walk(syntax(path)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)


def at(path: Path, line: int, what: str) -> str:
    return f"{path.relative_to(ROOT)}:{line}: {what}"


def faulty_imports(paths: list[Path], is_fault: Callable[[Path, str], bool]) -> list[str]:
    return [at(path, line, name) for path in paths for line, name in imported(path) if is_fault(path, name)]


def faulty_nodes(paths: list[Path], is_fault: Callable[[ast.AST], bool]) -> list[str]:
    return [
        at(path, getattr(node, "lineno", 0), ast.unparse(node).splitlines()[0])
        for path in paths
        for node in ast.walk(syntax(path))
        if is_fault(node)
    ]


# --- Who may import whom ----------------------------------------------------------------------------------


def test_the_contracts_on_layers_hold():
    # In a process of its own: it disables every logger of the process that it runs in.
    lint_imports = Path(sys.executable).with_name("lint-imports")
    asked = [lint_imports, "--no-cache", "--no-logo"]
    answer = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stdout


@pytest.mark.parametrize(("folder", "cores"), CORES.items())
def test_a_core_imports_only_the_standard_library_and_cores(folder, cores):
    def is_fault(path: Path, name: str) -> bool:
        is_core = any(name == core or name.startswith(f"{core}.") for core in cores)
        if path in USE_NUMPY and name.split(".")[0] == "numpy":
            return False
        return not is_core and name.split(".")[0] not in sys.stdlib_module_names

    assert not faulty_imports(modules(folder), is_fault)


@pytest.mark.parametrize("app", APPS)
def test_an_app_uses_only_what_another_leaves_open(app):
    def is_fault(path: Path, name: str) -> bool:
        package, _, rest = name.partition(".")
        return package in APPS and package != app and rest.split(".")[0] not in OPEN_TO_OTHER_APPS

    assert not faulty_imports(modules(app), is_fault)


def goes_past_doors(path: Path, name: str) -> bool:
    """Whether a module outside a wing imports from inside it, past its doors."""
    wing = next((wing for wing in DOORS if f"{name}.".startswith(f"{wing}.")), None)
    if wing is None or path.is_relative_to(ROOT / wing.replace(".", "/")):
        return False
    return not any(f"{name}.".startswith(f"{door}.") for door in DOORS[wing])


def test_a_wing_is_entered_by_its_doors():
    assert not faulty_imports(modules("config", *APPS, "bench"), goes_past_doors)


@pytest.mark.parametrize(
    ("path", "name", "is_fault"),
    [
        ("costing/urls.py", "costing.choosing.urls", False),
        ("costing/queries.py", "costing.choosing.report.OffersReport", False),
        ("costing/queries.py", "costing.choosing", True),
        ("costing/queries.py", "costing.choosing.core.case.Case", True),
        ("costing/queries.py", "costing.choosing.reported", True),
        ("costing/queries.py", "costing.models.Comparison", False),
        ("costing/choosing/views/comparison.py", "costing.choosing.core.case.Case", False),
        ("costing/urls.py", "costing.importing.urls", False),
        ("costing/choosing/urls.py", "costing.importing.readers.opening", True),
    ],
)
def test_the_rule_on_wings_knows_a_door_from_a_wall(path, name, is_fault):
    assert goes_past_doors(ROOT / path, name) is is_fault


def test_nothing_listens_to_a_signal():
    def is_fault(path: Path, name: str) -> bool:
        return "signals" in name.split(".") or name.startswith("django.dispatch")

    assert not faulty_imports(modules("config", *APPS), is_fault)


def test_no_production_code_asks_whether_it_is_under_test():
    def is_fault(path: Path, name: str) -> bool:
        return name.split(".")[0] in {"tests", "pytest", "factory", "hypothesis", "time_machine"}

    assert not faulty_imports(modules("config", *APPS), is_fault)


# --- Doors ------------------------------------------------------------------------------------------------

_MANAGERS = {"objects", "history", "_default_manager", "_base_manager"}
#: Methods that a manager or a queryset has, and no list or dictionary.
_ASKS = {
    *("all", "filter", "exclude", "exists", "order_by", "values_list", "select_related", "aggregate", "annotate"),
    *("create", "get_or_create", "update_or_create", "bulk_create"),
}


def models_of_others(app: str, path: Path) -> set[str]:
    """The dotted ends by which a module calls models of other apps, or the module that they are in."""
    names = set()
    for node in ast.walk(syntax(path)):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                package, _, rest = f"{node.module}.{alias.name}".partition(".")
                if package in APPS and package != app and rest.split(".")[0] == "models":
                    names.add(alias.asname or alias.name)
    return names


def rows_behind(app: str) -> set[str]:
    """The names by which a row leads to the rows of an app other than ``app``."""
    return {
        relation.get_accessor_name()
        for model in apps.get_models()
        for relation in model._meta.related_objects
        if relation.related_model._meta.app_label in {*APPS} - {app} and not relation.hidden
    }


def goes_to_rows(node: ast.AST, models: set[str], rows: set[str]) -> bool:
    """Whether it reaches for the manager of one of ``models``, or asks one of the related ``rows``."""
    if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("get_object_or_404", "get_list_or_404")):
        return ast.unparse(node.args[0]).split(".")[0] in models
    if not isinstance(node, ast.Attribute):
        return False
    if node.attr in _MANAGERS:
        return ast.unparse(node.value).split(".")[0] in models
    return node.attr in _ASKS and isinstance(node.value, ast.Attribute) and node.value.attr in rows


@pytest.mark.parametrize("app", APPS)
def test_an_app_asks_no_manager_of_another(app):
    rows = rows_behind(app)
    assert rows or app == "costing"
    faults = [
        fault
        for path in modules(app)
        if path not in GOES_BY_MODEL
        for models in [models_of_others(app, path)]
        for fault in faulty_nodes([path], lambda node, models=models: goes_to_rows(node, models, rows))
    ]
    assert not faults


@pytest.mark.parametrize("code", ["Car.objects.all()", "fleet.Completion.history", "car.defects.filter(pk=1)"])
def test_the_rule_on_managers_finds_what_it_should(code):
    found = [node for node in ast.walk(ast.parse(code)) if goes_to_rows(node, {"Car", "fleet"}, {"defects"})]
    assert found


@pytest.mark.parametrize("app", [*APPS, "config"])
def test_no_sql_names_a_table_of_another_app(app):
    tables = [model._meta.db_table for model in apps.get_models() if model._meta.app_label in {*APPS} - {app}]
    named = re.compile(rf"\b({'|'.join(tables)})\b")

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Constant) and isinstance(node.value, str) and bool(named.search(node.value))

    assert not faulty_nodes(modules(app), is_fault)


def names_above(rank: str) -> re.Pattern[str]:
    """What an address, a template or a module of a higher rank is called."""
    above = "|".join(RANKS[: RANKS.index(rank)])
    return re.compile(rf"({above})(:[a-z-]+|\.[a-z_.]+\.?\w*|/\w+\.(html|txt|svg))")


@pytest.mark.parametrize("rank", RANKS[1:])
def test_no_code_names_anything_of_an_app_above_it(rank):
    above = names_above(rank)

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Constant) and isinstance(node.value, str) and bool(above.fullmatch(node.value))

    assert not faulty_nodes([path for path in modules(rank) if path not in NAMES_EVERYTHING], is_fault)


#: Whose the templates are that stand in no folder of an app's: those round every page, and allauth's.
_RANK_OF_FOLDER = {"account": "instructors", "mfa": "instructors"}


def test_no_template_names_anything_of_an_app_above_it():
    faults = []
    for path in sorted((ROOT / "templates").rglob("*.*")):
        folder = path.relative_to(ROOT / "templates").parts[0]
        rank = folder if folder in RANKS else _RANK_OF_FOLDER.get(folder, "config")
        named = re.compile(rf"['\"]({names_above(rank).pattern})['\"]") if rank != RANKS[0] else None
        text = path.read_text()
        for tag in TAG.finditer(text):
            if named and named.search(tag[0]):
                faults.append(at(path, text.count("\n", 0, tag.start()) + 1, tag[0]))
    assert not faults


def test_months_are_closed_by_the_schedule_and_by_commands_alone():
    def is_fault(path: Path, name: str) -> bool:
        may = str(path.relative_to(ROOT)).startswith(MAY_CLOSE)
        return (
            not may
            and name.startswith(("costing.closing", "costing.contributions"))
            and path != ROOT / "costing/closing.py"
        )

    assert not faulty_imports(modules("config", *APPS), is_fault)


# --- What nowhere occurs ----------------------------------------------------------------------------------


def test_no_model_overrides_how_it_is_saved_or_deleted():
    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.ClassDef) and any(
            isinstance(part, ast.FunctionDef) and part.name in {"save", "delete", "bulk_create"} for part in node.body
        )

    assert not faulty_nodes(modules(*APPS), is_fault)


def clock_name(node: ast.AST) -> str | None:
    """How a call asks for the time, such as date.today; None for any other node."""
    if not isinstance(node, ast.Call):
        return None
    name = ast.unparse(node.func)
    asks = r"(.*\.)?(today|utcnow|now|localdate|localtime|time|time_ns|gmtime)"
    return name if re.fullmatch(asks, name) else None


def test_a_core_has_no_clock():
    assert not faulty_nodes(modules(*CORES), lambda node: clock_name(node) is not None)


def test_the_day_is_asked_only_of_django_which_knows_the_time_zone():
    def is_fault(node: ast.AST) -> bool:
        name = clock_name(node)
        return bool(name and re.fullmatch(r"(.*\.)?(date|datetime)\.(today|now|utcnow)", name))

    assert not faulty_nodes(modules("config", *APPS), is_fault)


def test_no_view_or_form_goes_to_the_database_by_itself():
    """They ask queries and call actions: only there is it decided who may see and do what."""
    paths = [path for path in modules(*APPS) if {"views", "forms"} & {*path.parts, path.stem}]
    assert paths

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Attribute) and node.attr in {"objects", "_default_manager"}

    assert not faulty_nodes(paths, is_fault)


def test_a_view_leaves_its_form_to_the_form_page():
    """It neither asks whether a form was sent nor puts a refusal beside a field: ``config.form_page`` does."""
    paths = [path for path in modules(*APPS) if "views" in path.parts]
    assert paths

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Attribute) and node.attr in {"is_bound", "add_error"}

    assert not faulty_nodes(paths, is_fault)


#: These lock many rows at once, or take only what nobody else holds.
LOCKS_OF_THEIR_OWN = {
    *("config/history.py", "config/housekeeping.py", "costing/archive/loading.py"),
    *("instructors/actions/people.py", "instructors/actions/record.py"),
}


def test_a_row_is_locked_in_one_way():
    paths = [path for path in modules("config", *APPS) if str(path.relative_to(ROOT)) not in LOCKS_OF_THEIR_OWN]

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Attribute) and node.attr == "select_for_update"

    assert not faulty_nodes(paths, is_fault)


#: A queryset method after a dot, inside a tag or variable of a template.
#: A set of tyres is a running cost, and no related rows.
QUERY = re.compile(r"\.(all|filter|exclude|order_by|exists|select_related|prefetch_related|(?!tyre_set)\w+_set)\b")
UNESCAPED = re.compile(r"\|\s*(safe|safeseq)\b|autoescape\s+off")
TAG = re.compile(r"\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)


@pytest.mark.parametrize("pattern", [QUERY, UNESCAPED], ids=["queries", "unescaped"])
def test_no_template_queries_or_trusts_what_a_member_wrote(pattern):
    templates = [path for path in sorted((ROOT / "templates").rglob("*")) if path.is_file()]
    assert templates
    faults = [
        at(path, text.count("\n", 0, tag.start()) + 1, tag[0])
        for path in templates
        for text in [path.read_text()]
        for tag in TAG.finditer(text)
        if pattern.search(tag[0])
    ]
    assert not faults


def test_no_python_code_marks_text_as_safe():
    def is_fault(path: Path, name: str) -> bool:
        return name.endswith((".mark_safe", ".SafeString", ".SafeText"))

    assert not faulty_imports(modules("config", *APPS), is_fault)


# --- Addresses and names ----------------------------------------------------------------------------------


def test_one_place_knows_the_site_s_own_address():
    """Unset, SITE_URL is empty, and the address is where the book is served: ``config.site`` alone may read it."""
    own = {ROOT / "config/settings.py", ROOT / "config/site.py"}

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Attribute) and node.attr in {"SITE_URL", "build_absolute_uri"}

    assert not faulty_nodes([path for path in modules("config", *APPS) if path not in own], is_fault)


def own_addresses() -> list[tuple[str, URLPattern]]:
    """App and address of each page of the book's own."""
    return [
        (resolver.app_name, pattern)
        for resolver in get_resolver().url_patterns
        if getattr(resolver, "app_name", None) in APPS
        for pattern in resolver.url_patterns
    ]


def test_an_address_is_named_like_its_view():
    addresses = own_addresses()
    assert addresses
    wrong = [
        f"{app}:{pattern.name} leads to {pattern.callback.__name__}"
        for app, pattern in addresses
        if pattern.callback.__name__ != (pattern.name or "").replace("-", "_")
    ]
    assert not wrong


def test_every_address_is_named_in_a_test():
    tests = "".join(path.read_text() for path in modules("tests"))
    names = [f"{app}:{pattern.name}" for app, pattern in own_addresses()]
    assert not [name for name in names if not re.search(rf"\b{re.escape(name)}\b(?!-)", tests)]


# --- The tree ---------------------------------------------------------------------------------------------


def is_ignored(name: str) -> bool:
    patterns = (ROOT / ".gitignore").read_text().split()
    return any(fnmatch.fnmatch(name, pattern.strip("/")) for pattern in patterns)


def own_files() -> Iterator[Path]:
    """Every text file that is part of the project."""
    for entry in sorted(ROOT.iterdir()):
        if entry.name == ".git" or is_ignored(entry.name):
            continue
        for path in sorted(entry.rglob("*")) if entry.is_dir() else [entry]:
            ignored = any(is_ignored(part) for part in path.relative_to(ROOT).parts)
            if path.is_file() and not ignored and b"\0" not in path.read_bytes():
                yield path


def test_a_percentage_is_written_in_one_way():
    """As `config.showing.percent` does: 13%, not 13 %."""

    def is_fault(node: ast.AST) -> bool:
        return isinstance(node, ast.Constant) and bool(re.search(r"(?:^|\d|\}) %(?:[ .,:;)]|$)", str(node.value)))

    wording = [path for path in modules(*APPS, "config") if "models" not in path.parts]
    assert is_fault(ast.Constant("{apr:amount} %."))
    assert is_fault(ast.Constant(" %"))
    assert faulty_nodes(wording, is_fault) == []


def test_nothing_new_lies_at_the_top():
    assert not {entry.name for entry in ROOT.iterdir() if not is_ignored(entry.name)} - TOP_LEVEL


#: Folders of one machine, and hosts of package registries: neither means anything elsewhere.
ONE_MACHINE = re.compile(r"(?<![\w.])/(home|Users|root|work|farm)/\w")
REGISTRY = re.compile(r"https?://[\w.-]*(pypi|pythonhosted|npmjs|debian)[\w.-]*/")


@pytest.mark.parametrize("pattern", [ONE_MACHINE, REGISTRY], ids=["machine", "registry"])
def test_no_line_names_a_path_of_one_machine_or_a_registry(pattern):
    faults = [
        at(path, number, line.strip()[:100])
        for path in own_files()
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if pattern.search(line)
    ]
    assert not faults
