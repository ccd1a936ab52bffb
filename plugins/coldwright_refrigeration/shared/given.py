"""What several calculators of the family are asked: the refrigerant, and the liquid when none is given."""

from typing import Literal

from coldwright.contract import Fluid

WATER = Fluid(kind="water")

RefrigerantName = Literal[
    "R-22",
    "R-32",
    "R-123",
    "R-134a",
    "R-245fa",
    "R-290",
    "R-404A",
    "R-407C",
    "R-410A",
    "R-448A",
    "R-449A",
    "R-450A",
    "R-452B",
    "R-454B",
    "R-454C",
    "R-507A",
    "R-513A",
    "R-717",
    "R-1233zd(E)",
    "R-1234yf",
    "R-1234ze(E)",
]
"""The rows of the table; a test holds the two together."""
ABOUT_REFRIGERANT = (
    "Refrigerant by its ASHRAE 34 name, hyphen and capitals as listed. Properties come from CoolProp 8.0.0: pure "
    "fluids by their own Helmholtz equation, R-404A, R-407C, R-410A and R-507A by the equation of the blend as one "
    "fluid, the other blends by the mixture model. See the table `refrigeration.refrigerants` for the range of each."
)
