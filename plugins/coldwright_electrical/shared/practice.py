"""What all calculators of the family share about practice, voltage and frequency."""

from typing import Annotated, Final, Literal

from coldwright.contract import Allowed, FieldError, about, field_error, load_table
from coldwright.contract.quantities import Frequency, Voltage
from coldwright_basis.ratings import Practice

VOLTAGE_PAIRS = load_table("coldwright_electrical", "voltage_pairs")

PracticeField = Annotated[
    Literal["nec", "iec"],
    about(
        "Whose rules: `nec` for United States and Canadian practice (AWG sizes), `iec` for IEC and EN practice (mm2 "
        "sizes). There is no default, because it changes the legal basis."
    ),
]

SystemVoltage = Annotated[
    Voltage,
    about(
        "Nominal voltage between lines of the three-phase system.",
        low=180,
        high=690,
        unit="V",
        why="the methods hold for low-voltage three-phase systems",
    ),
]

SystemFrequency = Annotated[
    Frequency,
    about("Frequency of the system, 50 or 60 Hz.", low=50, high=60, unit="Hz", why="the tables hold for 50 and 60 Hz"),
]

FREQUENCY_UNUSUAL: Final = "frequency_unusual_for_practice"
"""Code of the `check` for 50 Hz under `nec` or 60 Hz under `iec`."""

_usual_frequency: Final = {"nec": 60.0, "iec": 50.0}

_nameplate_of: Final = {float(system): float(plate) for system, plate in VOLTAGE_PAIRS.rows}


def motor_nameplate(system_voltage: float) -> float:
    """Nameplate voltage [V] of motors made for a system: 480 -> 460; any other system is its own nameplate."""
    return _nameplate_of.get(system_voltage, system_voltage)


def frequency_error(frequency: Frequency, pointer: str = "/frequency") -> FieldError | None:
    """The refusal of any frequency but 50 and 60 Hz."""
    if frequency.value in (50, 60):
        return None
    return field_error(
        pointer,
        f"The frequency is {frequency}: only 50 Hz and 60 Hz are taken.",
        code="not_allowed",
        value=frequency,
        allowed=Allowed(one_of=("50", "60"), unit="Hz"),
        why="motors and tables hold for these two",
    )


def unusual_frequency(practice: Practice, hertz: float) -> str:
    """Statement of the `check` for a frequency that is not the usual one of the practice; empty if it is."""
    usual = _usual_frequency[practice]
    if hertz == usual:
        return ""
    return f"{hertz:g} Hz with `{practice}` practice, whose usual frequency is {usual:g} Hz."
