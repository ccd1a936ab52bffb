"""What to look at first when a fact failed: most likely first, with what decides it. Common practice."""

from typing import Final

from coldwright_readiness.startup.advice.action import Look

NO_FLOW: Final = (
    Look("Strainer clogged", "the drop across the strainer is above its limit"),
    Look("A valve shut, or the wrong one open", "the positions of supply, return and the pump's valves"),
    Look("Air in the pump casing or at the high point", "a vent spits"),
    Look("Pump turning backwards", "the rotation, and the pressures before and after the pump"),
    Look("Flow switch stuck or set wrong", "the switch is not made with the pump off"),
)
LOW_DROP: Final = (
    Look("Strainer clogged", "the drop across the strainer"),
    Look("Bypass open, or a valve throttled", "the positions of the valves"),
    Look("Air in the loop", "a vent spits"),
    Look("Pump turning backwards", "the rotation"),
)
HIGH_DROP: Final = (
    Look("Too much flow: balancing valve too far open", "the flow"),
    Look("Evaporator fouled or frozen", "the water temperatures, and the flow at that drop"),
    Look("Gauges swapped or not at the evaporator", "the pressure at both gauges"),
)
FALLING: Final = (
    Look("A weep at a coupling, vent or drain", "a look for leaks"),
    Look("Drain or vent not quite shut", "the positions of drain and vents"),
    Look("Air still dissolving or leaving", "a vent spits"),
    Look("Water cooling down", "the water temperatures"),
)
STARVED: Final = (
    Look("Filling pressure too low", "the pressure with the pump off"),
    Look("Suction valve shut, or strainer clogged", "the valve, and the drop across the strainer"),
    Look("Air at the suction", "a vent spits"),
)
OVER_PRESSURE: Final = (
    Look("Filling pressure too high", "the pressure with the pump off"),
    Look("Discharge shut: pump against a dead head", "the position of the discharge valve"),
    Look("Fill valve passing", "the pressure rises with the fill valve shut"),
)
SPITTING: Final = (
    Look("High point below its least pressure", "the pressure with the pump off"),
    Look("Suction side drawing air", "a look for leaks"),
    Look("Filled too fast", "vent once more after a rest"),
)
REVERSED: Final = (
    Look("Two lines changed at the source", "the rotation at the source and at the machine"),
    Look("Generator or transfer switch connected otherwise", "the rotation at each source"),
)
LOW_VOLTAGE: Final = (
    Look("Long or thin cable, loose connection", "the voltages at the source and at the machine"),
    Look("Wrong tap or generator setting", "the voltages at the source without load"),
    Look("Other load on the source", "the voltages with that load off"),
)


def high_voltage(earth: str) -> tuple[Look, ...]:
    """The same for a voltage too high; `earth` as it is called there."""
    return (
        Look("Wrong tap or generator setting", "the voltages at the source without load"),
        Look("Machine for another voltage", "the data plate"),
        Look(f"Neutral or {earth} of the source lost", f"each line to {earth} at the source"),
    )


UNBALANCED: Final = (
    Look("Loose or burnt connection", "the voltages line by line back to the source"),
    Look("Single-phase load on the source", "the voltages with that load off"),
)
HERTZ: Final = (
    Look("Generator set wrong or overloaded", "the hertz with the load off"),
    Look("Machine for another frequency", "the data plate"),
)
LOST_SUPPLY: Final = (
    Look("Breaker tripped at closing: a fault in cable or machine", "an insulation test with electronics off"),
    Look("Breaker tripped at pump start: motor or wrong setting", "the pump's current"),
    Look("Breaker tripped at compressor start: setting, locked rotor, low voltage", "the voltages while it starts"),
    Look("Opened by somebody who works at the leads", "a look for locks"),
    Look("Outage of the utility, or generator out of fuel", "the source"),
)
PUMP_TRIP: Final = (
    Look("Overload: too much flow, or bearings", "the flow, and the pump's current"),
    Look("Lost phase or low voltage", "the line voltages"),
    Look("Running dry, or against a dead head", "the vent of its casing, and the valves"),
    Look("Noise like gravel: starved suction", "the pressure at the suction gauge, pump on"),
)
ALARM: Final = (
    Look("High pressure: hot air at the coils, fans, overcharge", "the coils, the fans, the air at the coils"),
    Look("Low pressure: low flow, low load, too little refrigerant", "the drop, and the water temperatures"),
    Look("Freeze protection: too little flow or too low a set point", "the flow, the set point, the mixture"),
)
WEAK: Final = (
    Look("Too little concentrate put in", "the volume put in, and that of the loop"),
    Look("Not yet mixed", "the freezing point after three turnovers"),
    Look("Read by volume and meant by mass", "both scales of the reading"),
)
COLD: Final = (
    Look("Ice in the evaporator", "the drop is higher than before at the same flow"),
    Look("No load in the loop", "the entering temperature"),
    Look("Set point too low", "the set point"),
)
COLD_HEATER: Final = (
    Look("Control switch or its fuse off", "the control switch"),
    Look("Heater burnt out", "the heater's current"),
)
