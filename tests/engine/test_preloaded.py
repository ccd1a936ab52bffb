"""What the fork server has loaded is all that a booking needs, and no more: neither module nor fluid is read for it."""

import subprocess
import sys

from coldwright.contract.plugin import Plugin, Role
from coldwright.registry import Registry

SCRIPT = """
import sys
import coldwright.engine.preloaded
from coldwright.engine import worker
before = set(sys.modules)
worker.warm_up()
print(sorted(m for m in set(sys.modules) - before if not m.startswith(("encodings.", "_codecs"))))
print("CoolProp.CoolProp" in sys.modules, "CoolProp" in sys.modules)
"""


def test_a_booking_in_a_new_worker_imports_nothing_and_reads_no_file_of_fluids() -> None:
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True, timeout=120)
    imported, core = done.stdout.splitlines()
    assert imported == "[]"
    assert core == "True False"  # the compiled core without its package, which reads the file of every fluid


def test_the_manifests_say_what_warms_a_worker() -> None:
    registry = Registry.of_ours()
    named = [id_ for plugin in registry.plugins.values() if isinstance(plugin, Plugin) for id_ in plugin.warms]
    assert [served.calculator.id for served in registry.warming()] == named
    assert {"booking.assessment", "readiness.startup"} <= set(named)
    roles: tuple[Role, ...] = ("booking", "fleet", "start", "start_change")
    asked_by_role = {registry.needed(role).calculator.id for role in roles}
    assert asked_by_role <= set(named)
