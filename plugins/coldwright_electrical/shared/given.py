"""Fields that several calculators of the family are asked with."""

from typing import Annotated, Final, Literal

from msgspec import UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import Current, Frequency, FuelRate, Voltage

PracticeField = Annotated[
    Literal["nec", "iec"],
    about(
        "Whose rules: `nec` for United States and Canadian practice (AWG sizes), `iec` for IEC and EN practice (mm2 "
        "sizes). There is no default, because it changes the legal basis."
    ),
]

SystemVoltage = Annotated[
    Voltage,
    about(
        "Nominal voltage between lines of the three-phase system.",
        low=180,
        high=690,
        unit="V",
        why="The methods hold for low-voltage three-phase systems",
    ),
]

SystemFrequency = Annotated[
    Frequency,
    about("Frequency of the system, 50 or 60 Hz.", low=50, high=60, unit="Hz", why="The tables hold for 50 and 60 Hz"),
]

ResidualCurrent = (
    Annotated[
        Current,
        about(
            "Rated residual current of the residual-current device or earth-fault (ground-fault) relay that opens it; "
            "absent: none is fitted.",
            low=0.005,
            high=1200,
            unit="A",
        ),
    ]
    | UnsetType
)

SIZE_PATTERN: Final = r"^(([1-4]/0|[1-9]\d?) AWG|[1-9]\d{2,3} kcmil|[1-9]\d{0,2}(\.5)? mm2)$"
"""`4/0 AWG`, `6 AWG`, `250 kcmil`, `120 mm2`."""

LEAST_LOAD = 0.05
"""Share of the rating below which no fuel rate is worked out: the set idles, and its burn follows no load line."""


class FuelPointGiven(Given, frozen=True, kw_only=True):
    """One point of a set's fuel curve."""

    load_fraction: Annotated[float, about("Load as a share of the set's rated active power.", above=0, high=1.1)]
    fuel_rate: Annotated[FuelRate, about("Fuel burnt at that load.", above=0, high=5000, unit="L/h")]
