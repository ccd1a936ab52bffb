"""A stranger's plugin with a quantity of its own, words of a table, a series, a picture and a file. Its data are invented."""

import json
from pathlib import Path

TABLE = {
    "id": "carbon.grids",
    "title": "Invented grids",
    "reference": {"id": "carbon_grids", "title": "Invented", "provenance": "memory"},
    "columns": ["region", "intensity"],
    "rows": [["north", 0.1], ["south", 0.4], ["island (old)", 0.8]],
}
SOURCE = '''
from typing import Annotated, ClassVar, Literal

from coldwright.contract import (
    Column, Example, File, Given, Kind, Notes, Picture, Plugin, Quantity, Reference, Results, Series, Word, about,
    calculator, load_table, page,
)
from coldwright.contract.quantities import Duration, Energy, Mass, Power
from msgspec import Meta

GRIDS = load_table("carbon", "grids")
STATED = Reference(id="carbon_stated", title="The factor as stated", provenance="derived")
PNG = (
    b"\\x89PNG\\r\\n\\x1a\\n\\x00\\x00\\x00\\rIHDR\\x00\\x00\\x00\\x01\\x00\\x00\\x00\\x01\\x08\\x02\\x00\\x00\\x00\\x90wS\\xde"
    b"\\x00\\x00\\x00\\x0cIDATx\\x9cc\\xf8\\xcf\\xc0\\x00\\x00\\x03\\x01\\x01\\x00\\xc9\\xfe\\x92\\xef\\x00\\x00\\x00\\x00IEND\\xaeB`\\x82"
)


class CarbonIntensity(Quantity, frozen=True):
    """Carbon dioxide that comes with a unit of energy."""

    unit: Annotated[Literal["kg/kWh", "lb/MWh"], Meta(description="Unit of the number.")]
    declared: ClassVar[Kind | None] = Kind(
        {"kg/kWh": 1.0, "lb/MWh": 0.00045359237}, us="lb/MWh", low=0, high=3, why="no grid has more"
    )


class FootprintGiven(Given, frozen=True, kw_only=True):
    """Power and where it comes from."""

    power: Annotated[Power, about("Power.", low=0, high=1000, unit="kW")]
    grid: Annotated[str, Word.of(GRIDS, "region"), about("The grid.")]
    extra: Annotated[CarbonIntensity, about("What comes on top.")] = CarbonIntensity(0.0, "kg/kWh")


class FootprintResults(Results, frozen=True, kw_only=True):
    """What comes of it."""

    intensity: Annotated[CarbonIntensity, about("Of the grid.")]
    profile: Annotated[Series, about("Over a day.")]
    picture: Annotated[Picture, about("A dot.", media_types=("image/png",), most_bytes=1000)]
    sheet: Annotated[File, about("The same as text.", media_types=("text/csv",), most_bytes=2000)]


def asked(grid):
    return {"power": {"value": 2, "unit": "kW"}, "grid": grid}


@calculator(
    "carbon.footprint", version="1.0.0", title="Footprint", references=(STATED,), tables=(GRIDS,),
    examples=(Example("north", "Invented.", asked("north")), Example("south", "Invented.", asked("south"))),
)
def footprint(given: FootprintGiven, notes: Notes) -> FootprintResults:
    """Carbon dioxide of a day."""
    factor = dict(GRIDS.rows)[given.grid] + given.extra.to("kg/kWh")
    hours = list(range(0, 25, 6))
    kilograms = [given.power.to("kW") * h * factor for h in hours]
    rows = "".join(f"{h},{m:.6g}\\n" for h, m in zip(hours, kilograms))
    return FootprintResults(
        intensity=CarbonIntensity.of(factor, "kg/kWh"),
        profile=Series(
            along=Column.of("time", Duration, "h", hours),
            columns=(
                Column.of("carbon dioxide", Mass, "kg", kilograms),
                Column.of("energy", Energy, "kWh", [given.power.to("kW") * h for h in hours]),
            ),
        ),
        picture=Picture.of("A dot", "image/png", PNG),
        sheet=File.of("day.csv", "text/csv", f"hour,kg\\n{rows}".encode()),
    )


plugin = Plugin(
    name="carbon", title="Carbon", contract=">=1.3,<2", calculators=(footprint,), summary="Carbon of what is hired.",
)
'''


def put_table(folder: Path, table: object = TABLE) -> None:
    """The table beside the package."""
    (folder / "carbon" / "tables").mkdir(parents=True, exist_ok=True)
    (folder / "carbon" / "tables" / "grids.json").write_text(json.dumps(table), "utf-8")
