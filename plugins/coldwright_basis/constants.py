"""Constants that are fixed by definition."""

from typing import Final

ZERO_CELSIUS: Final = 273.15
"""K, of 0 degC: exact by definition of the Celsius scale (BIPM, SI Brochure, 9th edition, 2.3.1)."""
ZERO_FAHRENHEIT: Final = 459.67
"""degF between absolute zero and 0 degF: exact, from 1 degF = 5/9 K and 32 degF = 0 degC."""
STANDARD_GRAVITY: Final = 9.80665
"""m/s2: standard acceleration of free fall, exact (3rd CGPM, 1901, resolution 2)."""
STANDARD_ATMOSPHERE: Final = 101_325.0
"""Pa: exact (10th CGPM, 1954, resolution 4)."""
TON_OF_REFRIGERATION: Final = 3516.8528420667
"""W: 12,000 Btu (international table, 1055.05585262 J) in an hour."""
