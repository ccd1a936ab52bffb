"""What all calculators of the family share about practice, voltage and frequency."""

from typing import Final

from coldwright.contract import Allowed, FieldError, field_error
from coldwright.contract.quantities import Frequency
from coldwright_basis.ratings import Practice

FREQUENCY_UNUSUAL: Final = "frequency_unusual_for_practice"
"""Code of the `check` for 50 Hz under `nec` or 60 Hz under `iec`."""

_usual_frequency: Final = {"nec": 60.0, "iec": 50.0}


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
        why="Motors and tables hold for these two.",
    )


def unusual_frequency(practice: Practice, hertz: float) -> str:
    """Statement of the `check` for a frequency that is not the usual one of the practice; empty if it is."""
    usual = _usual_frequency[practice]
    if hertz == usual:
        return ""
    return f"{hertz:g} Hz with `{practice}` practice, whose usual frequency is {usual:g} Hz."
