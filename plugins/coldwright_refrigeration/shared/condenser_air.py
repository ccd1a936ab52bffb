"""What thin or scarce condenser air costs: an equivalent rise of the ambient temperature."""

import math
from typing import NamedTuple


class CondenserAir(NamedTuple):
    """Condenser air away from its rating."""

    density_ratio: float
    airflow_ratio: float
    conductance_ratio: float
    """x: heat that the coil passes for a degree between condensing and air, over the same at rating."""

    def shift(self, condensing_over_ambient: float) -> float:
        """Rise of the ambient temperature with the same effect, in the unit of `condensing_over_ambient`."""
        return (1 / self.conductance_ratio - 1) * condensing_over_ambient


def condenser_air(density_ratio: float, airflow_ratio: float, ntu: float, film_exponent: float) -> CondenserAir:
    """Effectiveness-NTU with one side at constant temperature: mass flow of air scaled by s, its film by s^n."""
    s = density_ratio * airflow_ratio
    x = s * math.expm1(-ntu * s ** (film_exponent - 1)) / math.expm1(-ntu)
    return CondenserAir(density_ratio, airflow_ratio, x)
