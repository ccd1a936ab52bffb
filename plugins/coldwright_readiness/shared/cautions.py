"""Cautions of the readiness family, written once and shared."""

from typing import Final

from coldwright.contract import Caution
from coldwright_readiness.shared.references import (
    COMMON_PRACTICE,
    DEENERGISE,
    ELECTRICAL_SAFETY,
    INSULATION,
    LOCKOUT,
    REFRIGERANT_LEAKS,
    REFRIGERANT_WORK,
)

SHOCK_AND_ARC = Caution(
    code="shock_and_arc",
    hazard="electrical",
    statement="Only a qualified electrical person works at the leads, and only after opening the source, locking it "
    "and proving it dead. A stop button, the control switch or an interlock isolates nothing.",
    references=(LOCKOUT.id, DEENERGISE.id),
)
TESTER_PROVED = Caution(
    code="tester_proved",
    hazard="electrical",
    statement="Try the voltage tester on a known live source before and after the measurement that finds nothing.",
    references=(DEENERGISE.id, ELECTRICAL_SAFETY.id),
)
STORED_CHARGE = Caution(
    code="stored_charge",
    hazard="electrical",
    statement="Capacitors and drives hold a charge after the supply is off: wait the time that stands on the plate.",
    references=(COMMON_PRACTICE.id,),
)
INSULATION_TEST = Caution(
    code="insulation_test",
    hazard="electrical",
    statement="Never test the insulation of a hermetic motor while it is under vacuum, nor with electronics connected.",
    references=(INSULATION.id, COMMON_PRACTICE.id),
)
NO_LIVE_CONNECTORS = Caution(
    code="no_live_connectors",
    hazard="electrical",
    statement="Single-pole connectors are never made or broken live, and leads are never swapped live: open, lock and "
    "prove dead first.",
    references=(COMMON_PRACTICE.id, LOCKOUT.id),
)
OWN_LOCK = Caution(
    code="own_lock",
    hazard="electrical",
    statement="Nobody takes off another person's lock.",
    references=(LOCKOUT.id,),
)
SUSPENDED_LOAD = Caution(
    code="suspended_load",
    hazard="lifting",
    statement="Nobody stands under or beside a load that is being lifted: keep the area where it could fall clear.",
    references=(COMMON_PRACTICE.id,),
)
PRESSURE = Caution(
    code="pressure",
    hazard="pressure",
    statement="Fill with a gauge in sight and a relief valve in place. Hoses and caps may hold pressure: prove it is zero "
    "before opening anything.",
    references=(COMMON_PRACTICE.id,),
)
TRAFFIC = Caution(
    code="traffic",
    hazard="general",
    statement="Vehicles move where the work is: use a marshal and keep people and machines apart.",
    references=(COMMON_PRACTICE.id,),
)
SUDDEN_START = Caution(
    code="sudden_start",
    hazard="rotating",
    statement="Fans and compressors start without warning once the control switch is on: stand clear, guards on.",
    references=(COMMON_PRACTICE.id,),
)
HOT_LINES = Caution(
    code="hot_lines",
    hazard="thermal",
    statement="Discharge lines and compressors burn: do not touch them while running or soon after.",
    references=(COMMON_PRACTICE.id,),
)
GLYCOL = Caution(
    code="glycol",
    hazard="chemical",
    statement="Glycol makes floors slippery and ethylene glycol poisons people and animals: catch and recover it, never "
    "into a storm drain.",
    references=(COMMON_PRACTICE.id,),
)
FALSE_READY = Caution(
    code="false_ready",
    hazard="general",
    statement="READY means that nothing recorded forbids the start. It is not an order to start: gauges and eyes at the "
    "machine overrule it, and the person there decides.",
    references=(COMMON_PRACTICE.id,),
)
FREEZING = Caution(
    code="freezing",
    hazard="thermal",
    statement="An evaporator that freezes bursts: stop the compressors when leaving water gets too cold or flow is in "
    "doubt, and keep the pump on.",
    references=(COMMON_PRACTICE.id,),
)
REFRIGERANT = Caution(
    code="refrigerant",
    hazard="refrigerant",
    statement="Work on the refrigerant circuit is for a certified technician. Nothing is vented.",
    references=(REFRIGERANT_WORK.id, REFRIGERANT_LEAKS.id),
)
FROST = Caution(
    code="frost",
    hazard="environment",
    statement="Still water freezes and bursts hoses, pumps and evaporators: drain, protect, or keep power and flow on.",
    references=(COMMON_PRACTICE.id,),
)
FROZEN_VALVES = Caution(
    code="frozen_valves",
    hazard="pressure",
    statement="A frozen valve or gauge can show an empty line that still holds pressure: thaw it before trusting it.",
    references=(COMMON_PRACTICE.id,),
)
COMPRESSED_AIR = Caution(
    code="compressed_air",
    hazard="pressure",
    statement="Blow water out with air or nitrogen at no more than 30 psi (207 kPa), always towards an open end, with "
    "hearing and eye protection.",
    references=(COMMON_PRACTICE.id,),
)
FULL_HOSES = Caution(
    code="full_hoses",
    hazard="lifting",
    statement="A hose full of water is too heavy to drag by hand, and wet ground is slippery: drain first, lift together.",
    references=(COMMON_PRACTICE.id,),
)
SIGNATURE = Caution(
    code="signature_is_no_permit",
    hazard="general",
    statement="A signature accepts the figures. It is no safety permit and replaces no lock.",
    references=(COMMON_PRACTICE.id,),
)
LOCAL_PREVAILS = Caution(
    code="local_prevails",
    hazard="general",
    statement="Local codes, the permits of the site and the licensed trades prevail over this answer. Its data come from "
    "people and gauges and may be wrong.",
)

CONNECTING: Final = (SHOCK_AND_ARC, TESTER_PROVED, STORED_CHARGE, INSULATION_TEST, NO_LIVE_CONNECTORS, OWN_LOCK)
"""Work at the supply."""
PROCEDURE: Final = (
    *CONNECTING, SUSPENDED_LOAD, PRESSURE, TRAFFIC, SUDDEN_START, HOT_LINES, GLYCOL, LOCAL_PREVAILS
)  # fmt: skip
STARTUP: Final = (FALSE_READY, *CONNECTING, SUDDEN_START, HOT_LINES, PRESSURE, GLYCOL, LOCAL_PREVAILS)
COOLING: Final = (FREEZING, SUDDEN_START, HOT_LINES, SHOCK_AND_ARC, REFRIGERANT, LOCAL_PREVAILS)
SHUTDOWN: Final = (
    *CONNECTING, PRESSURE, FROST, FROZEN_VALVES, COMPRESSED_AIR, FULL_HOSES, GLYCOL, REFRIGERANT, SUSPENDED_LOAD,
    LOCAL_PREVAILS,
)  # fmt: skip
HANDOVER: Final = (SIGNATURE, SUDDEN_START, LOCAL_PREVAILS)
