"""Which way each field of a configuration is tighter, as the rules of a start use it."""

import enum
from collections.abc import Callable
from typing import Any, Final, NamedTuple

import msgspec
from msgspec import UNSET

from coldwright.contract.quantities import Duration, Quantity, Temperature
from coldwright_basis.compare import SLACK
from coldwright_readiness.shared.configuration import warm_up_duration
from coldwright_readiness.shared.given import Configuration

USUAL_FIRST_RUN: Final = Duration(5.0, "min")
COLD: Final = Temperature(4.0, "degC")
"""Below it, or not known, the rules ask for the temperatures of plain water."""


class Direction(enum.Enum):
    """What a change comes to."""

    LOOSER = "looser"
    TIGHTER = "tighter"
    OTHER = "other"


class Changed(NamedTuple):
    """A field that changed."""

    name: str
    direction: Direction
    why: str


def _value(name: str) -> Callable[[Configuration], float | None]:
    """The plain value; none where it is not given."""

    def read(c: Configuration) -> float | None:
        value: Any = getattr(c, name)
        if value is UNSET:
            return None
        return value.si if isinstance(value, Quantity) else float(value)

    return read


def least_flow(c: Configuration) -> float:
    """m3/s under which a reading of the flow fails: as given, by the reference flow, or half of rated."""
    if c.flow_minimum is not UNSET:
        return c.flow_minimum.si
    flow, drop = c.evaporator_reference_flow, c.evaporator_reference_pressure_drop
    if flow is not UNSET and drop is not UNSET and c.evaporator_pressure_drop_minimum is not UNSET:
        return float(flow.si * (c.evaporator_pressure_drop_minimum.si / drop.si) ** 0.5)
    return 0.0 if c.rated_flow is UNSET else c.rated_flow.si / 2


def asks_for_water(c: Configuration) -> float:
    """1 where the temperatures of the water are asked for, by the air."""
    return 1.0 if c.ambient_temperature is UNSET or c.ambient_temperature.si < COLD.si else 0.0


def first_run(c: Configuration) -> float:
    """Seconds of proved flow that the first run takes."""
    return USUAL_FIRST_RUN.si if c.loop_turnover_time is UNSET else c.loop_turnover_time.si


def _weakest_freeze_point(c: Configuration) -> float | None:
    return None if c.required_freeze_point is UNSET else c.required_freeze_point.si


Limit = tuple[str, Callable[[Configuration], float | None], str]
HIGHER_IS_TIGHTER: Final[tuple[Limit, ...]] = (
    ("warm_up_duration", lambda c: warm_up_duration(c).si, "The oil is heated for a shorter time."),
    ("fill_pressure_minimum", _value("fill_pressure_minimum"), "Less pressure at the gauge is enough."),
    ("high_point_rise", _value("high_point_rise"), "Less pressure reaches the highest point."),
    ("high_point_pressure_minimum", _value("high_point_pressure_minimum"), "Less is kept at the highest point."),
    ("evaporator_pressure_drop_minimum", _value("evaporator_pressure_drop_minimum"), "Less flow passes for proved."),
    ("flow_minimum", least_flow, "Less flow passes for proved."),
    ("suction_pressure_minimum", _value("suction_pressure_minimum"), "The pump may run with less at its suction."),
    ("ambient_temperature", asks_for_water, "The temperatures of the water are not asked for any more."),
    ("oil_heaters", _value("oil_heaters"), "No heater is looked at any more."),
    ("transfer_switch", _value("transfer_switch"), "The rotation is not read after every loss of supply any more."),
    ("site_pump_stops", _value("site_pump_stops"), "Pressure and air are proved without stopping the pump."),
    ("set_point_minimum_water", _value("set_point_minimum_water"), "Colder water is taken, nearer to ice."),
    ("freeze_margin", _value("freeze_margin"), "A weaker mixture is taken."),
    ("anti_recycle", _value("anti_recycle"), "A compressor rests for a shorter time."),
    ("loop_turnover_time", first_run, "The first run of the pump is shorter."),
    ("require_connection_evidence", _value("require_connection_evidence"), "Connecting need not be on record."),
)
LOWER_IS_TIGHTER: Final[tuple[Limit, ...]] = (
    ("fill_pressure_maximum", _value("fill_pressure_maximum"), "More pressure is taken."),
    ("evaporator_pressure_drop_maximum", _value("evaporator_pressure_drop_maximum"), "A greater drop is taken."),
    ("rated_pressure", _value("rated_pressure"), "The weakest part may see more pressure."),
    ("required_freeze_point", _weakest_freeze_point, "A weaker mixture is taken."),
    ("voltage_unbalance_limit", _value("voltage_unbalance_limit"), "More unbalance is taken."),
    ("ground_run_resistance", _value("ground_run_resistance"), "A worse ground is taken."),
    ("own_breaker", _value("own_breaker"), "What is recorded at its own breaker stops no other machine any more."),
)
STRUCTURAL: Final = ("supply_source", "pump_mode", "fluid_kind", "compressors", "circuits")
FACTS: Final = ("rated_voltage", "rated_frequency", "pump_fitted", "evaporator_reference_flow",
                "evaporator_reference_pressure_drop", "rated_flow", "source", "loop")  # fmt: skip
"""They stand on a plate: giving one that was not known loosens nothing, another one is another machine."""


def directions(before: Configuration | None, after: Configuration) -> list[Changed]:
    """Every field that changed, by name."""
    old = before if before is not None else _usual(after)
    found: dict[str, Changed] = {}
    for name in STRUCTURAL:
        if before is not None and getattr(before, name) != getattr(after, name):
            found[name] = Changed(name, Direction.OTHER, "")
    for name in FACTS:
        if before is not None and _other_fact(getattr(before, name), getattr(after, name)):
            found[name] = Changed(name, Direction.OTHER, "")
    for limits, sign in ((HIGHER_IS_TIGHTER, 1), (LOWER_IS_TIGHTER, -1)):
        for name, read, why in limits:
            direction = _compared(read(old), read(after), sign)
            if direction is not None:
                found[name] = Changed(name, direction, why if direction is Direction.LOOSER else "")
    return [found[name] for name in sorted(found)]


def _usual(after: Configuration) -> Configuration:
    """Nothing but what every set-up must say, and the usual values."""
    required = {name: getattr(after, name) for name in ("supply_source", "pump_mode", "fluid_kind")}
    return Configuration(**required)


def _other_fact(before: Any, after: Any) -> bool:
    if before is UNSET:
        return False
    if isinstance(before, Quantity) and isinstance(after, Quantity):
        return not _same(before.si, after.si)
    return bool(before != after)


def _compared(before: float | None, after: float | None, sign: int) -> Direction | None:
    """The direction of a limit; one that is not given limits nothing."""
    if before is None or after is None:
        if before is after:
            return None
        return Direction.LOOSER if after is None else Direction.TIGHTER
    if _same(before, after):
        return None
    return Direction.TIGHTER if (after - before) * sign > 0 else Direction.LOOSER


def _same(one: float, other: float) -> bool:
    """Whether it is one value, written in two units."""
    return abs(one - other) <= 1e-4 * max(abs(one), abs(other), SLACK)


ALL_NAMES: Final = frozenset(f.encode_name for f in msgspec.structs.fields(Configuration))
NO_LIMIT: Final = ALL_NAMES - {n for n, _, _ in HIGHER_IS_TIGHTER + LOWER_IS_TIGHTER} - {*STRUCTURAL, *FACTS}
"""Fields that the rules of a start do not read; a test holds this list."""
