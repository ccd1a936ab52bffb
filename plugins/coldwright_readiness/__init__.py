"""The readiness family: from the truck at the gate to a proven start, and back."""

from coldwright.contract import Plugin
from coldwright_readiness.cooling_proof import cooling_proof
from coldwright_readiness.handover import handover
from coldwright_readiness.procedure import procedure
from coldwright_readiness.shutdown import shutdown
from coldwright_readiness.start_change import start_change
from coldwright_readiness.start_forms import start_forms
from coldwright_readiness.startup import startup
from coldwright_readiness.startup_1 import startup_1

plugin = Plugin(
    name="readiness",
    title="Readiness: set-up, start-up, proof of cooling, shutdown, handover",
    contract=">=1.2,<2",
    calculators=(procedure, startup, startup_1, start_change, start_forms, cooling_proof, shutdown, handover),
    roles={"start": startup.id, "start_change": start_change.id, "start_forms": start_forms.id},
    warms=(startup.id, start_change.id, start_forms.id),
    summary="Order of work, may it start, proof of cooling, shutdown, handover.",
)
