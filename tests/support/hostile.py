"""The hostile plugin of `tests/faults`, installed for tests of isolation and of stopping."""

from pathlib import Path

from installed import install

HARM = "/v1/calculators/hostile/harm"
GENTLE = "/v1/calculators/hostile/gentle"
ONE_METRE = {"length": {"value": 1, "unit": "m"}}


def hostile_environment(folder: Path) -> dict[str, str]:
    """The environment in which it is installed; its metadata go into `folder`."""
    sources = Path(__file__).parents[1] / "faults" / "hostile_plugin"
    return install(folder, "hostile-plugin", sources, {"hostile": "coldwright_hostile:plugin"})
