"""Findings that readings of a supply may give."""

from typing import Final

from coldwright.contract import finding
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL

FINDINGS: Final = (
    finding("not_qualified", "stop", "The readings were not taken by a qualified person."),
    finding("nameplate_mismatch", "stop", "The machine is made for another voltage than the system's."),
    finding("lost_phase", "stop", "A line is dead or nearly so."),
    finding("rotation_reversed", "stop", "The phase sequence is reversed."),
    finding("rotation_unknown", "stop", "The phase sequence has not been checked."),
    finding("rotation_conflict", "stop", "Rotation reads correct and the phase monitor has tripped."),
    finding("voltage_low", "stop", "A line voltage is below the least allowed."),
    finding("voltage_high", "stop", "A line voltage is above the greatest allowed."),
    finding("unbalance_above_limit", "stop", "The voltage unbalance is above the limit."),
    finding("unbalance_above_five_percent", "stop", "The voltage unbalance is above 5 %: no motor may run."),
    finding("frequency_out", "stop", "The frequency is outside its range."),
    finding("voltage_and_frequency_out", "stop", "Voltage and frequency together deviate too far."),
    finding("single_phasing", "stop", "A line carries almost no current while the others do."),
    finding("unbalance_derates", "check", "The voltage unbalance costs the motor output and life."),
    finding("readings_do_not_close", "check", "The three voltages cannot be of one moment."),
    finding("current_unbalance", "check", "The current unbalance is above its limit."),
    finding("machine_suspected", ("check", "note"), "Currents are less even than the voltages explain."),
    finding("unloaded_readings", "check", "The voltages were read without load."),
    finding("loaded_without_current", "check", "The machine is said to run, and no current was read."),
    finding("line_to_ground_uneven", "check", "The voltages to ground differ."),
    finding("outside_nominal_tolerance", "check", "The mean is more than 10 % off the nominal voltage."),
    finding(FREQUENCY_UNUSUAL, "check", "Frequency and practice do not usually go together."),
    finding("no_load_currents", "note", "The machine ran, and no currents were given."),
    finding("nameplate_below_nominal", "note", "The plate is below the nominal voltage, as is usual."),
    finding("supply_isolated", "note", "The supply is isolated: nothing can start."),
)
