"""Finds where one fault can be planted in a module of method, and plants it: an operator, a comparison or a constant."""

import ast
import dataclasses
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
# what these modules hold is asked, drawn or cited, and no method
NOT_METHOD = {
    "given.py",
    "results.py",
    "examples.py",
    "references.py",
    "cautions.py",
    "explorations.py",
    "sheet.py",
    "page.py",
    "drawing.py",
}
# what stands in calls of these is a declaration: a range, a source, a version
DECLARATIONS = {"about", "Reference", "Caution", "Example", "calculator", "load_table", "Plugin", "round", "range"}
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
}
COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}


@dataclasses.dataclass(frozen=True)
class Fault:
    """One fault: where it is, what stands there and what is planted instead."""

    path: str
    line: int
    kind: str
    before: str
    after: str
    text: str
    number: int

    @property
    def family(self) -> str:
        return self.path.split("/")[1].removeprefix("coldwright_")

    @property
    def module(self) -> str:
        name = self.path.removeprefix("plugins/").removesuffix(".py").replace("/", ".")
        return name.removesuffix(".__init__")

    def none(self) -> "Fault":
        """The same module without a fault: what the tests must pass."""
        return dataclasses.replace(self, number=-1)

    @property
    def name(self) -> str:
        """The same as long as the line stays as it is, wherever in the module it stands."""
        return f"{self.path}: {self.text}: {self.before} -> {self.after}"


def _greater(value: float) -> float:
    if isinstance(value, int):
        return value + max(1, round(abs(value) * 0.1))
    return value * 1.1


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else ""


class _Places(ast.NodeTransformer):
    """Counts the places for faults of a module in the order in which they stand; changes the one that is asked for."""

    def __init__(self, wanted: int | None = None) -> None:
        self.wanted = wanted
        self.found: list[tuple[str, ast.expr, str, str]] = []

    def _here(self, kind: str, node: ast.expr, after: ast.expr) -> ast.expr:
        place = len(self.found)
        self.found.append((kind, node, ast.unparse(node), ast.unparse(after)))
        return ast.copy_location(after, node) if place == self.wanted else node

    def visit_Call(self, node: ast.Call) -> ast.AST:
        return node if _called(node) in DECLARATIONS else self.generic_visit(node)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        if node.value is not None:
            node.value = self.visit(node.value)
        return node

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        """The body and the defaults; neither annotations nor decorators."""
        node.args.defaults = [self.visit(default) for default in node.args.defaults]
        node.args.kw_defaults = [default and self.visit(default) for default in node.args.kw_defaults]
        node.body = [self.visit(statement) for statement in node.body]
        return node

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.AST:
        node.body = [self.visit(statement) for statement in node.body]
        return node

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        """Places in a sequence are no numbers of a method."""
        node.value = self.visit(node.value)
        return node

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        instead = OPERATORS.get(type(node.op))
        here: ast.expr = node
        if instead is not None:
            here = self._here("operator", node, ast.BinOp(node.left, instead(), node.right))
        self.generic_visit(node)
        return here

    def visit_Compare(self, node: ast.Compare) -> ast.AST:
        here: ast.expr = node
        for place, operator in enumerate(node.ops):
            instead = COMPARISONS.get(type(operator))
            if instead is not None:
                ops = [*node.ops[:place], instead(), *node.ops[place + 1 :]]
                changed = self._here("comparison", node, ast.Compare(node.left, ops, node.comparators))
                here = changed if changed is not node else here
        self.generic_visit(node)
        return here

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        if isinstance(node.value, bool) or not isinstance(node.value, int | float) or node.value == 0:
            return node
        return self._here("constant", node, ast.Constant(_greater(node.value)))


def _faults(path: Path) -> Iterator[Fault]:
    source = path.read_text()
    lines = source.splitlines()
    places = _Places()
    places.visit(ast.parse(source))
    for number, (kind, node, before, after) in enumerate(places.found):
        text = lines[node.lineno - 1].strip()
        yield Fault(str(path.relative_to(ROOT)), node.lineno, kind, before, after, text, number)


def faults_of(family: str) -> list[Fault]:
    """Every fault that can be planted in the method of a family."""
    modules = sorted((ROOT / "plugins" / f"coldwright_{family}").rglob("*.py"))
    return [fault for module in modules if _is_method(module) for fault in _faults(module)]


def _is_method(module: Path) -> bool:
    """Parts of a page are drawn as well: their checks are those of pages and sheets."""
    return module.name not in NOT_METHOD and not module.name.startswith("page_")


def with_fault(fault: Fault, source: str) -> ast.Module:
    """The module, with the fault in it."""
    changed = _Places(fault.number).visit(ast.parse(source))
    fixed: ast.Module = ast.fix_missing_locations(changed)
    return fixed
