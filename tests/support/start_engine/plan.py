"""What is set up, as the rules need it: the configuration in plain numbers, its usual values filled in."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from . import units

MINUTE = 60_000_000
HOUR = 60 * MINUTE


@dataclass(frozen=True)
class Plan:
    """kPa, degC, V, L/s; durations in microseconds."""

    generator: bool
    transfer_switch: bool
    own_pump: bool
    pump_fitted: bool
    pump_stops: bool
    water: bool
    rated_voltage: float
    rated_frequency: float | None
    compressors: tuple[str, ...]
    oil_heaters: bool
    warm_up: int
    rest: int
    fill_low: float
    fill_high: float
    suction_low: float
    rated_pressure: float
    head: float
    high_point_low: float
    drop_low: float
    drop_high: float
    flow_low: float
    turnover: int | None
    set_point_low: float
    freeze_margin: float
    required_freeze_point: float | None
    coldest_ambient: float | None
    unbalance: float
    evidence: bool
    ground_run: float | None

    @property
    def pump(self) -> str:
        """The pump that moves the liquid."""
        return "machine" if self.own_pump else "site"

    @property
    def purge_points(self) -> tuple[str, ...]:
        """Where air must be let out."""
        return ("high_point", "pump_casing") if self.own_pump else ("high_point",)


def _flow_low(configuration: Mapping[str, Any]) -> float:
    """R15: the limit given; else by the square law from the reference; else half of rated; 0 L/s never proves flow."""
    if "flow_minimum" in configuration:
        return units.litres_per_second(configuration["flow_minimum"])
    flow = configuration.get("evaporator_reference_flow")
    drop = configuration.get("evaporator_reference_pressure_drop")
    if flow and drop:
        least = units.kilopascals(configuration["evaporator_pressure_drop_minimum"])
        return units.litres_per_second(flow) * float((least / units.kilopascals(drop)) ** 0.5)
    if "rated_flow" in configuration:
        return units.litres_per_second(configuration["rated_flow"]) / 2
    return 0.0


def _turnover(configuration: Mapping[str, Any]) -> int | None:
    if "loop_turnover_time" in configuration:
        return units.microseconds(configuration["loop_turnover_time"])
    return None


def plan_of(configuration: Mapping[str, Any]) -> Plan:
    """The configuration as handed in; what is left out is as the tables of the rules say."""

    def taken(name: str, read: Any, usual: Any) -> Any:
        return read(configuration[name]) if name in configuration else usual

    water = configuration["fluid_kind"] == "water"
    density = 998.0 if water else 1060.0
    return Plan(
        generator=configuration["supply_source"] == "generator",
        transfer_switch=bool(configuration.get("transfer_switch", False)),
        own_pump=configuration["pump_mode"] == "own_pump",
        pump_fitted=bool(configuration.get("pump_fitted", True)),
        pump_stops=configuration["pump_mode"] == "own_pump" or bool(configuration.get("site_pump_stops", True)),
        water=water,
        rated_voltage=taken("rated_voltage", units.plain, 460.0),
        rated_frequency=taken("rated_frequency", units.plain, None),
        compressors=tuple(str(n + 1) for n in range(int(configuration.get("compressors", 1)))),
        oil_heaters=bool(configuration.get("oil_heaters", True)),
        warm_up=taken("warm_up_duration", units.microseconds, HOUR),
        rest=taken("anti_recycle", units.microseconds, 5 * MINUTE),
        fill_low=taken("fill_pressure_minimum", units.kilopascals, 40 * units.KILOPASCAL["psi"]),
        fill_high=taken("fill_pressure_maximum", units.kilopascals, 50 * units.KILOPASCAL["psi"]),
        suction_low=taken("suction_pressure_minimum", units.kilopascals, 35.0),
        rated_pressure=taken("rated_pressure", units.kilopascals, 125 * units.KILOPASCAL["psi"]),
        head=density * 9.80665 * taken("high_point_rise", units.metres, 0.0) / 1000,
        high_point_low=taken("high_point_pressure_minimum", units.kilopascals, 4 * units.KILOPASCAL["psi"]),
        drop_low=units.kilopascals(configuration["evaporator_pressure_drop_minimum"]),
        drop_high=units.kilopascals(configuration["evaporator_pressure_drop_maximum"]),
        flow_low=_flow_low(configuration),
        turnover=_turnover(configuration),
        set_point_low=taken("set_point_minimum_water", units.celsius, 4.4),
        freeze_margin=taken("freeze_margin", units.degrees, 15 * 5 / 9),
        required_freeze_point=taken("required_freeze_point", units.celsius, None),
        coldest_ambient=taken("ambient_temperature", units.celsius, None),
        unbalance=float(configuration.get("voltage_unbalance_limit", 0.02)),
        evidence=bool(configuration.get("require_connection_evidence", False)),
        ground_run=taken("ground_run_resistance", units.ohms, None),
    )
