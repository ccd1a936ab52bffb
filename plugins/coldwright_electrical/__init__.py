"""The electrical family."""

from coldwright.contract import Plugin
from coldwright_electrical.energy_cost import energy_cost
from coldwright_electrical.explorations import LIMIT_EXAMPLE, SWEEP_EXAMPLE, WORKSHEET_EXAMPLE
from coldwright_electrical.fault_current import fault_current
from coldwright_electrical.feeder import feeder
from coldwright_electrical.generator import generator
from coldwright_electrical.service import service
from coldwright_electrical.supply_quality import supply_quality
from coldwright_electrical.transformer import transformer

plugin = Plugin(
    name="electrical",
    title="Temporary electrical supply",
    contract=">=1.2,<2",
    calculators=(service, feeder, supply_quality, generator, transformer, fault_current, energy_cost),
    explorations={"worksheet": WORKSHEET_EXAMPLE, "sweep": SWEEP_EXAMPLE, "limit": LIMIT_EXAMPLE},
    summary="Supply, cable, generator, fault current, readings.",
)
