"""What `hydronic.loop` is asked: liquid, elements in flow order, pumps, pressures, and what is wanted."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Text, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Frequency,
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    TemperatureDifference,
    Velocity,
    VolumeFlow,
)
from coldwright_hydronic.shared.given import Exponent, RatedFluid

MOST_ELEMENTS = 200

LineKind = Literal["steel", "copper", "plastic", "rubber_hose", "lay_flat_hose"]

Bore = Annotated[
    Length,
    about(
        "Inner diameter, measured or from the data sheet: 3 % of bore is 16 % of drop.",
        low=12,
        high=610,
        unit="mm",
        why="Smaller bores are capillaries, larger ones are no temporary hose or pipe",
    ),
]

Runs = Annotated[int, about("Equal runs side by side.", low=1, high=12)]


class LoopElementGiven(Given, frozen=True, kw_only=True):
    """What every element of the loop may have."""

    name: Annotated[Text, about("Name, unique in the loop.", min_length=1)]
    elevation_out: (
        Annotated[
            Length,
            about(
                "Height of its outlet. If left out: that of the element before it; for the last of a path, that of the join.",
                low=-300,
                high=300,
                unit="m",
            ),
        ]
        | UnsetType
    ) = UNSET
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure of the element.", above=0, high=10000, unit="kPa")] | UnsetType
    ) = UNSET


class LineGiven(LoopElementGiven, frozen=True, kw_only=True, tag_field="type", tag="line"):
    """Hose or pipe."""

    line_kind: Annotated[LineKind, about("What the line is made of: sets the roughness unless that is given.")]
    inner_diameter: Bore
    length: Annotated[Length, about("Length of one run.", low=0, high=5000, unit="m")]
    roughness: (
        Annotated[
            Length,
            about(
                "Roughness of the wall; less than 0.05 of the bore. By default 0.046 mm for steel, 0.0015 mm for copper "
                "and plastic, 0.05 mm for smooth-bore hose; corrugated hose has no default, so give it.",
                low=0,
                below=31,
                unit="mm",
            ),
        ]
        | UnsetType
    ) = UNSET
    parallel_runs: Runs = 1
    place: Annotated[
        Literal["outdoors", "inside", "occupied"],
        about("Where it lies: inside buildings, and in occupied rooms more so, slower flow is asked for."),
    ] = "outdoors"


class FittingsGiven(LoopElementGiven, frozen=True, kw_only=True, tag_field="type", tag="fittings"):
    """Fittings of one bore, taken together."""

    inner_diameter: Bore
    k_factor: Annotated[float, about("Sum of the loss coefficients of all fittings.", low=0, high=500)] | UnsetType = (
        UNSET
    )
    equivalent_length: (
        Annotated[Length, about("Length of line with the same drop, instead.", low=0, high=5000, unit="m")] | UnsetType
    ) = UNSET
    roughness: (
        Annotated[Length, about("Roughness, with an equivalent length.", low=0, below=31, unit="mm")] | UnsetType
    ) = UNSET
    parallel_runs: Runs = 1


class DeviceGiven(LoopElementGiven, frozen=True, kw_only=True, tag_field="type", tag="device"):
    """A device with a rated drop. Rating and limits are those of one unit."""

    device_kind: Annotated[
        Literal["evaporator", "coil", "heat_exchanger", "strainer", "other"], about("What kind of device it is.")
    ]
    rated_flow: Annotated[VolumeFlow, about("Flow of the rating.", low=0.001, high=10000, unit="L/s")]
    rated_pressure_drop: Annotated[
        PressureDifference, about("Pressure drop at the rated flow.", low=0, high=5000, unit="kPa")
    ]
    exponent: Exponent = 2.0
    rated_fluid: RatedFluid = UNSET
    parallel_count: Annotated[int, about("Equal units side by side.", low=1, high=100)] = 1
    flow_minimum: (
        Annotated[VolumeFlow, about("Least flow through one unit.", low=0, high=10000, unit="L/s")] | UnsetType
    ) = UNSET
    flow_maximum: (
        Annotated[VolumeFlow, about("Greatest flow through one unit.", low=0.001, high=10000, unit="L/s")] | UnsetType
    ) = UNSET


class ValveGiven(LoopElementGiven, frozen=True, kw_only=True, tag_field="type", tag="valve"):
    """A valve, by its flow coefficient as it stands."""

    flow_coefficient_kv: Annotated[float, about("Kv: m3/h at 1 bar of cold water.", low=0.1, high=5000)] | UnsetType = (
        UNSET
    )
    flow_coefficient_cv: Annotated[float, about("Cv: gpm at 1 psi of cold water.", low=0.1, high=5000)] | UnsetType = (
        UNSET
    )


class BranchesGiven(LoopElementGiven, frozen=True, kw_only=True, tag_field="type", tag="branches"):
    """Unequal paths side by side, which part and join again."""

    branches: Annotated[
        tuple[
            Annotated[
                tuple["ElementGiven", ...],
                about("Elements of one path, in flow order.", min_length=1, max_length=MOST_ELEMENTS),
            ],
            ...,
        ],
        about("The paths. Branches inside branches are taken one level deep.", min_length=2, max_length=12),
    ]


ElementGiven = LineGiven | FittingsGiven | DeviceGiven | ValveGiven | BranchesGiven


class PumpPoint(Given, frozen=True, kw_only=True):
    """A point of the pump curve."""

    flow: Annotated[VolumeFlow, about("Flow of one pump.", low=0, high=10000, unit="L/s")]
    head: Annotated[Length, about("Head, in metres or feet of the pumped liquid.", low=0, high=1000, unit="m")]


class EfficiencyPoint(Given, frozen=True, kw_only=True):
    """A point of the efficiency curve."""

    flow: Annotated[VolumeFlow, about("Flow of one pump.", low=0, high=10000, unit="L/s")]
    efficiency: Annotated[float, about("Efficiency of the pump.", low=0, high=1)]


class NpshPoint(Given, frozen=True, kw_only=True):
    """A point of the suction head that the pump needs; it comes under either name."""

    flow: Annotated[VolumeFlow, about("Flow of one pump.", low=0, high=10000, unit="L/s")]
    npsh_required: (
        Annotated[Length, about("Net positive suction head required.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    head: (
        Annotated[Length, about("The same, under the name that pump curves use.", low=0, high=100, unit="m")]
        | UnsetType
    ) = UNSET

    @property
    def required(self) -> float:
        """m; an input with neither of the two is refused before."""
        value = self.npsh_required if self.npsh_required is not UNSET else self.head
        return 0.0 if value is UNSET else value.si


class KnownPoint(Given, frozen=True, kw_only=True):
    """One known point of a pump, where there is no curve."""

    flow: Annotated[VolumeFlow, about("Flow.", low=0.001, high=10000, unit="L/s")]
    head: Annotated[Length, about("Head of the pumped liquid.", above=0, high=1000, unit="m")]
    brake_power: Annotated[Power, about("Power at the shaft.", above=0, high=10000, unit="kW")] | UnsetType = UNSET


USUAL_FREQUENCY = Frequency(60.0, "Hz")
"""Of a pump's curve that gives none (common practice)."""


class PumpGiven(Given, frozen=True, kw_only=True):
    """A pump, or equal pumps side by side. Curves are of one pump at its rated frequency."""

    curve: Annotated[tuple[PumpPoint, ...], about("Three points at least, one at no flow.", max_length=100)] = ()
    interpolation: Annotated[
        Literal["power_law", "monotone_cubic", "linear"],
        about("Between the points: H = A - B Q^C through exactly three, a monotone cubic, or straight lines."),
    ] = "monotone_cubic"
    rated_frequency: (
        Annotated[Frequency, about("Frequency of the curve; absent: 60 Hz.", low=20, high=70, unit="Hz")] | UnsetType
    ) = UNSET
    frequency: (
        Annotated[Frequency, about("Frequency it runs at; the rated one if left out.", low=20, high=70, unit="Hz")]
        | UnsetType
    ) = UNSET
    parallel_count: Annotated[int, about("Equal pumps side by side.", low=1, high=8)] = 1
    efficiency: Annotated[float, about("Efficiency of the pump.", low=0.05, high=1)] | UnsetType = UNSET
    efficiency_curve: Annotated[
        tuple[EfficiencyPoint, ...], about("Efficiency over flow, straight between the points.", max_length=100)
    ] = ()
    motor_efficiency: Annotated[float, about("Efficiency of the motor.", low=0.05, high=1)] | UnsetType = UNSET
    drive_efficiency: Annotated[float, about("Efficiency of the drive between motor and mains.", low=0.05, high=1)] = (
        1.0
    )
    npsh_required_curve: Annotated[
        tuple[NpshPoint, ...],
        about("Suction head needed over flow, straight between the points; one point holds for all.", max_length=100),
    ] = ()
    minimum_flow: (
        Annotated[VolumeFlow, about("Least flow through one pump.", low=0, high=10000, unit="L/s")] | UnsetType
    ) = UNSET
    point: Annotated[KnownPoint, about("One known point, instead of a curve and elements.")] | UnsetType = UNSET
    state: Annotated[
        Literal["running", "bypassed", "stopped_in_line"],
        about("Running, bypassed, or stopped with the flow through it."),
    ] = "running"
    stopped_kv: Annotated[float, about("Kv of one pump while stopped.", low=0.1, high=5000)] | UnsetType = UNSET

    @property
    def points(self) -> tuple[tuple[float, float], ...]:
        """Flow (m3/s) and head (m) of each point of the curve."""
        return tuple((p.flow.si, p.head.si) for p in self.curve)

    @property
    def speed_ratio(self) -> float:
        """Frequency over that of the curve."""
        return 1.0 if self.frequency is UNSET else self.frequency.si / self.curve_frequency.si

    @property
    def curve_frequency(self) -> Frequency:
        """Frequency of the curve, the usual one where none is given."""
        return USUAL_FREQUENCY if self.rated_frequency is UNSET else self.rated_frequency


class PressureReferenceGiven(Given, frozen=True, kw_only=True):
    """The point of no pressure change: where the expansion vessel or the fill is connected."""

    location: Annotated[Text, about("`pump_suction`, or the name of an element: its outlet.")] = "pump_suction"
    gauge_pressure: Annotated[GaugePressure, about("Pressure there.", low=-90, high=2000, unit="kPa")]
    gauge_pressure_maximum: (
        Annotated[
            GaugePressure,
            about(
                "Greatest pressure there with the pumps off, as of an expansion vessel in a warm loop: a shut valve has it "
                "below the pumps.",
                low=-90,
                high=2000,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET

    @property
    def growth(self) -> float:
        """How far the standing pressure can rise, Pa."""
        return 0.0 if self.gauge_pressure_maximum is UNSET else self.gauge_pressure_maximum.si - self.gauge_pressure.si


class OpenSourceGiven(Given, frozen=True, kw_only=True):
    """An open or gas-covered tank that the pump draws from and the loop returns to."""

    surface_gauge_pressure: Annotated[
        GaugePressure, about("Pressure on the surface.", low=-90, high=2000, unit="kPa")
    ] = GaugePressure(0.0, "kPa")
    surface_elevation: Annotated[Length, about("Height of the surface.", low=-300, high=300, unit="m")]
    suction_pressure_drop: Annotated[
        PressureDifference, about("Drop between the tank and the pump.", low=0, high=1000, unit="kPa")
    ] = PressureDifference(0.0, "kPa")


class RequiredGiven(Given, frozen=True, kw_only=True):
    """What the loop must carry: a flow, or a load with its temperature difference."""

    flow: Annotated[VolumeFlow, about("Flow.", low=0.001, high=10000, unit="L/s")] | UnsetType = UNSET
    load: Annotated[Power, about("Load.", low=0.001, high=1e6, unit="kW")] | UnsetType = UNSET
    temperature_difference: (
        Annotated[TemperatureDifference, about("Difference at that load.", low=0.2, high=60, unit="delta_degC")]
        | UnsetType
    ) = UNSET


class HoseOption(Given, frozen=True, kw_only=True):
    """A hose that could be laid."""

    inner_diameter: Bore
    roughness: Annotated[
        Length,
        about(
            "Roughness of the wall.",
            low=0,
            below=31,
            unit="mm",
            basis="common_practice",
            references=("hydronic_practice",),
        ),
    ] = Length(0.05, "mm")
    working_pressure: (
        Annotated[GaugePressure, about("Its working pressure.", above=0, high=10000, unit="kPa")] | UnsetType
    ) = UNSET


class LoopGiven(Given, frozen=True, kw_only=True):
    """A temporary loop: liquid, elements in flow order from pump discharge back to pump suction, and what moves it."""

    fluid: Annotated[Fluid, about("The liquid, with its temperature.")]
    elements: Annotated[
        tuple[ElementGiven, ...],
        about("In flow order, from the pump's discharge back to its suction.", max_length=MOST_ELEMENTS),
    ] = ()
    pumps: Annotated[tuple[PumpGiven, ...], about("Several are in series.", max_length=12)] = ()
    pump_owner: (
        Annotated[Literal["machine", "site", "none"], about("Whose pump runs: the machine's or the site's.")]
        | UnsetType
    ) = UNSET
    pumps_interlocked: (
        Annotated[bool, about("Pumps in series start and stop together. Leave out if not known.")] | UnsetType
    ) = UNSET
    fixed_flow: (
        Annotated[VolumeFlow, about("Known flow, instead of pumps.", low=0.001, high=10000, unit="L/s")] | UnsetType
    ) = UNSET
    shut_off_head: (
        Annotated[
            Length,
            about(
                "Greatest head of the pumps against a shut valve, where `fixed_flow` stands for them.",
                above=0,
                high=1000,
                unit="m",
            ),
        ]
        | UnsetType
    ) = UNSET
    pressure_reference: (
        Annotated[PressureReferenceGiven, about("Where which pressure holds; 150 kPa at the pump suction if left out.")]
        | UnsetType
    ) = UNSET
    pump_elevation: Annotated[Length, about("Height of the pump.", low=-300, high=300, unit="m")] = Length(0.0, "m")
    atmospheric_pressure: (
        Annotated[AbsolutePressure, about("Pressure of the air.", low=60, high=110, unit="kPa")] | UnsetType
    ) = UNSET
    site_elevation: (
        Annotated[Length, about("Height of the site above the sea, instead.", low=-450, high=4100, unit="m")]
        | UnsetType
    ) = UNSET
    open_source: Annotated[OpenSourceGiven, about("The tank of an open loop.")] | UnsetType = UNSET
    required: Annotated[RequiredGiven, about("What the loop must carry.")] | UnsetType = UNSET
    hose_options: Annotated[
        tuple[HoseOption, ...],
        about("Hose to choose from; takes the place of the hose among `elements`.", max_length=50),
    ] = ()
    run_length: Annotated[Length, about("Hose in one run, out plus back.", low=0, high=10000, unit="m")] | UnsetType = (
        UNSET
    )
    max_runs: Annotated[int, about("Most runs side by side.", low=1, high=12)] = 2
    velocity_maximum: Annotated[
        Velocity,
        about(
            "Most velocity in a line.",
            above=0,
            high=30,
            unit="m/s",
            basis="common_practice",
            references=("hydronic_practice", "va_hvac_manual"),
        ),
    ] = Velocity(3.0, "m/s")
    friction_maximum: (
        Annotated[float, about("Most friction in a line, kPa for each 100 m.", above=0, high=10000)] | UnsetType
    ) = UNSET
