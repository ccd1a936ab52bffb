"""The same loop in EPANET (engine 2.2, Darcy-Weisbach) by way of wntr: an independent solver for the tests."""

import math
from pathlib import Path
from typing import Any

GRAVITY = 9.80665
EPANET_WATER = 1.1e-5 * 0.3048**2
"""m2/s: the kinematic viscosity that EPANET multiplies by its option `viscosity`."""
WIDE, SHORT = 0.1, 1e-3
"""m: pipe that carries a loss coefficient and next to no friction."""
ROUGHNESS = {"steel": 4.6e-5, "copper": 1.5e-6, "plastic": 1.5e-6, "rubber_hose": 5e-5, "lay_flat_hose": 5e-5}
TO_SI = {"mm": 1e-3, "m": 1.0, "L/s": 1e-3, "kPa": 1e3, "Hz": 1.0}


def si(quantity: dict[str, Any]) -> float:
    return float(quantity["value"]) * TO_SI[quantity["unit"]]


class Builder:
    """Writes the elements of a request into a water network model, one link for each."""

    def __init__(self, given: dict[str, Any], density: float, viscosity: float, rated_density: float) -> None:
        import wntr

        self.wn = wntr.network.WaterNetworkModel()
        self.density, self.rated_density = density, rated_density
        hydraulic = self.wn.options.hydraulic
        hydraulic.headloss, hydraulic.viscosity = "D-W", viscosity / density / EPANET_WATER
        hydraulic.accuracy, hydraulic.trials = 1e-7, 500
        self.wn.options.time.duration = 0
        self.count = 0
        source = given.get("open_source")
        surface = si(source["surface_elevation"]) if source else 0.0
        end = max([surface, *self.last_height(given)]) if source else 0.0
        self.wn.add_reservoir("source", base_head=surface)
        self.wn.add_reservoir("sink", base_head=end)
        at = "source"
        for i, pump in enumerate(p for p in given["pumps"] if p.get("state", "running") == "running"):
            at = self.pump(i, pump, at)
        for i, pump in enumerate(p for p in given["pumps"] if p.get("state") == "stopped_in_line"):
            at = self.loss(f"stopped {i}", self.kv_resistance(pump["stopped_kv"]), at, self.node())
        self.path(given["elements"], at, "sink")

    @staticmethod
    def last_height(given: dict[str, Any]) -> list[float]:
        heights = [si(e["elevation_out"]) for e in given["elements"] if "elevation_out" in e]
        return heights[-1:] or [0.0]

    def node(self) -> str:
        self.count += 1
        name = f"n{self.count}"
        self.wn.add_junction(name, base_demand=0.0, elevation=0.0)
        return name

    def pump(self, i: int, pump: dict[str, Any], start: str) -> str:
        end = self.node()
        points = [(si(p["flow"]), p["head"]["value"]) for p in pump["curve"]]
        self.wn.add_curve(f"curve {i}".replace(" ", "_"), "HEAD", points)
        ratio = (
            pump["frequency"]["value"] / pump.get("rated_frequency", {"value": 60})["value"]
            if "frequency" in pump
            else 1
        )
        for j in range(pump.get("parallel_count", 1)):
            self.wn.add_pump(f"pump_{i}_{j}", start, end, "HEAD", f"curve_{i}", speed=ratio)
        return end

    def path(self, elements: list[dict[str, Any]], start: str, end: str) -> None:
        for i, element in enumerate(elements):
            after = end if i == len(elements) - 1 else self.node()
            self.element(element, start, after)
            start = after

    def element(self, element: dict[str, Any], start: str, end: str) -> None:
        kind = element["type"]
        if kind == "branches":
            for path in element["branches"]:
                self.path(path, start, end)
        elif kind == "line":
            runs = element.get("parallel_runs", 1)
            rough = si(element["roughness"]) if "roughness" in element else ROUGHNESS[element["line_kind"]]
            for j in range(runs):
                self.pipe(
                    f"{element['name']}.{j}", start, end, si(element["length"]), si(element["inner_diameter"]), rough
                )
        else:
            self.loss(element["name"], self.resistance(element), start, end)

    def resistance(self, element: dict[str, Any]) -> float:
        """Pa/(m3/s)^2."""
        if element["type"] == "fittings":
            area = math.pi / 4 * si(element["inner_diameter"]) ** 2 * int(element.get("parallel_runs", 1))
            return float(element["k_factor"]) * self.density / (2 * area**2)
        if element["type"] == "device":
            assert element.get("exponent", 2.0) == 2.0, "EPANET has no other exponent"
            flow = si(element["rated_flow"]) * int(element.get("parallel_count", 1))
            return si(element["rated_pressure_drop"]) / flow**2 * self.density / self.rated_density
        return self.kv_resistance(element["flow_coefficient_kv"])

    def kv_resistance(self, kv: float) -> float:
        return 1e5 * (3600 / kv) ** 2 * self.density / 1000

    def loss(self, name: str, resistance: float, start: str, end: str) -> str:
        area = math.pi / 4 * WIDE**2
        self.pipe(name, start, end, SHORT, WIDE, 0.0, resistance * 2 * area**2 / self.density)
        return end

    def pipe(
        self, name: str, start: str, end: str, length: float, diameter: float, roughness: float, k: float = 0.0
    ) -> None:
        link = name.replace(" ", "_")
        self.wn.add_pipe(link, start, end, length, diameter, max(roughness, 1e-9), k)


def flows(
    given: dict[str, Any], density: float, viscosity: float, rated_density: float, folder: Path
) -> dict[str, float]:
    """Flow of every link, m3/s, by name (parallel runs as NAME.0, NAME.1), and `total`."""
    import wntr

    model = Builder(given, density, viscosity, rated_density).wn
    run = wntr.sim.EpanetSimulator(model).run_sim(file_prefix=str(folder / "epanet"))
    rates = run.link["flowrate"].iloc[0]
    found = {name: float(rate) for name, rate in rates.items()}
    first = [n for n in found if n.startswith("pump_0_")]
    return found | {"total": sum(found[n] for n in first)}
