"""The fleet document: machine types with their plates and tables, and the stock of accessories."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.fields import TEXT_PATTERN
from coldwright.contract.quantities import (
    ApparentPower,
    Current,
    Duration,
    Frequency,
    GaugePressure,
    Length,
    Mass,
    Power,
    PressureDifference,
    SoundLevel,
    Temperature,
    Voltage,
    Volume,
    VolumeFlow,
)
from coldwright_booking.rates.given import HirePrices, HireRate, Rates
from coldwright_electrical.service.given import MotorGiven, OtherLoadGiven
from coldwright_electrical.shared.given import FuelPointGiven, ResidualCurrent
from coldwright_hydronic.loop.given import PumpGiven
from coldwright_refrigeration.capacity.given import MachineCorrections, RatingTable
from coldwright_refrigeration.shared.given import ABOUT_REFRIGERANT, RefrigerantName
from coldwright_site.ground.given import FootGiven
from coldwright_site.lift.given import PickPoint
from coldwright_site.placement.given import Face, MakerClearances
from coldwright_site.shared.given import Position

TypeName = Annotated[
    str, about("The company's own name of the type.", min_length=1, max_length=100, pattern=TEXT_PATTERN)
]
Item = Annotated[str, about("The company's own name of the item.", min_length=1, max_length=100, pattern=TEXT_PATTERN)]
StockCount = Annotated[int, about("Pieces on hand for the period; 0 where other orders hold them all.", low=0, high=50)]
ItemCount = Annotated[
    int, about("Pieces on hand for the period; 0 where other orders hold them all.", low=0, high=100_000)
]
Turnaround = Annotated[
    int,
    about("Days that it is kept back after a hire, to be cleaned and checked; stock is counted by it.", low=0, high=60),
]
Bore = Annotated[Length, about("Inner diameter.", low=12, high=610, unit="mm")]
StartingMethod = Literal[
    "across_the_line", "part_winding", "star_delta", "autotransformer", "soft_start", "variable_frequency"
]


class MachineRating(Given, frozen=True, kw_only=True):
    """The point on the data plate."""

    capacity: Annotated[Power, about("Cooling capacity.", above=0, high=20000, unit="kW", us="ton")]
    power: Annotated[Power, about("Electric power drawn.", above=0, high=10000, unit="kW")]
    leaving_temperature: Annotated[Temperature, about("Leaving liquid.", low=-30, high=30, unit="degC")]
    entering_temperature: Annotated[Temperature, about("Entering liquid.", low=-30, high=50, unit="degC")]
    ambient_temperature: Annotated[Temperature, about("Air at the coil.", low=5, high=50, unit="degC")]
    liquid_flow: Annotated[VolumeFlow, about("Liquid flow.", above=0, high=2000, unit="L/s")]


class MachineEnvelope(Given, frozen=True, kw_only=True):
    """Limits inside which the machine may run. One that is not given is not tested."""

    ambient_minimum: Annotated[Temperature, about("Coldest air.", low=-60, high=60, unit="degC")] | UnsetType = UNSET
    ambient_maximum: Annotated[Temperature, about("Warmest air.", low=-20, high=80, unit="degC")] | UnsetType = UNSET
    leaving_minimum: (
        Annotated[Temperature, about("Coldest leaving water.", low=-60, high=60, unit="degC")] | UnsetType
    ) = UNSET
    leaving_minimum_with_antifreeze: (
        Annotated[Temperature, about("Coldest leaving liquid with antifreeze.", low=-60, high=60, unit="degC")]
        | UnsetType
    ) = UNSET
    leaving_maximum: (
        Annotated[Temperature, about("Warmest leaving liquid.", low=-60, high=80, unit="degC")] | UnsetType
    ) = UNSET
    entering_maximum: (
        Annotated[Temperature, about("Warmest entering liquid.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET


class FleetMotor(MotorGiven, frozen=True, kw_only=True):
    """A motor of the machine, and how it starts."""

    starting_method: Annotated[StartingMethod, about("How it starts.")] | UnsetType = UNSET
    starting_current_factor: (
        Annotated[float, about("Starting current over locked rotor, where the maker gives it.", above=0, high=1)]
        | UnsetType
    ) = UNSET
    starts_unloaded: Annotated[bool, about("Whether it starts unloaded, by the maker.")] | UnsetType = UNSET


class MachinePlate(Given, frozen=True, kw_only=True):
    """Electrical data plate and motor list."""

    voltage: Annotated[Voltage, about("Rated voltage between lines.", low=180, high=690, unit="V")]
    frequency: Annotated[Frequency, about("Rated frequency, 50 or 60 Hz.", low=50, high=60, unit="Hz")]
    minimum_circuit_ampacity: (
        Annotated[Current, about("Minimum circuit ampacity.", above=0, high=4000, unit="A")] | UnsetType
    ) = UNSET
    maximum_overcurrent_device: (
        Annotated[Current, about("Largest overcurrent device.", above=0, high=6000, unit="A")] | UnsetType
    ) = UNSET
    rated_current: (
        Annotated[Current, about("Rated current on an IEC plate.", above=0, high=4000, unit="A")] | UnsetType
    ) = UNSET
    short_circuit_rating: (
        Annotated[Current, about("Short-circuit current rating; absent: unknown.", above=0, high=300, unit="kA")]
        | UnsetType
    ) = UNSET
    motors: Annotated[tuple[FleetMotor, ...], about("Its motors.", max_length=40)] = ()
    other_loads: Annotated[tuple[OtherLoadGiven, ...], about("Loads without a motor.", max_length=40)] = ()
    power_factor: Annotated[
        float, about("Power factor of the running machine.", low=0.5, high=1, basis="common_practice")
    ] = 0.85


class MachineEvaporator(Given, frozen=True, kw_only=True):
    """The liquid side of the machine."""

    rated_flow: Annotated[VolumeFlow, about("Flow of the rating.", low=0.01, high=2000, unit="L/s")]
    rated_pressure_drop: Annotated[
        PressureDifference, about("Pressure drop of water at the rated flow.", above=0, high=1000, unit="kPa")
    ]
    exponent: Annotated[
        float, about("Exponent of the drop over the flow.", low=1.5, high=2, basis="common_practice")
    ] = 2.0
    flow_minimum: Annotated[VolumeFlow, about("Least flow.", low=0, high=2000, unit="L/s")]
    flow_maximum: Annotated[VolumeFlow, about("Greatest flow.", low=0.01, high=2000, unit="L/s")]
    volume: Annotated[Volume, about("Liquid inside.", low=0, high=20000, unit="L")]
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=5000, unit="kPa")] | UnsetType
    ) = UNSET


class LiquidConnection(Given, frozen=True, kw_only=True):
    """A liquid connection."""

    inner_diameter: Bore
    coupling: Annotated[Text, about("Kind of coupling, in generic words.")]


class MachineRefrigerant(Given, frozen=True, kw_only=True):
    """What is in the refrigerant circuits."""

    designation: Annotated[RefrigerantName, about(ABOUT_REFRIGERANT)]
    charge: Annotated[Mass, about("Charge of the whole machine.", above=0, high=5000, unit="kg")] | UnsetType = UNSET
    circuits: Annotated[int, about("Circuits that share the charge.", low=1, high=24)] | UnsetType = UNSET


class MachineSupport(Given, frozen=True, kw_only=True):
    """What of the machine touches the ground."""

    kind: Annotated[Literal["skid", "feet", "wheels"], about("Two runners along its length, feet, or wheels.")]
    runner_width: (
        Annotated[Length, about("Width of one runner of a skid; 150 mm.", low=10, high=2000, unit="mm")] | UnsetType
    ) = UNSET
    feet: Annotated[
        tuple[FootGiven, ...],
        about("Each foot or wheel with its area on the ground, in the frame of the lifting points.", max_length=24),
    ] = ()


class MachineBody(Given, frozen=True, kw_only=True):
    """Size, mass and where to take hold. One frame for all points: x along the length, y across, z up."""

    length: Annotated[Length, about("Length.", low=0.2, high=20, unit="m")]
    width: Annotated[Length, about("Width.", low=0.2, high=5, unit="m")]
    height: Annotated[Length, about("Height.", low=0.2, high=5, unit="m")]
    mass_dry: Annotated[Mass, about("Mass without liquid.", above=0, high=60000, unit="kg")] | UnsetType = UNSET
    mass_operating: Annotated[Mass, about("Mass with its liquid.", above=0, high=60000, unit="kg")]
    centre_of_gravity: Annotated[Position, about("Centre of gravity.")] | UnsetType = UNSET
    lifting_points: Annotated[tuple[PickPoint, ...], about("Where slings take hold.", max_length=4)] = ()
    support: Annotated[MachineSupport, about("What touches the ground; asked where absent.")] | UnsetType = UNSET
    fork_pockets: Annotated[bool, about("Whether it has fork pockets.")] = False
    intake_faces: (
        Annotated[
            tuple[Face, ...],
            about("Sides that draw air: `front` is the +x end, `left` +y; the two long ones.", max_length=4),
        ]
        | UnsetType
    ) = UNSET
    service_faces: (
        Annotated[tuple[Face, ...], about("Sides that people work at, with panels; the front.", max_length=4)]
        | UnsetType
    ) = UNSET
    clearances: Annotated[MakerClearances, about("Distances that the maker asks for.")] | UnsetType = UNSET


class MachineType(Given, frozen=True, kw_only=True):
    """One type of machine in the fleet."""

    type: TypeName
    count: StockCount
    rating: Annotated[MachineRating, about("The point on the data plate.")]
    capacity_table: (
        Annotated[RatingTable, about("The machine's table; without it every capacity is an estimate.")] | UnsetType
    ) = UNSET
    corrections: Annotated[MachineCorrections, about("Correction tables printed with the machine.")] = (
        MachineCorrections()
    )
    envelope: Annotated[MachineEnvelope, about("Limits inside which it may run.")]
    circuits: Annotated[int, about("Refrigerant circuits, of equal size.", low=1, high=24)]
    capacity_steps: Annotated[
        tuple[Annotated[float, Meta(gt=0, le=1)], ...],
        about(
            "Steps of capacity as fractions; the least one rules turndown. None: one for each circuit.", max_length=60
        ),
    ] = ()
    electrical: Annotated[MachinePlate, about("Electrical plate and motors.")]
    evaporator: Annotated[MachineEvaporator, about("Liquid side.")]
    pump: Annotated[PumpGiven, about("Own pump; absent: none aboard.")] | UnsetType = UNSET
    connection: Annotated[LiquidConnection, about("Liquid connection.")] | UnsetType = UNSET
    refrigerant: Annotated[MachineRefrigerant, about("Refrigerant.")]
    oil_warm_up: Annotated[
        Duration,
        about(
            "Oil heating before the first start; the maker's longer figure prevails.",
            low=1,
            high=48,
            unit="h",
            basis="common_practice",
        ),
    ] = Duration(1.0, "h")
    body: Annotated[MachineBody, about("Size and mass.")]
    sound_power_level: (
        Annotated[SoundLevel, about("Sound power level re 1 pW.", low=30, high=140, unit="dBA")] | UnsetType
    ) = UNSET
    condenser_airflow: (
        Annotated[VolumeFlow, about("Air through the condenser.", above=0, high=1e6, unit="L/s")] | UnsetType
    ) = UNSET
    hire_rate: Annotated[HireRate, about("Hire of one.")] | UnsetType = UNSET
    hire_rates: HirePrices = ()
    turnaround_days: Turnaround = 0


# --- accessories ----------------------------------------------------------------------------------------------------


class PieceSize(Given, frozen=True, kw_only=True):
    """Outer sizes of one piece, as it is carried."""

    length: Annotated[Length, about("Length.", low=0.01, high=20, unit="m")]
    width: Annotated[Length, about("Width.", low=0.01, high=5, unit="m")]
    height: Annotated[Length, about("Height.", low=0.01, high=5, unit="m")]


class Accessory(Given, frozen=True, kw_only=True):
    """What every row of the accessory stock has."""

    item: Item
    count: ItemCount
    mass: Annotated[Mass, about("Mass of one; asked for where absent.", above=0, high=60000, unit="kg")] | UnsetType = (
        UNSET
    )
    size: Annotated[PieceSize, about("Size of one, for vehicles and for where it stands.")] | UnsetType = UNSET
    hire_rate: Annotated[HireRate, about("Hire of one.")] | UnsetType = UNSET
    hire_rates: HirePrices = ()
    turnaround_days: Turnaround = 0


class Hose(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="hose"):
    """Hose in sections."""

    inner_diameter: Bore
    section_length: Annotated[Length, about("Length of one section.", low=0.5, high=100, unit="m")]
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=10000, unit="kPa")] | UnsetType
    ) = UNSET
    roughness: Annotated[Length, about("Roughness of the wall; 0.05 mm.", low=0, high=3, unit="mm")] | UnsetType = UNSET
    coupling: Annotated[Text, about("Kind of coupling, in generic words.")] = ""


class CableFields(Accessory, frozen=True, kw_only=True):
    """What cable and cable sets have."""

    conductor_size: Annotated[str, about("Size: `4/0 AWG`, `120 mm2`.", min_length=1, max_length=20)]
    section_length: Annotated[Length, about("Length of one section.", low=1, high=600, unit="m")]
    construction: Annotated[
        Literal["single_conductor_portable", "multi_conductor_portable", "wire_in_raceway"], about("What the cable is.")
    ] = "single_conductor_portable"
    ends: Annotated[Literal["connectors", "tails_to_lugs", "mixed"], about("Ends of a run.")] = "connectors"


class Cable(CableFields, frozen=True, kw_only=True, tag_field="kind", tag="cable"):
    """Cable in single pieces: one conductor each, or one cord with all."""


class CableSet(CableFields, frozen=True, kw_only=True, tag_field="kind", tag="cable_set"):
    """Three lines and a ground of one section length, bundled as one piece of stock."""


class Coupling(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="coupling"):
    """Coupling for hose."""

    inner_diameter: Bore | UnsetType = UNSET
    coupling: Annotated[Text, about("Kind of coupling, in generic words.")] = ""


class Reducer(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="reducer"):
    """Reducer between two bores."""

    inner_diameter: Bore | UnsetType = UNSET
    outlet_diameter: Bore | UnsetType = UNSET


class StockValve(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="valve"):
    """Valve."""

    inner_diameter: Bore | UnsetType = UNSET
    flow_coefficient_kv: (
        Annotated[float, about("Kv open: m3/h at 1 bar of cold water.", low=0.1, high=5000)] | UnsetType
    ) = UNSET


class Strainer(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="strainer"):
    """Strainer; in the loop where its rating is given."""

    inner_diameter: Bore | UnsetType = UNSET
    rated_flow: Annotated[VolumeFlow, about("Flow of the rating.", low=0.01, high=2000, unit="L/s")] | UnsetType = UNSET
    rated_pressure_drop: (
        Annotated[PressureDifference, about("Clean drop at the rated flow.", above=0, high=500, unit="kPa")] | UnsetType
    ) = UNSET


class StockPump(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="pump"):
    """Pump on its own skid."""

    pump: Annotated[PumpGiven, about("Its curve, as `hydronic.loop` takes it.")] | UnsetType = UNSET


class BufferVessel(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="buffer_vessel"):
    """Vessel that adds volume to the loop."""

    volume: Annotated[Volume, about("Volume.", above=0, high=100000, unit="L")]
    connection: Annotated[LiquidConnection, about("Its connection; as the hose where absent.")] | UnsetType = UNSET


class ExpansionVessel(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="expansion_vessel"):
    """Vessel that takes up the growth of the liquid."""

    volume: Annotated[Volume, about("Volume.", above=0, high=20000, unit="L")]
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=5000, unit="kPa")] | UnsetType
    ) = UNSET


class Generator(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="generator"):
    """Generating set."""

    rated_active_power: Annotated[Power, about("Rated active power.", above=0, high=10000, unit="kW")]
    rated_apparent_power: Annotated[ApparentPower, about("Rated apparent power.", above=0, high=15000, unit="kVA")]
    subtransient_reactance: Annotated[float, about('X"d per unit.', low=0.05, high=0.5)] | UnsetType = UNSET
    transient_reactance: Annotated[float, about("X'd per unit.", low=0.05, high=0.5)] | UnsetType = UNSET
    fuel_curve: (
        Annotated[tuple[FuelPointGiven, ...], about("Fuel curve, by rising load.", min_length=2, max_length=50)]
        | UnsetType
    ) = UNSET
    tank_volume: Annotated[Volume, about("Fuel tank.", above=0, high=100000, unit="L")] | UnsetType = UNSET
    usable_fraction: Annotated[
        float, about("Share of the tank that can be drawn.", low=0.1, high=1, basis="common_practice")
    ] = 0.9
    sound_power_level: (
        Annotated[SoundLevel, about("Sound power level re 1 pW.", low=30, high=140, unit="dBA")] | UnsetType
    ) = UNSET
    residual_current: ResidualCurrent = UNSET


class LoadBank(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="load_bank"):
    """Resistors that keep a generating set loaded, set in steps."""

    rated_active_power: Annotated[Power, about("Greatest load that it adds.", above=0, high=10000, unit="kW")]
    voltage: (
        Annotated[Voltage, about("Rated voltage between lines; any where absent.", low=180, high=690, unit="V")]
        | UnsetType
    ) = UNSET


class StockTransformer(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="transformer"):
    """Transformer between two voltages."""

    rated_apparent_power: Annotated[ApparentPower, about("Rating.", low=3, high=5000, unit="kVA")]
    primary_voltage: Annotated[Voltage, about("Voltage on its primary.", low=180, high=690, unit="V")]
    secondary_voltage: Annotated[Voltage, about("Voltage on its secondary.", low=180, high=690, unit="V")]
    impedance_fraction: Annotated[float, about("Impedance per unit.", low=0.01, high=0.12)] | UnsetType = UNSET
    x_over_r: Annotated[float, about("X/R.", low=0.3, high=30)] | UnsetType = UNSET


class Panel(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="panel"):
    """Distribution panel."""

    rated_current: Annotated[Current, about("Rated current.", above=0, high=6000, unit="A")] | UnsetType = UNSET
    outlets: Annotated[int, about("Outgoing circuits.", low=1, high=100)] | UnsetType = UNSET
    residual_current: ResidualCurrent = UNSET


class Ramp(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="ramp"):
    """Piece of ramp over hose or cable."""


class Mat(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="mat"):
    """Mat that spreads a load on the ground."""

    length: Annotated[Length, about("Length.", above=0, high=30, unit="m")] | UnsetType = UNSET
    width: Annotated[Length, about("Width.", above=0, high=20, unit="m")] | UnsetType = UNSET


class SpillKit(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="spill_kit"):
    """Spill kit."""


class WhipCheck(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="whip_check"):
    """Restraint that holds a hose whose coupling lets go."""


class Antifreeze(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="antifreeze"):
    """Antifreeze concentrate in drums or totes."""

    fluid: Annotated[Literal["ethylene_glycol", "propylene_glycol"], about("Glycol.")]
    volume: Annotated[Volume, about("Concentrate in one.", above=0, high=50000, unit="L")]
    concentrate_mass_fraction: Annotated[
        float, about("Glycol in the concentrate by mass.", low=0.3, high=1, basis="common_practice")
    ] = 0.95


class OtherItem(Accessory, frozen=True, kw_only=True, tag_field="kind", tag="other"):
    """Anything else that a pick list may name."""


AnyAccessory = (
    Hose | Cable | CableSet | Coupling | Reducer | StockValve | Strainer | StockPump | BufferVessel | ExpansionVessel
    | Generator | LoadBank | StockTransformer | Panel | Ramp | Mat | SpillKit | WhipCheck | Antifreeze | OtherItem
)  # fmt: skip


class Fleet(Given, frozen=True, kw_only=True):
    """What a rental company has on hand: machine types and accessories."""

    name: Annotated[Text, about("Name of the fleet.")] = ""
    machines: Annotated[tuple[MachineType, ...], about("Machine types.", min_length=1, max_length=40)]
    accessories: Annotated[tuple[AnyAccessory, ...], about("Accessories.", max_length=500)] = ()
    rates: (
        Annotated[Rates, about("What transport, crew, fuel and power cost. One currency in a fleet.")] | UnsetType
    ) = UNSET
