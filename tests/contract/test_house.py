"""What the import linter cannot see of the plugins' rooms: hidden imports, and modules that grew too large."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted(p for p in (ROOT / "plugins").rglob("*.py") if p.relative_to(ROOT).parts[1].startswith("coldwright_"))
MOST_LINES = 450


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def own_imports(node: ast.AST) -> list[str]:
    """What is imported from the house anywhere below a node."""
    found = [n.module or "" for n in ast.walk(node) if isinstance(n, ast.ImportFrom)]
    found += [alias.name for n in ast.walk(node) if isinstance(n, ast.Import) for alias in n.names]
    return [name for name in found if name.startswith("coldwright")]


def test_there_are_modules_to_look_at() -> None:
    families = {p.relative_to(ROOT).parts[1] for p in MODULES}
    assert {"coldwright_basis", "coldwright_electrical", "coldwright_hydronic"} <= families
    assert len(MODULES) > 200


def faults_of(path: Path) -> Iterator[str]:
    name, text = path.relative_to(ROOT / "plugins"), path.read_text("utf-8")
    if "TYPE_CHECKING" in text:
        yield f"{name}: an import for types alone hides a circle; move what both need to `given`"
    for function in functions(ast.parse(text)):
        for imported in own_imports(function):
            yield f"{name}: {function.name} hides an import of {imported}"
    if len(text.splitlines()) > MOST_LINES:
        yield f"{name}: more than {MOST_LINES} lines; split it by reason to change"


def test_no_import_is_hidden_and_no_module_is_too_large() -> None:
    assert [fault for path in MODULES for fault in faults_of(path)] == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("from typing import TYPE_CHECKING\n", "types alone"),
        ("def f():\n    from coldwright_basis import compare\n", "hides an import of coldwright_basis"),
        ("def f():\n    import coldwright_basis.compare\n", "hides an import of coldwright_basis.compare"),
        ("x = 1\n" * (MOST_LINES + 1), "more than"),
    ],
)
def test_the_test_finds_what_it_looks_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, fault: str
) -> None:
    monkeypatch.setattr(f"{__name__}.ROOT", tmp_path)
    module = tmp_path / "plugins" / "coldwright_x" / "module.py"
    module.parent.mkdir(parents=True)
    module.write_text(text, "utf-8")
    found = list(faults_of(module))
    assert len(found) == 1
    assert fault in found[0]
