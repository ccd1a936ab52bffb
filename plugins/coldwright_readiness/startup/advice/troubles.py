"""What to look at first when a fact failed: most likely first, with the observation that decides. Common practice."""

from typing import Final

from coldwright_readiness.startup.advice.action import Look

NO_FLOW: Final = (
    Look("Strainer clogged", "strainer_pressure_drop above its limit"),
    Look("A valve shut, or the wrong one open", "valve_position of supply, return and the pump's valves"),
    Look("Air in the casing or at the high point", "purge: spitting"),
    Look("Pump turning backwards", "phase_indicator, and the pump's drop of pressure"),
    Look("Flow switch stuck or set wrong", "flow_switch seen not made with the pump off"),
)
LOW_DROP: Final = (
    Look("Strainer clogged", "strainer_pressure_drop"),
    Look("Bypass open, or a valve throttled", "valve_position"),
    Look("Air in the loop", "purge"),
    Look("Pump turning backwards", "phase_indicator"),
)
HIGH_DROP: Final = (
    Look("Too much flow: balancing valve too far open", "flow"),
    Look("Evaporator fouled or frozen", "water_temperature, and the flow at that drop"),
    Look("Gauges swapped or not at the evaporator", "loop_pressure at both gauges"),
)
FALLING: Final = (
    Look("A weep at a coupling, vent or drain", "leak_check"),
    Look("Drain or vent not quite shut", "valve_position drain, vent"),
    Look("Air still dissolving or leaving", "purge: spitting"),
    Look("Water cooling down", "water_temperature"),
)
STARVED: Final = (
    Look("Filling pressure too low", "loop_pressure, pump off"),
    Look("Suction valve or strainer shut or clogged", "strainer_pressure_drop"),
    Look("Air at the suction", "purge"),
)
OVER_PRESSURE: Final = (
    Look("Filling pressure too high", "loop_pressure, pump off"),
    Look("Discharge shut: pump against a dead head", "valve_position pump_discharge"),
    Look("Fill valve passing", "valve_position fill"),
)
SPITTING: Final = (
    Look("High point below its least pressure", "loop_pressure, pump off"),
    Look("Suction side drawing air", "leak_check"),
    Look("Filled too fast", "purge again after a rest"),
)
REVERSED: Final = (
    Look("Two lines changed at the source", "phase_indicator at the source and at the machine"),
    Look("Generator or transfer switch connected otherwise", "phase_indicator at each source"),
)
LOW_VOLTAGE: Final = (
    Look("Long or thin cable, loose connection", "line_voltage at the source and at the machine"),
    Look("Wrong tap or generator setting", "line_voltage at the source, no load"),
    Look("Other load on the source", "line_voltage with that load off"),
)
UNBALANCED: Final = (
    Look("Loose or burnt connection", "line_voltage line by line back to the source"),
    Look("Single-phase load on the source", "line_voltage with that load off"),
)
LOST_SUPPLY: Final = (
    Look("Breaker tripped at closing: a fault in cable or machine", "insulation_test with electronics off"),
    Look("Breaker tripped at pump start: motor or wrong setting", "pump_state, current of the pump"),
    Look("Breaker tripped at compressor start: setting, locked rotor, low voltage", "line_voltage while it starts"),
    Look("Opened by somebody who works at the leads", "lock_check"),
    Look("Outage of the utility or the set out of fuel", "supply with its cause"),
)
PUMP_TRIP: Final = (
    Look("Overload: too much flow, or bearings", "flow, current of the pump"),
    Look("Lost phase or low voltage", "line_voltage"),
    Look("Running dry or against a dead head", "purge, valve_position"),
    Look("Noise like gravel: starved suction", "loop_pressure at the suction gauge, pump on"),
)
ALARM: Final = (
    Look("High pressure: air at the coils, fans, overcharge", "machine_check coils_uncovered, ambient"),
    Look("Low pressure: low flow, low load, lack of refrigerant", "evaporator_pressure_drop, water_temperature"),
    Look("Freeze protection: too little flow or too low a set point", "flow_switch, set_point, antifreeze_reading"),
)
WEAK: Final = (
    Look("Too little concentrate put in", "antifreeze_charge volume, loop volume"),
    Look("Not yet mixed", "antifreeze_reading after three turnovers"),
    Look("Read by volume and meant by mass", "antifreeze_reading with mass_fraction"),
)
COLD: Final = (
    Look("Ice in the evaporator", "evaporator_pressure_drop higher than before at the same flow"),
    Look("No load in the loop", "water_temperature entering"),
    Look("Set point too low", "set_point"),
)
COLD_HEATER: Final = (
    Look("Control switch or its fuse off", "control_switch"),
    Look("Heater burnt out", "current of the heater"),
)
