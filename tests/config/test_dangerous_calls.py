"""What the book's own code never does, and what it does in one looked-at place only; read from the source."""

import ast
import re
from collections.abc import Callable

import pytest
from django.conf import settings

from config.celery import app
from tests.test_architecture import APPS, ROOT, faulty_imports, faulty_nodes, imported, modules, syntax

CODE = modules("config", *APPS)
#: They start a process of their own, from a list of words that are all ours.
START_A_PROCESS = {ROOT / f"config/{name}.py" for name in ("apart", "reader_process", "backup/drilling")}
#: SQL that Django's queries cannot say, written as a constant.
WRITES_SQL = {
    ROOT / "config/sql.py",
    # Of PostgreSQL itself: its lock, its clock, its room, whether it takes entries.
    ROOT / "config/disk.py",
    ROOT / "config/release.py",
    ROOT / "config/doctor/servers.py",
    *(ROOT / f"costing/queries/{name}.py" for name in ("book_rows", "dismissals", "entries", "figures")),
    # Of these two the names of tables and columns are the models' own, quoted; what a backup says are values.
    *(ROOT / f"config/backup/{name}.py" for name in ("moment", "tables")),
    # Nor anything else here: a history is written out of the rows themselves.
    ROOT / "config/history.py",
    ROOT / "costing/archive/dumping.py",
    ROOT / "costing/closing.py",
    *(ROOT / f"fleet/queries/{name}.py" for name in ("condition", "due", "keepers", "miles")),
    ROOT / "instructors/queries/people.py",
}
#: What may be filled into it: numbers of rows, places for values, and what is made of our own words alone.
NUMBERS_OR_PLACES = re.compile(r"listed\(\w+\)|', '\.join\(\['%s'\] \* len\(\w+\)\)")
OF_OUR_WORDS = {"unit", "needed_from", "of_members", "each_member", "wanted", "cars", "each_car"}
RUNS_WORDS = {"eval", "exec", "compile", "__import__"}
READS_OBJECTS = {"pickle", "marshal", "shelve", "yaml", "dill", "jsonpickle"}
#: The made-up co-op, which is the same each time.
MADE_UP = ROOT / "costing/demo"
READS_XML = {"xml", "lxml", "defusedxml", "xmltodict"}
READ_XML = {ROOT / f"costing/importing/readers/{name}.py" for name in ("camt", "workbook_script")}
#: The web hook, if there is one, is told of the turns of duty: https alone, led nowhere else, nothing of a member.
#: `doctor` opens the book's own site, as whoever has the server wants to know whether members can.
ASK_ANOTHER = {ROOT / "config/web_hook.py", ROOT / "config/doctor/front.py"}
ASKS_OTHERS = {"http", "requests", "httpx", "aiohttp", "urllib3", "ftplib", "telnetlib", "xmlrpc", "ldap", "ldap3"}
TALKS_SQL = {"raw", "extra", "execute", "executemany", "cursor", "RawSQL"}
#: Who imports one of these has it asked.
ASKS_SQL = {"config.sql.rows", "config.sql.Question"}
#: Whose words are filled in: sentences of ours, kept in tables beside the code.
FILLED_IN = {
    *("_BY_MILES", "_THAT_MAY_COUNT", "_WANTED", "_FILLS_SINCE"),
    *("_COSTS", "_FILLS", "_NEEDED_FROM", "_BESIDE", "_TEACHING", "_HOLDINGS", "_READINGS", "_CLOSED_IN_YEAR"),
    *("_OPEN_ITEMS", "_TIMES", "LAST_DAY_OF", "_FILLED", "sql"),
    "_WHY[finding.why]",
    "_REASONS[found.reason]",
    "_USED_CAR",
    "_TITLES[kind]",
    "since",
    "_AMOUNTS[part.when]",
    "words",
    "_ENDED[coming.ended]",
}


def called(node: ast.AST) -> str:
    """The last word of what a call calls; empty for anything else."""
    if not isinstance(node, ast.Call):
        return ""
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def is_one_of(packages: set[str]) -> Callable[[object, str], bool]:
    return lambda _, name: name.split(".")[0] in packages


def test_no_words_are_run_as_code() -> None:
    def is_fault(node: ast.AST) -> bool:
        is_builtin = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        return is_builtin and called(node) in RUNS_WORDS

    assert not faulty_nodes(CODE, is_fault)


def test_no_words_become_a_template() -> None:
    assert not faulty_nodes(CODE, lambda node: called(node) in {"Template", "from_string", "render_template_string"})


def test_no_object_is_made_from_what_came_from_outside() -> None:
    assert not faulty_imports(CODE, is_one_of(READS_OBJECTS))
    assert settings.SESSION_SERIALIZER == "django.contrib.sessions.serializers.JSONSerializer"
    assert list(app.conf.accept_content) == ["json"]
    assert app.conf.task_serializer == app.conf.result_serializer == "json"


def test_xml_is_read_by_readers_that_refuse_a_document_type() -> None:
    """Without a document type there are no entities, so nothing grows and no other file is opened."""
    reading = {path for path in CODE for _, name in imported(path) if is_one_of(READS_XML)(path, name)}
    assert reading == READ_XML
    assert not faulty_imports(CODE, lambda path, name: path in READ_XML and name == "xml.etree")
    for path in READ_XML:
        assert "StartDoctypeDeclHandler" in path.read_text()


def test_no_other_site_is_asked_for_anything_but_the_web_hook() -> None:
    others = [path for path in CODE if path not in ASK_ANOTHER]
    assert not faulty_imports(others, is_one_of(ASKS_OTHERS))
    assert not faulty_imports(others, lambda _, name: name.startswith(("urllib.request", "urllib.robotparser")))
    assert not faulty_nodes(others, lambda node: called(node) in {"create_connection", "urlopen", "connect_ex"})


def test_no_shell_is_asked_and_one_process_started() -> None:
    def is_fault(node: ast.AST) -> bool:
        says_shell = isinstance(node, ast.Call) and any(keyword.arg == "shell" for keyword in node.keywords)
        asks_one = isinstance(node, ast.Attribute) and ast.unparse(node) in {"os.system", "os.popen"}
        return says_shell or asks_one or called(node) in {"getoutput", "getstatusoutput", "execvp", "execv", "spawnl"}

    assert not faulty_nodes(CODE, is_fault)
    starting = {path for path in CODE for _, name in imported(path) if name.split(".")[0] == "subprocess"}
    assert starting == START_A_PROCESS


def test_sql_is_written_in_few_places_and_holds_no_words_of_a_member() -> None:
    talking = {path for path in CODE for node in ast.walk(syntax(path)) if called(node) in TALKS_SQL}
    asking = {path for path in CODE for _, name in imported(path) if name in ASKS_SQL}
    # The commands' own execute() is Django's, of a command.
    assert (talking | asking) - {ROOT / "config/commands.py"} == WRITES_SQL
    for path in WRITES_SQL - {ROOT / "config/sql.py"}:
        constants = {
            target.id
            for node in syntax(path).body
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for node in ast.walk(syntax(path)):
            if called(node) in {"RawSQL", "execute", "raw", "rows"}:
                sql = node.args[0]
                if called(sql) == "format":
                    sql = sql.func.value
                assert isinstance(sql, ast.Constant) or ast.unparse(sql) in constants | {"sql"}, ast.unparse(node)
            if called(node) == "format" and ast.unparse(node.func.value) in constants | {"sql"}:
                assert not node.args
                filled = {ast.unparse(word.value) for word in node.keywords}
                assert {one for one in filled if not NUMBERS_OR_PLACES.fullmatch(one)} <= OF_OUR_WORDS


def test_no_words_of_a_member_say_how_others_are_filled_in() -> None:
    filled = {
        ast.unparse(node.func.value)
        for path in CODE
        for node in ast.walk(syntax(path))
        if called(node) in {"format", "format_map"} and not isinstance(node.func.value, ast.Constant)
    }
    assert filled <= FILLED_IN


def test_patterns_are_ours() -> None:
    """A pattern is a constant, or made of constants: nobody's words become one."""

    def is_fault(node: ast.AST) -> bool:
        if not (isinstance(node, ast.Call) and ast.unparse(node.func).startswith("re.") and node.args):
            return False
        pattern = node.args[0]
        if isinstance(pattern, ast.JoinedStr):
            held = [part.value for part in pattern.values if isinstance(part, ast.FormattedValue)]
            return any(not re.fullmatch(r"_?[A-Z_]+|'\|'\.join\(_?[A-Z_]+\)", ast.unparse(value)) for value in held)
        return called(node) not in {"escape"} and not isinstance(pattern, ast.Constant)

    assert not faulty_nodes(CODE, is_fault)


def test_what_nobody_may_guess_comes_from_secrets_and_is_hashed_by_sha256() -> None:
    by_chance = {path for path in CODE for _, name in imported(path) if name.split(".")[0] == "random"}
    assert {path.parent for path in by_chance} <= {MADE_UP}
    hashing = {
        ast.unparse(node)
        for path in CODE
        for node in ast.walk(syntax(path))
        if isinstance(node, ast.Attribute) and ast.unparse(node.value) in {"hashlib", "hmac"}
    }
    assert hashing == {"hashlib.sha256"}
    lengths = [
        node.args[0].value for path in CODE for node in ast.walk(syntax(path)) if called(node) == "token_urlsafe"
    ]
    assert lengths
    assert min(lengths) * 8 >= 128


def test_what_is_encrypted_is_so_by_one_well_known_recipe() -> None:
    """Fernet: AES-128 in CBC mode, then HMAC-SHA256 over it; what was changed is not decrypted."""
    used = {name for path in CODE for _, name in imported(path) if name.split(".")[0] in {"cryptography", "Crypto"}}
    assert used == {"cryptography.fernet.Fernet", "cryptography.fernet.InvalidToken"}


#: What a phone keeps, sealed, and how its pages and their worker tell each other that it has changed.
KEEPS, TELLS = {"outbox.js", "worker.js"}, {"outbox.js", "phone.js", "worker.js"}
#: What a script of ours would do it by, and the only ones that do.
IN_SCRIPTS: dict[str, tuple[str, set[str]]] = {
    "words as HTML": (
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|createContextualFragment",
        set(),
    ),
    "words as code": (r"\beval\(|new Function|setTimeout\(\s*[\"'`]|javascript:", set()),
    "messages of other windows": (r"postMessage|[\"']message[\"']", TELLS),
    "the window that opened it": (r"window\.opener|\.parent\b", set()),
    "keeping things": (r"indexedDB|caches\.", KEEPS),
    "keeping them unsealed": (r"localStorage|sessionStorage|document\.cookie", set()),
    "foreign keys in objects": (r"__proto__|Object\.assign\((?!document\.createElement)|\.prototype", set()),
}


@pytest.mark.parametrize(("pattern", "which"), IN_SCRIPTS.values(), ids=IN_SCRIPTS)
def test_no_other_script_of_ours_does_it(pattern: str, which: set[str]) -> None:
    scripts = sorted((ROOT / "static").rglob("*.js"))
    assert scripts
    assert {path.name for path in scripts if re.search(pattern, path.read_text())} == which


def test_no_page_needs_a_plugin_or_another_site() -> None:
    pages = sorted((ROOT / "templates").rglob("*.html"))
    assert len(pages) > 100
    wanted = re.compile(r"<(object|embed|applet|iframe|frame)\b|(src|action|data)=[\"'](https?:)?//", re.IGNORECASE)
    assert not [path for path in pages if wanted.search(path.read_text())]
