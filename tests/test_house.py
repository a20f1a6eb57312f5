"""The house rules that a machine can see: import contracts, what a command may load, sizes, names."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCES = sorted(p for folder in ("refstd", "sample_db") for p in (ROOT / folder).rglob("*.py"))
HEAVY = {"textual", "sqlalchemy", "numpy", "scipy", "alembic", "typst", "pydantic"}
# Where everything meets, code gathers: these few stay small.
GUARDED = {"refstd/tui/app.py": 150, "refstd/cli/__init__.py": 100, "refstd/register/lab.py": 300}
NAMES_OF_NOTHING = {
    "manager",
    "service",
    "handler",
    "helper",
    "helpers",
    "util",
    "utils",
    "common",
    "misc",
    "data",
    "info",
}


def test_imports_run_downwards_and_screens_see_no_record_and_no_rule() -> None:
    """Planted bugs it caught when the contracts were written: a screen importing a rule, a circle in tui."""
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as lint; lint()", "--no-cache"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-3000:]


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["check", "--help"]], ids=" ".join)
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    code = (
        f"import sys; from refstd.cli.ending import run; run({arguments!r}); "
        f"print(sorted(set(m.split('.')[0] for m in sys.modules) & {HEAVY!r}))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]")


def test_the_desk_and_its_rules_load_no_scipy_and_no_printer() -> None:
    code = "import sys, refstd.desk.homes, refstd.reports; print(sorted({'scipy', 'typst', 'alembic', 'textual'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_holds_one_subject(path: Path) -> None:
    name = str(path.relative_to(ROOT))
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= GUARDED.get(name, 600)
    assert path.stem not in NAMES_OF_NOTHING


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT)))
def test_every_module_says_what_it_is_for(path: Path) -> None:
    assert re.match(r'(#!.*\n)?"""\S', path.read_text(encoding="utf-8"))


def test_every_dependency_has_its_reason() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    wanted = [
        line for block in re.findall(r"(?:dependencies|dev) = \[\n(.*?)\n\]", text, re.S) for line in block.splitlines()
    ]
    assert len(wanted) > 15
    assert [line for line in wanted if "#" not in line] == []


def test_the_top_level_is_what_the_readme_of_the_house_says() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split()
    top = {name.split("/")[0] for name in tracked if not name.startswith(".")}
    allowed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "refstd", "migrations", "tests", "sample_db"}
    assert top <= allowed
