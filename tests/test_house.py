"""The house's own rules: what lies where, how long a module is, what the documents must mention."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from scheduler.cli import main
from scheduler.office.config import Config, settings_table
from scheduler.store import Record
from tests.web.fakes import NotingRunner, StandingClock
from web import create_app

ROOT = Path(__file__).parents[1]
ROOMS = ("scheduler", "workers", "web", "demo_fleet", "tests")
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", "constraints.txt", ".ci",
    ".gitignore", *ROOMS,
}  # fmt: skip
LONGEST_MODULE = 500
#: Words that stand for work left undone, and places of one machine; spelt apart so as not to find themselves.
UNWANTED = re.compile(r"\b(TO" r"DO|FIX" r"ME)\b|/tm" r"p/|/wor" r"k/")
#: Where the present is read; everything else is handed a clock.
CLOCKS = {"scheduler/office/clock.py", "scheduler/cli/plan.py"}


def modules(*rooms: str) -> Iterator[Path]:
    for room in rooms or ROOMS:
        yield from sorted((ROOT / room).rglob("*.py"))


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def document(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def tracked() -> list[str]:
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if done.returncode != 0:
        pytest.skip("not a git clone, so that what belongs to it is unknown")
    return done.stdout.splitlines()


def test_the_top_level_holds_only_what_belongs_there() -> None:
    assert {name.split("/")[0] for name in tracked()} == TOP_LEVEL


def test_no_module_is_too_long() -> None:
    lengths = {named(path): len(path.read_text("utf-8").splitlines()) for path in modules()}
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST_MODULE} == {}


def test_every_module_and_concept_says_what_it_is() -> None:
    silent = []
    for path in modules("scheduler", "workers", "web", "demo_fleet"):
        tree = ast.parse(path.read_text("utf-8"))
        if tree.body and not ast.get_docstring(tree):
            silent.append(named(path))
        for node in tree.body:
            if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
                continue
            concept = any("dataclass" in ast.unparse(each) for each in node.decorator_list)
            if concept and not ast.get_docstring(node):
                silent.append(f"{named(path)}: {node.name}")
    assert silent == []


def test_nothing_is_left_undone_or_bound_to_one_machine() -> None:
    texts = [*modules(), *(ROOT / name for name in TOP_LEVEL if name.endswith((".md", ".toml")))]
    found = [
        f"{named(path)}:{number}: {line.strip()}"
        for path in texts
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if UNWANTED.search(line)
    ]
    assert found == []


def test_every_silenced_warning_says_why() -> None:
    silencing = re.compile(r"#\s*(type: ignore\[[^]]+\]|noqa: [A-Z0-9, ]+)(.*)|#\s*(type: ignore|noqa)\b")
    bare = []
    for path in modules():
        if path == Path(__file__):
            continue
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
            found = silencing.search(line)
            if found and not re.search(r"[a-z]{3}", found[2] or ""):
                bare.append(f"{named(path)}:{number}: {line.strip()}")
    assert bare == []


def test_no_error_is_swallowed() -> None:
    swallowed = []
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.ExceptHandler):
                continue
            everything = node.type is None or ast.unparse(node.type) in ("Exception", "BaseException")
            idle = all(isinstance(each, (ast.Pass, ast.Continue)) for each in node.body)
            if node.type is None or (everything and idle):
                swallowed.append(f"{named(path)}:{node.lineno}")
    assert swallowed == []


def test_the_core_reads_no_clock() -> None:
    reading = re.compile(r"\b(datetime\.(now|utcnow|today)|date\.today)\(")
    found = {named(path) for path in modules("scheduler") if reading.search(path.read_text("utf-8"))}
    assert found <= CLOCKS


def test_imports_point_one_way() -> None:
    pytest.importorskip("importlinter", reason="import-linter is not installed")
    command = [
        sys.executable,
        "-c",
        "from importlinter.cli import lint_imports_command as c; c()",
        "--no-cache",
    ]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"Contracts: \d+ kept, 0 broken", done.stdout)


def start_blocks() -> list[str]:
    """The fenced blocks of the README's section *Start*."""
    section = re.search(r"^## Start\n(.*?)^## ", document("README.md"), re.DOTALL | re.MULTILINE)
    assert section, "README.md has no section Start"
    return re.findall(r"^```\w*\n(.*?)^```", section[1], re.DOTALL | re.MULTILINE)


def test_the_readme_starts_with_two_commands_of_one_line() -> None:
    blocks = start_blocks()
    assert [block.count("\n") for block in blocks] == [1, 1]
    assert "-m venv" in blocks[0] and "pip install" in blocks[0]
    assert blocks[0].rstrip().endswith("soakline demo")
    assert "pip install" in blocks[1] and "pytest" in blocks[1]


def every_command(group: click.Group, path: str) -> Iterator[str]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from every_command(command, f"{path} {name}")
        else:
            yield f"{path} {name}"


def test_the_readme_names_every_command() -> None:
    text = document("README.md")
    commands = list(every_command(main, "soakline"))
    assert len(commands) > 8
    assert [each for each in commands if not re.search(rf"`{each}[ `]", text)] == []


def test_the_readme_names_every_setting_with_its_default() -> None:
    rows = dict(re.findall(r"^\| `(SOAKLINE_\w+)` \| ([^|]+) \|", document("README.md"), re.MULTILINE))
    for variable, default, _ in settings_table():
        assert rows[variable].strip().strip("`") == default, variable
    read = set()
    for path in modules("scheduler", "workers", "web", "demo_fleet"):
        read |= set(re.findall(r"\bSOAKLINE_[A-Z_]+[A-Z]", path.read_text("utf-8")))
    assert set(rows) == read


def test_the_developers_page_names_every_address(tmp_path: Path) -> None:
    record = Record(f"sqlite:///{tmp_path / 'shop.sqlite3'}")
    app = create_app(Config(), record, StandingClock.__new__(StandingClock), NotingRunner())
    text = document("DEVELOPERS.md")
    rules = {rule.rule for rule in app.url_map.iter_rules() if rule.endpoint != "static"}
    assert len(rules) > 15
    assert sorted(rule for rule in rules if f"`{rule}`" not in text) == []
    record.close()


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "demo_fleet/MATERIALS.md"])
def test_links_to_files_lead_somewhere(name: str) -> None:
    links = re.findall(r"\]\(([^)#\s]+)\)", document(name))
    local = [link for link in links if "://" not in link]
    missing = [link for link in local if not (ROOT / name).parent.joinpath(link).exists()]
    assert missing == []


def test_the_developers_page_names_only_paths_that_exist() -> None:
    found = re.findall(r"`((?:scheduler|workers|web|demo_fleet|tests)/[\w/.]+)`", document("DEVELOPERS.md"))
    assert len(found) > 15
    assert [path for path in found if not (ROOT / path).exists()] == []


def test_constraints_pin_everything_that_the_project_asks_for() -> None:
    project = tomllib.loads(document("pyproject.toml"))["project"]
    asked = [
        *project["dependencies"],
        *(each for group in project["optional-dependencies"].values() for each in group),
    ]
    names = {re.split(r"[\[<>=~!]", each)[0].lower() for each in asked}
    lines = [line for line in document("constraints.txt").splitlines() if not line.startswith("#")]
    assert all(re.fullmatch(r"[\w.-]+==[\w.]+", line) for line in lines)
    assert names <= {line.split("==")[0] for line in lines}


def test_every_library_asked_for_is_used() -> None:
    project = tomllib.loads(document("pyproject.toml"))["project"]
    names = {re.split(r"[\[<>=~!]", each)[0].replace("-", "_") for each in project["dependencies"]}
    # A package whose module has another name.
    names = {{"argon2_cffi": "argon2"}.get(name, name) for name in names}
    text = "\n".join(path.read_text("utf-8") for path in modules("scheduler", "workers", "web", "demo_fleet"))
    unused = {name for name in names if not re.search(rf"^\s*(import|from) {name}\b", text, re.MULTILINE)}
    # Time zones for systems that bring none: used by the standard library. fpdf2 is imported as fpdf.
    assert "fpdf" in text and unused <= {"tzdata", "fpdf2"}
