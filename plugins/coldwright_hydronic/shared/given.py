"""Fields that several calculators of the family are asked with."""

from typing import Annotated, Literal

from msgspec import UnsetType

from coldwright.contract import Fluid, about

SQUARE_LAW = 2.0
LEAST_EXPONENT = 1.5

Exponent = Annotated[
    float,
    about(
        "Exponent of the drop over the flow: 2 by the square law, 1.75 to 1.9 for turbulent flow in tubes or plates.",
        low=LEAST_EXPONENT,
        high=SQUARE_LAW,
        why="Below 1.5 the flow would be nearly laminar, above 2 no friction law reaches",
    ),
]

RatedFluid = (
    Annotated[Fluid, about("Liquid of the rating, with its temperature; water at 10 degC if left out.")] | UnsetType
)
Preventer = Literal["none", "hose_vacuum_breaker", "vented_intermediate", "double_check", "reduced_pressure", "air_gap"]

Protection = Literal["freeze", "burst"]
GlycolKind = Literal["ethylene_glycol", "propylene_glycol"]
