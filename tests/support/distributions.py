"""Distributions that are not there: a folder with packages and their metadata, as an installer would leave them."""

from collections.abc import Mapping
from importlib.metadata import EntryPoint, distributions
from pathlib import Path

from coldwright.contract import ENTRY_POINT_GROUP

SOUND = '''
from typing import Annotated

from coldwright.contract import Example, Given, Notes, Plugin, Reference, Results, about, calculator
from coldwright.contract.quantities import Power

STATED = Reference(id="{family}_stated", title="The equation as stated", provenance="derived")


class {struct}Given(Given, frozen=True, kw_only=True):
    """Some power."""

    power: Annotated[Power, about("Power.", low=0, high=1000, unit="kW")]


class {struct}Results(Results, frozen=True, kw_only=True):
    """More power."""

    power: Annotated[Power, about("Power.")]


EXAMPLE = {{"power": {{"value": 2, "unit": "kW"}}}}


@calculator("{family}.{name}", version="{version}", title="{title}", references=(STATED,), uses={uses},
            examples=(Example("two", "Two.", EXAMPLE), Example("again", "Two again.", EXAMPLE)))
def answer(given: {struct}Given, notes: Notes{ask}) -> {struct}Results:
    """Multiplies power by {factor}."""
    return {struct}Results(power=Power.of(given.power.to("kW") * {factor}, "kW"))


plugin = Plugin(name="{family}", title="{title}", contract="{contract}", calculators=(answer,))
'''


def sound(family: str, name: str = "answer", **words: object) -> str:
    """Source of a package with one calculator."""
    uses = words.get("uses", ())
    filled = {
        "struct": "Power",
        "version": "1.0.0",
        "title": f"The {family} answer",
        "factor": 2,
        "contract": ">=1.0,<2",
    }
    filled |= {"family": family, "name": name, "uses": uses, "ask": ", ask: object" if uses else ""} | words
    return SOUND.format(**filled)


def install(
    folder: Path, distribution: str, packages: Mapping[str, str], points: Mapping[str, str], version: str = "1.0"
) -> None:
    """Put packages (name to source of its `__init__`) and their metadata into a folder."""
    for package, source in packages.items():
        (folder / package).mkdir(parents=True, exist_ok=True)
        (folder / package / "__init__.py").write_text(source, "utf-8")
    info = folder / f"{distribution.replace('-', '_')}-{version}.dist-info"
    info.mkdir(parents=True, exist_ok=True)
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {distribution}\nVersion: {version}\n", "utf-8")
    lines = "\n".join(f"{name} = {target}" for name, target in points.items())
    (info / "entry_points.txt").write_text(f"[{ENTRY_POINT_GROUP}]\n{lines}\n", "utf-8")


def entry_points_in(*folders: Path) -> list[EntryPoint]:
    """Entry points of our group in these folders."""
    found = distributions(path=[str(f) for f in folders])
    return [p for d in found for p in d.entry_points if p.group == ENTRY_POINT_GROUP]
