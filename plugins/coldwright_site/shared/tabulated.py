"""The tables of the family, loaded once."""

from coldwright.contract import load_table

PACKAGE = "coldwright_site"
POWER_LINE_CLEARANCE = load_table(PACKAGE, "power_line_clearance")
SHACKLE_SIDE_LOAD = load_table(PACKAGE, "shackle_side_load")
LOAD_MASS_CONTINGENCY = load_table(PACKAGE, "load_mass_contingency")
PRESUMPTIVE_BEARING = load_table(PACKAGE, "presumptive_bearing")
PRESUMPTIVE_BEARING_EU = load_table(PACKAGE, "presumptive_bearing_eu")
WORKING_SPACE = load_table(PACKAGE, "working_space")
PLACEMENT_CLEARANCES = load_table(PACKAGE, "placement_clearances")
AIR_ABSORPTION = load_table(PACKAGE, "air_absorption")
A_WEIGHTING = load_table(PACKAGE, "a_weighting")
AXLE_LIMITS = load_table(PACKAGE, "axle_limits")
ROAD_SIZE_LIMITS = load_table(PACKAGE, "road_size_limits")
ROAD_LIMITS_EU = load_table(PACKAGE, "road_limits_eu")
LASHING_EU = load_table(PACKAGE, "lashing_eu")
HEAT_BANDS = load_table(PACKAGE, "heat_bands")


def feet(value: float) -> float:
    """Feet in m, exactly."""
    return value * 0.3048


def power_line_distance(volts: float) -> float:
    """Least distance (m) from a power line; the table ends at 1,000 kV, and so does the field's range."""
    rows = POWER_LINE_CLEARANCE.rows
    return feet(next((distance for up_to, distance in rows if volts <= up_to), rows[-1][1]))
