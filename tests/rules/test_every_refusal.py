"""Invariant 6, in the source: every refusal and every problem says what to do next.

Read from the program's own text, so that a refusal which no test provokes is seen too. tests/conftest.py looks at those
that are provoked.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import refstd

ROOT = Path(refstd.__file__).parent
REFUSALS = {
    "Refusal", "WrongUsage", "NotFound", "AlreadyOnRecord", "NotAllowed", "AlreadyOut", "StoreUnusable", "Problem",
}  # fmt: skip
PLACE = 2  # wrong, where, remedy


def calls(source: str) -> Iterator[ast.Call]:
    """Yield every call that makes a refusal or a problem."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in REFUSALS:
            yield node


def remedy_of(call: ast.Call) -> ast.expr | None:
    """Return the expression of the remedy, or None where there is none."""
    named = next((k.value for k in call.keywords if k.arg == "remedy"), None)
    return named or (call.args[PLACE] if len(call.args) > PLACE else None)


def without_remedy(source: str) -> list[int]:
    """Return the lines of the refusals whose remedy is missing or plainly empty."""
    found = []
    for call in calls(source):
        remedy = remedy_of(call)
        if any(isinstance(a, ast.Starred) for a in call.args):
            continue  # made elsewhere, and counted there
        if remedy is None or (isinstance(remedy, ast.Constant) and not str(remedy.value).strip()):
            found.append(call.lineno)
    return found


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda p: str(p.relative_to(ROOT)))
def test_every_refusal_and_every_problem_names_the_next_step(path: Path) -> None:
    """Planted: the remedy struck from the refusal of a closed job in the custody desk."""
    if path.name == "errors.py" and path.parent.name == "base":
        return  # where the shape itself is made
    assert without_remedy(path.read_text(encoding="utf-8")) == []


def test_the_search_finds_what_it_looks_for() -> None:
    assert without_remedy('raise Refusal("wrong", "where", "Do this.")') == []
    assert without_remedy('raise Refusal("wrong", remedy="Do this.")') == []
    assert without_remedy('raise Refusal("wrong", "where")') == [1]
    assert without_remedy('x = Problem("where", "wrong", "")') == [1]
    assert sum(1 for path in ROOT.rglob("*.py") for _ in calls(path.read_text(encoding="utf-8"))) > 100
