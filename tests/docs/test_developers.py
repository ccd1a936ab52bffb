"""DEVELOPERS.md says what is so: every calculator, layer and room that there is, and none that is not."""

import re
import tomllib
from pathlib import Path

from coldwright.registry import Registry
from coldwright.registry.names import RESERVED_FAMILIES

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
LINTER = PROJECT["tool"]["importlinter"]["contracts"]


def section(title: str) -> str:
    """The text under a heading, up to the next."""
    return TEXT.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


def packages(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if p.is_dir() and not p.name.startswith("_")}


def first_party() -> set[str]:
    return {id_ for id_ in Registry().served if id_.partition(".")[0] in RESERVED_FAMILIES}


def test_a_newcomer_finds_every_formula_on_the_first_screen() -> None:
    """Every calculator stands in the table once, and its id is its folder, with checks of its own."""
    listed = re.findall(r"`([a-z]+\.[a-z_]+)`", section("Where a formula is").partition("Three examples")[0])
    ids = [id_ for id_ in listed if not id_.endswith((".py", ".md"))]
    assert set(ids) == first_party()
    for family, name in (id_.split(".") for id_ in ids):
        assert (ROOT / "plugins" / f"coldwright_{family}" / name / "__init__.py").is_file()
    assert TEXT.index("## Where a formula is") < 2000


def test_every_path_that_it_names_is_there() -> None:
    """Those of the project; the paths of the guides are of the author's own distribution, which `test_guide.py` makes."""
    text = TEXT.replace(section("A calculator of your own in an afternoon"), "")
    text = text.replace(section("A second afternoon: a part of the plan"), "")
    named = set(re.findall(r"`((?:api|plugins|tests|deploy|openapi)/[\w/.-]+)`", text))
    assert len(named) > 20
    assert [path for path in named if not (ROOT / path).exists()] == []


WITHOUT_PUBLISHED_CHECKS = {"booking.change", "booking.fleet_check"}
"""They compare two plans, and look through a document: there is nothing to publish of them."""


def test_the_checks_of_a_calculator_are_where_it_says() -> None:
    for id_ in first_party() - WITHOUT_PUBLISHED_CHECKS:
        family, name = id_.split(".")
        assert (ROOT / "tests" / "reference" / family / f"test_{name}.py").is_file(), id_


def test_the_three_examples_are_shared_as_it_says() -> None:
    """Friction by two calculators of its family at least, the liquids by three families."""
    friction = {p.parts[-2] for p in importers("coldwright_hydronic.shared.friction")} - {"shared"}
    assert len(friction) >= 2
    families = {p.relative_to(ROOT / "plugins").parts[0] for p in importers("coldwright_basis.liquids")}
    assert len(families - {"coldwright_basis"}) >= 3


def importers(module: str) -> list[Path]:
    package, _, name = module.rpartition(".")
    found = re.compile(
        rf"^from {re.escape(module)} import |^from {re.escape(package)} import [^\n]*\b{name}\b", re.MULTILINE
    )
    return [p for p in (ROOT / "plugins").glob("coldwright_*/**/*.py") if found.search(p.read_text("utf-8"))]


def test_the_modules_of_a_calculator_are_named_as_it_says() -> None:
    """A name that the table explains is used by two families at least; else it explains nothing."""
    names = set(re.findall(r"`(\w+\.py)`", section("Where a formula is").partition("the same names mean")[2]))
    assert "given.py" in names
    for name in names - {"__init__.py"}:
        families = {p.relative_to(ROOT / "plugins").parts[0] for p in ROOT.glob(f"plugins/coldwright_*/*/{name}")}
        assert len(families) >= 2, name


def test_every_layer_stands_in_the_table_from_the_ground_up() -> None:
    layers = re.findall(r"^\| `api/coldwright/(\w+)`", section("The layers"), re.MULTILINE)
    assert set(layers) == packages(ROOT / "api" / "coldwright")
    (contract,) = [c for c in LINTER if c["type"] == "layers" and "coldwright.contract" in c["layers"]]
    held = [[name.strip().removeprefix("coldwright.") for name in layer.split("|")] for layer in contract["layers"]]
    rank = {name: -number for number, names in enumerate(held) for name in names}
    assert [rank[name] for name in layers] == sorted(rank[name] for name in layers)


def allowed_imports() -> dict[str, set[str]]:
    """What each layer of the core may import by the table: what stands there, and what that may import in turn."""
    rows = re.findall(r"^\| `api/coldwright/(\w+)` \|.*\| ([^|]+) \|$", section("The layers"), re.MULTILINE)
    allowed: dict[str, set[str]] = {}
    for name, text in rows:
        named = (
            set(allowed) if text == "all of the above" else {other for other, _ in rows if other in text.split(", ")}
        )
        allowed[name] = named.union(*(allowed[other] for other in named))
    return allowed


def test_each_layer_imports_what_the_table_allows_it() -> None:
    allowed = allowed_imports()
    assert allowed["contract"] == allowed["store"] == set()
    assert {"registry", "contract"} <= allowed["sheets"]
    for name, below in allowed.items():
        for path in (ROOT / "api" / "coldwright" / name).rglob("*.py"):
            found = set(re.findall(r"^\s*(?:from|import) coldwright\.(\w+)", path.read_text("utf-8"), re.MULTILINE))
            if "commands/templates" not in str(path):
                assert found <= below | {name}, path


def dependencies() -> set[str]:
    """Every distribution that the project asks for, to run, by name, or to develop."""
    project = PROJECT["project"]
    groups = [
        project["dependencies"],
        *project["optional-dependencies"].values(),
        *PROJECT.get("dependency-groups", {}).values(),
    ]
    return {re.split(r"[\[<>=!~; ]", one)[0] for group in groups for one in group if not one.startswith("coldwright")}


def test_every_dependency_has_its_reason() -> None:
    named = set(re.findall(r"`([\w.-]+)`(?=,|:| \(|\))", section("Why each dependency")))
    assert dependencies() - named == set()
    assert named - dependencies() <= set(PROJECT["project"]["optional-dependencies"])


def test_every_room_of_the_service_stands_in_the_table() -> None:
    rooms = re.findall(r"^\| `service/(\w+)`", section("The rooms of the service"), re.MULTILINE)
    assert len(rooms) == len(set(rooms))
    assert set(rooms) == packages(ROOT / "api" / "coldwright" / "service")


def test_the_rooms_of_booking_and_of_the_start_are_those_that_it_names() -> None:
    booking = ROOT / "plugins" / "coldwright_booking"
    named = set(re.findall(r"`(\w+)`", section("The way of one booking"))) - {"booking"}
    assert named <= packages(booking) | {path.stem for path in booking.glob("*/*.py")}
    assert {"order", "fleet", "search", "plan", "answer"} <= named
    startup = ROOT / "plugins" / "coldwright_readiness" / "startup"
    rooms = set(re.findall(r"`(evidence|rules|checks|verdict|advice)`", section("The way of one start")))
    assert rooms == {"evidence", "rules", "checks", "verdict", "advice"}
    assert all((startup / room).is_dir() or (startup / f"{room}.py").is_file() for room in rooms)


def test_every_role_that_it_names_is_taken() -> None:
    text = (
        section("The way of one booking")
        + section("The way of one start")
        + section("Sentences, pages, roles and parts")
    )
    roles = set(re.findall(r"role `(\w+)`", text)) | set(re.findall(r"\(`(booking|fleet|start|start_change)`\)", text))
    assert {"booking", "fleet", "start", "start_change"} <= roles
    registry = Registry()
    assert all(registry.role(role) for role in roles)


def test_the_limits_that_it_gives_are_those_that_are_counted() -> None:
    house = (ROOT / "tests" / "contract" / "test_house.py").read_text("utf-8")
    limits = dict(re.findall(r"^(MOST_\w+) = (\d+)$", house, re.MULTILINE))
    lines = (
        f"no module of more than {limits['MOST_LINES']} lines ({limits['MOST_LINES_OF_THE_SERVICE']} in the service)"
    )
    said = " ".join(section("The layers").split())
    assert lines in said
    assert f"at most {limits['MOST_IGNORED_TYPES']} lines that pass over the types" in said
