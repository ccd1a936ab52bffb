"""What a transformer is asked with."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import ApparentPower, Current, Frequency, Length, Temperature, Voltage
from coldwright_electrical.shared.given import PracticeField, SystemFrequency

GREATEST_LOAD: Final = 3.0
"""Load over rating up to which the regulation is worked out; no transformer carries more for longer than seconds."""

_LOW_VOLTAGE: Final = "the methods hold for low-voltage three-phase systems"


class TransformerGiven(Given, frozen=True, kw_only=True):
    """Voltages, load, and what is known of the transformer."""

    practice: PracticeField
    primary_voltage: Annotated[
        Voltage, about("Voltage between lines on the supply side.", low=180, high=690, unit="V", why=_LOW_VOLTAGE)
    ]
    secondary_voltage: Annotated[
        Voltage,
        about(
            "Voltage between lines on the machine side, without load.", low=180, high=690, unit="V", why=_LOW_VOLTAGE
        ),
    ]
    isolation: Annotated[bool, about("Whether equal voltages are meant: the transformer only separates.")] = False
    frequency: SystemFrequency
    rated_frequency: (
        Annotated[Frequency, about("Frequency on the transformer's plate.", low=16, high=400, unit="Hz")] | UnsetType
    ) = UNSET
    load_apparent_power: Annotated[
        ApparentPower, about("Apparent power of the running load.", above=0, high=5000, unit="kVA")
    ]
    power_factor: Annotated[float, about("Power factor of the load.", low=0.3, high=1, basis="common_practice")] = 0.85
    rated_apparent_power: (
        Annotated[
            ApparentPower, about("Rating of the transformer; chosen where left out.", low=3, high=5000, unit="kVA")
        ]
        | UnsetType
    ) = UNSET
    growth_fraction: Annotated[
        float, about("Room kept when the rating is chosen.", low=0, high=1, basis="common_practice")
    ] = 0.25
    impedance_fraction: (
        Annotated[
            float,
            about("Impedance per unit; 0.0575 from 500 kVA and 0.045 below where left out.", low=0.01, high=0.12),
        ]
        | UnsetType
    ) = UNSET
    x_over_r: (
        Annotated[float, about("X/R; 1.5 to 75 kVA, 3 to 300 kVA, 5 above where left out.", low=0.3, high=30)]
        | UnsetType
    ) = UNSET
    protection: Annotated[
        Literal["primary_only", "primary_and_secondary"], about("Where overcurrent devices stand.")
    ] = "primary_and_secondary"
    primary_device_rating: (
        Annotated[Current, about("Rating of the device that is meant on the primary.", above=0, high=6000, unit="A")]
        | UnsetType
    ) = UNSET
    magnetic_pickup_multiple: Annotated[
        float, about("Its instantaneous trip as a multiple of the rating.", low=1, high=20, basis="common_practice")
    ] = 10.0
    inrush_multiple: Annotated[
        float, about("First inrush as a multiple of rated primary current.", low=1, high=40, basis="common_practice")
    ] = 10.0
    starting_current: (
        Annotated[Current, about("Starting current of the machine, on the secondary.", above=0, high=20000, unit="A")]
        | UnsetType
    ) = UNSET
    starting_power_factor: Annotated[
        float, about("Power factor at start.", low=0.1, high=0.8, basis="common_practice")
    ] = 0.35
    fed_as_built: Annotated[bool, about("Whether it is fed on the side that its plate calls primary.")] = True
    maker_permits_reverse_feed: Annotated[
        bool, about("Whether the maker's instructions allow feeding it backwards.")
    ] = False
    primary_neutral_bonded: Annotated[
        bool, about("Whether a neutral point on the fed side is bonded or connected.")
    ] = False
    neutral_needed: Annotated[bool, about("Whether the load needs a neutral.")] = False
    secondary_grounding: (
        Annotated[Literal["bonded", "monitored", "ungrounded"], about("How the new system is grounded.")] | UnsetType
    ) = UNSET
    nonlinear_fraction: Annotated[float, about("Share of the load that draws through rectifiers.", low=0, high=1)] = 0.0
    k_rated: Annotated[bool, about("Whether the transformer is rated for rectifier loads (K-factor).")] = False
    measured_primary_voltage: (
        Annotated[Voltage, about("Primary voltage as read, for the tap.", low=150, high=800, unit="V")] | UnsetType
    ) = UNSET
    ambient_temperature: Annotated[
        Temperature, about("Hottest air at the transformer.", low=-40, high=60, unit="degC", basis="common_practice")
    ] = Temperature.of(40, "degC")
    altitude: Annotated[Length, about("Height of the site above sea level.", low=-400, high=5000, unit="m")] = (
        Length.of(0, "m")
    )
