"""What a row of the fleet leaves to the data plate: the frequency of table and pump, the difference of the table."""

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract.quantities import Frequency, TemperatureDifference
from coldwright_booking.fleet.given import MachineType
from coldwright_hydronic.loop.given import PumpGiven
from coldwright_refrigeration.capacity.given import RatingTable


def plate_difference(machine: MachineType) -> TemperatureDifference:
    """Entering minus leaving liquid at the point of the plate."""
    rating = machine.rating
    return TemperatureDifference.of(
        rating.entering_temperature.to("degC") - rating.leaving_temperature.to("degC"), "delta_degC"
    )


def table_on_plate(machine: MachineType, table: RatingTable) -> RatingTable:
    """The machine's table, for the frequency and the difference of the plate where it does not give its own."""
    basis = table.basis
    hertz = machine.electrical.frequency if basis.frequency is UNSET else basis.frequency
    difference = plate_difference(machine) if basis.temperature_difference is UNSET else basis.temperature_difference
    return replace(table, basis=replace(basis, frequency=hertz, temperature_difference=difference))


def pump_on_supply(machine: MachineType, pump: PumpGiven, supply: Frequency) -> PumpGiven:
    """The machine's own pump at the frequency of the supply; its curve is for that of the plate unless it gives one."""
    rated = machine.electrical.frequency if pump.rated_frequency is UNSET else pump.rated_frequency
    return replace(pump, rated_frequency=rated, frequency=supply)
