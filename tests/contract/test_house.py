"""What the import linter cannot see of the house: hidden imports, types that are passed over, modules that grew too large."""

import ast
import json
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted(p for p in (ROOT / "plugins").rglob("*.py") if p.relative_to(ROOT).parts[1].startswith("coldwright_"))
CORE = sorted((ROOT / "api" / "coldwright").rglob("*.py"))
MOST_LINES = 450
MOST_LINES_OF_THE_SERVICE = 350
MOST_IGNORED_TYPES = 25
MOST_FOR_TYPES_ALONE = 6
"""Modules of the core that may import for types alone; a family has none."""


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


def own_imports(node: ast.AST) -> list[str]:
    """What is imported from the house anywhere below a node."""
    found = [n.module or "" for n in ast.walk(node) if isinstance(n, ast.ImportFrom)]
    found += [alias.name for n in ast.walk(node) if isinstance(n, ast.Import) for alias in n.names]
    return [name for name in found if name.startswith("coldwright")]


KEPT_ONCE = {
    273.15: ("constants",),
    459.67: ("constants",),
    9.80665: ("constants",),
    101_325.0: ("constants",),
    1e-9: ("compare", "ranges"),
}
"""Numbers of everybody, and the module of `coldwright_basis`, or of the contract, that names each."""


def numbers_kept_twice(path: Path) -> list[str]:
    """Numbers of the table above that a module writes down again instead of importing their name."""
    tree = ast.parse(path.read_text("utf-8"))
    found = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, float)]
    return [f"{path.name}: {n}" for n in found if n in KEPT_ONCE and path.stem not in KEPT_ONCE[n]]


def test_constants_and_the_slack_of_comparisons_stand_once() -> None:
    assert [twice for path in (*MODULES, *CORE) for twice in numbers_kept_twice(path)] == []


def test_a_constant_that_is_written_again_is_found(tmp_path: Path) -> None:
    module = tmp_path / "drop.py"
    module.write_text("cold = warm - 273.15\nenough = a >= b - 1e-9\ngone = 273.16\n", "utf-8")
    assert numbers_kept_twice(module) == ["drop.py: 273.15", "drop.py: 1e-09"]


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


def too_long(path: Path) -> bool:
    service = ROOT / "api" / "coldwright" / "service"
    most = MOST_LINES_OF_THE_SERVICE if path.is_relative_to(service) else MOST_LINES
    return len(path.read_text("utf-8").splitlines()) > most


def test_no_module_of_the_core_is_too_large() -> None:
    assert len(CORE) > 100
    assert [str(path.relative_to(ROOT)) for path in CORE if too_long(path)] == []


def test_few_lines_pass_over_the_types() -> None:
    """Each is a place where mypy sees nothing: say the type instead, or change what cannot be typed."""
    ignored = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in (*CORE, *MODULES)
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if "# type: ignore" in line
    ]
    assert len(ignored) <= MOST_IGNORED_TYPES, ignored


def test_few_modules_of_the_core_import_for_types_alone() -> None:
    found = [str(path.relative_to(ROOT)) for path in CORE if "TYPE_CHECKING" in path.read_text("utf-8")]
    assert len(found) <= MOST_FOR_TYPES_ALONE, found


def test_a_long_module_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(f"{__name__}.ROOT", tmp_path)
    text = "x = 1\n" * (MOST_LINES_OF_THE_SERVICE + 1)
    for layer, long in (("service", True), ("store", False)):
        module = tmp_path / "api" / "coldwright" / layer / "module.py"
        module.parent.mkdir(parents=True)
        module.write_text(text, "utf-8")
        assert too_long(module) is long


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


ASKED_BY_NAME = {"base_exceptions", "incr", "get_expiry", "see_that_it_lives", "_missing_"}
"""What a library of others calls by its name, or an event does."""


def names_made(path: Path) -> Iterator[str]:
    """Functions, methods, classes and constants of a module; tests, which are called by what they are, left aside."""
    tree = ast.parse(path.read_text("utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            yield node.name
    for node in tree.body:
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        )
        yield from (target.id for target in targets if isinstance(target, ast.Name))


def never_used(made: dict[str, str], texts: list[str]) -> list[str]:
    """Names of `made`, each with where it is made, that stand once in all texts."""
    seen = Counter(word for text in texts for word in WORD.findall(text))
    own = ("__", "test_", "pytest_")
    return [f"{where}: {name}" for name, where in made.items() if seen[name] <= 1 and not name.startswith(own)]


WORD = re.compile(r"\w+")


def test_nothing_is_there_that_nothing_uses() -> None:
    modules = [p for p in (*CORE, *MODULES) if "versions" not in p.parts]
    made = {name: str(path.relative_to(ROOT)) for path in modules for name in names_made(path)}
    readers = [*modules, *(ROOT / "tests").rglob("*.py"), *(ROOT / "api").rglob("*.html"), ROOT / "pyproject.toml"]
    unused = never_used(made, [path.read_text("utf-8") for path in readers])
    assert [entry for entry in unused if entry.rpartition(" ")[2] not in ASKED_BY_NAME] == []


def test_what_nothing_uses_is_found(tmp_path: Path) -> None:
    module = tmp_path / "drop.py"
    module.write_text("LIMIT = 2\n\n\ndef drop():\n    return LIMIT\n", "utf-8")
    made = dict.fromkeys(names_made(module), "drop.py")
    assert never_used(made, [module.read_text("utf-8")]) == ["drop.py: drop"]
    assert never_used(made, [module.read_text("utf-8"), "drop()"]) == []


def begins_small(document: Any, where: str = "") -> Iterator[str]:
    """Places of descriptions and summaries that begin with a small letter; data of examples are left aside."""
    if isinstance(document, dict):
        for name, member in document.items():
            if name in {"description", "summary"} and isinstance(member, str) and member[:1].islower():
                yield f"{where}/{name}"
            elif name not in {"examples", "example", "value", "default"}:
                yield from begins_small(member, f"{where}/{name}")


def test_every_text_of_the_document_begins_as_a_sentence_does() -> None:
    assert list(begins_small(json.loads((ROOT / "openapi" / "v1.json").read_text("utf-8")))) == []
    assert list(begins_small({"schemas": {"Hose": {"description": "a hose"}}})) == ["/schemas/Hose/description"]


NOT_THE_TRADES = re.compile(
    r"(?<!not_)(?-i:told)(?!_(?:at|to)\b)|\b(?:held|holds?|holding)\b[\w ,'-]{0,40} against\b|\bin vain\b|\bfall(?:s|ing)? out\b"
    r"|\btake[sn]? meanwhile\b|\belectric tension\b|\bwhip checks?\b|\ba hair\b|\bwhisper",
    re.IGNORECASE,
)
"""Words that a practitioner stumbled over: say given, sent, reported, compared. `told_at` and the like stand in documents."""
FORMER_NAMES = ("migrations",)
"""What is written down as it was: a migration is never edited."""
SAID_TO_PEOPLE = sorted(
    path
    for folder in ("api", "plugins", "deploy")
    for path in (ROOT / folder).rglob("*")
    if path.suffix in {".html", ".js", ".json", ".md", ".yaml"} and not {"node_modules", ".venv"} & set(path.parts)
)
"""Templates, scripts, tables and guides, which people read as they do the code."""


def words_of_no_trade(path: Path) -> list[str]:
    lines = path.read_text("utf-8").splitlines()
    return [
        f"{path.name}:{number}: {found[0]}"
        for number, line in enumerate(lines, 1)
        if (found := NOT_THE_TRADES.search(line))
    ]


def test_texts_and_names_are_words_of_the_trade() -> None:
    guides = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    read = [p for p in (*CORE, *MODULES, *SAID_TO_PEOPLE, *guides) if not set(FORMER_NAMES) & set(p.parts)]
    assert [word for path in read for word in words_of_no_trade(path)] == []


def test_a_word_of_no_trade_is_found(tmp_path: Path) -> None:
    module = tmp_path / "words.py"
    module.write_text('"""The level is held against its limit, and the crew is told."""\nsent = "in vain"\n', "utf-8")
    assert words_of_no_trade(module) == ["words.py:1: held against", "words.py:2: in vain"]
    module.write_text(
        "def tell(): ...\ntold_at = 1\nsound_not_told = 2\n_told_once = 3\n# Holds lock files against a list\n", "utf-8"
    )
    assert words_of_no_trade(module) == ["words.py:4: told", "words.py:5: Holds lock files against"]
