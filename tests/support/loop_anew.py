"""A second engine for loops without branches, written from the laws alone: Darcy with 64/Re or Colebrook, affinity, heights.

It reads what `hydronic.loop` is asked, in the units that `test_loop_anew` uses (L/s, m, mm, kPa, Hz), and works in SI.
The liquid is a custom one with all of its properties. Limits are those of the rules beside them, not of the calculator.
"""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

from scipy.optimize import brentq

Json = dict[str, Any]
GRAVITY = 9.80665
ROUGHNESS = {"steel": 0.046, "copper": 0.0015, "plastic": 0.0015, "rubber_hose": 0.05, "lay_flat_hose": 0.05}
"""mm. Crane TP-410 steel and Moody's drawn tubing, as in the library fluids (seen); hose by common practice."""
HOSE = ("rubber_hose", "lay_flat_hose")


def colebrook(re: float, relative: float) -> float:
    """64/Re below 2040; else the factor that solves Colebrook's equation, by passes over it."""
    if re < 2040:
        return 64 / re
    root, before = 7.0, 0.0
    while abs(root - before) > 1e-12:
        root, before = -2 * math.log10(relative / 3.7 + 2.51 * root / re), root
    return 1 / root**2


def straight(points: list[tuple[float, float]], x: float) -> float | None:
    """Straight lines between points; nothing beyond them."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return None


class Anew:
    """One loop, at its duty."""

    def __init__(self, case: Json) -> None:
        self.case = case
        fluid = case["fluid"]
        self.rho, self.mu = fluid["density"]["value"], fluid["dynamic_viscosity"]["value"] / 1e3
        self.cp, self.vapour = fluid["specific_heat"]["value"] * 1e3, fluid["vapor_pressure"]["value"] * 1e3
        self.weight = self.rho * GRAVITY
        self.air = case["atmospheric_pressure"]["value"] * 1e3 if "atmospheric_pressure" in case else 101325.0
        self.base = case.get("pump_elevation", {"value": 0.0})["value"]
        heights = [self.base]
        for element in case["elements"]:
            heights.append(element.get("elevation_out", {"value": heights[-1]})["value"])
        self.heights = list(pairwise(heights))
        self.source = case.get("open_source")
        self.lift = 0.0
        if self.source:
            above = max(0.0, heights[-1] - self.source["surface_elevation"]["value"])
            self.lift = above * self.weight + self.source["suction_pressure_drop"]["value"] * 1e3
        self.flow = self._duty()

    def pumps(self, state: str = "running") -> list[Json]:
        return [p for p in self.case.get("pumps", []) if p.get("state", "running") == state]

    def ratio(self, pump: Json) -> float:
        """A curve that names no frequency is one for 60 Hz (common practice); a pump that names none runs at its own."""
        own: float = pump.get("rated_frequency", {"value": 60.0})["value"]
        return float(pump.get("frequency", {"value": own})["value"] / own)

    def head(self, pump: Json, flow: float, speed: float = 1.0) -> float:
        """Q with speed and count, H with the square of the speed; straight lines between the points. Beyond: -1e6."""
        r = self.ratio(pump) * speed
        points = [(p["flow"]["value"] / 1e3, p["head"]["value"]) for p in pump["curve"]]
        head = straight(points, min(flow / r / pump.get("parallel_count", 1), points[-1][0]))
        return -1e6 if head is None else float(r * r * head)

    def end(self) -> float:
        ends = (p["curve"][-1]["flow"]["value"] * self.ratio(p) * p.get("parallel_count", 1) for p in self.pumps())
        return float(min(ends) / 1e3)

    def rise(self, flow: float, speed: float = 1.0) -> float:
        return float(self.weight * sum(self.head(p, flow, speed) for p in self.pumps()))

    def stands(self, flow: float) -> float:
        """Pumps that stand in the line: bar at m3/h over Kv, as any valve."""
        return math.fsum(
            (flow * 3600 / p["stopped_kv"] / p.get("parallel_count", 1)) ** 2 * self.rho / 1000 * 1e5
            for p in self.pumps("stopped_in_line")
        )

    def element(self, e: Json, flow: float) -> Json:
        """Each, velocity, Reynolds number, factor, drop."""
        if e["type"] == "valve":
            kv = e["flow_coefficient_kv"] if "flow_coefficient_kv" in e else 0.865 * e["flow_coefficient_cv"]
            return {"each": flow, "drop": (flow * 3600 / kv) ** 2 * self.rho / 1000 * 1e5}
        if e["type"] == "device":
            each = flow / e.get("parallel_count", 1)
            n, rated = e.get("exponent", 2.0), e["rated_fluid"]
            correction = self.rho / rated["density"]["value"]
            correction **= n - 1
            correction *= (self.mu * 1e3 / rated["dynamic_viscosity"]["value"]) ** (2 - n)
            share = each * 1e3 / e["rated_flow"]["value"]
            drop = e["rated_pressure_drop"]["value"] * 1e3 * share**n * correction
            return {"each": each, "share": share, "drop": drop}
        bore = e["inner_diameter"]["value"] / 1e3
        each = flow / e.get("parallel_runs", 1)
        speed = each * 4 / math.pi / bore**2
        re = self.rho * speed * bore / self.mu
        answer: Json = {"each": each, "velocity": speed, "reynolds": re}
        if "k_factor" in e:
            return answer | {"drop": e["k_factor"] * self.rho * speed**2 / 2}
        length = e.get("length") or e["equivalent_length"]
        rough = e["roughness"]["value"] if "roughness" in e else ROUGHNESS[e["line_kind"]]
        factor = colebrook(re, rough / bore / 1e3)
        return answer | {"factor": factor, "drop": factor * length["value"] / bore * self.rho * speed**2 / 2}

    def drops(self, flow: float) -> list[float]:
        return [self.element(e, flow)["drop"] for e in self.case["elements"]]

    def loses(self, flow: float) -> float:
        """All that the pumps must make at a flow."""
        return math.fsum(self.drops(flow)) + self.stands(flow) + self.lift

    def _duty(self) -> float:
        if "fixed_flow" in self.case:
            return float(self.case["fixed_flow"]["value"] / 1e3)
        return self.balance(self.loses)

    def balance(self, needed: Callable[[float], float]) -> float:
        end = self.end()
        if self.rise(1e-12) <= needed(1e-12) or self.rise(end) > needed(end):
            raise ArithmeticError("no duty on the curves")
        return float(brentq(lambda q: self.rise(q) - needed(q), 1e-12, end, xtol=1e-16, rtol=1e-13))

    def efficiency(self, pump: Json, flow: float) -> float | None:
        if "efficiency" in pump:
            return float(pump["efficiency"])
        points = [(p["flow"]["value"] / 1e3, p["efficiency"]) for p in pump.get("efficiency_curve", [])]
        found = straight(points, flow / self.ratio(pump) / pump.get("parallel_count", 1))
        return None if found is None or found < 0.05 else found

    def power(self, flow: float, *, of_motors: bool = False) -> float | None:
        """At the shafts, or from the mains."""
        total = 0.0
        for pump in self.pumps():
            efficiency = self.efficiency(pump, flow)
            if efficiency is None or (of_motors and "motor_efficiency" not in pump):
                return None
            power = self.weight * flow * self.head(pump, flow) / efficiency
            total += power / pump["motor_efficiency"] / pump.get("drive_efficiency", 1) if of_motors else power
        return total

    def level(self) -> tuple[float, float]:
        """Pressure at the pump's suction, running, and at its height with all pumps stopped."""
        if self.source:
            standing = self.source["surface_gauge_pressure"]["value"] * 1e3
            standing += self.weight * (self.source["surface_elevation"]["value"] - self.base)
            return standing - self.source["suction_pressure_drop"]["value"] * 1e3, standing
        reference = self.case.get("pressure_reference", {"gauge_pressure": {"value": 150.0}})  # as the answer assumes
        known = reference["gauge_pressure"]["value"] * 1e3
        if reference.get("location", "pump_suction") == "pump_suction":
            return known, known
        names = [e["name"] for e in self.case["elements"]]
        at = names.index(reference["location"])
        after = sum(self.drops(self.flow)[at + 1 :])
        up = self.heights[at][1]
        return known - after + self.weight * (up - self.heights[-1][1]), known + self.weight * (up - self.base)

    def along(self) -> list[tuple[float, float]]:
        """Gauge pressure before and after each element: from the suction backwards, by Bernoulli without its velocity."""
        suction, _ = self.level()
        pressure = suction + (self.source["suction_pressure_drop"]["value"] * 1e3 if self.source else 0.0)
        if self.source:  # what falls free above the surface is lost
            pressure = self.source["surface_gauge_pressure"]["value"] * 1e3
            pressure -= self.weight * min(0.0, self.heights[-1][1] - self.source["surface_elevation"]["value"])
        found = []
        for (low, high), drop in zip(reversed(self.heights), reversed(self.drops(self.flow)), strict=True):
            before = pressure + drop + self.weight * (high - low)
            found.append((before, pressure))
            pressure = before
        return found[::-1]

    def shut_off(self) -> float | None:
        """What the pumps add against a shut valve, in a loop at its greatest standing pressure."""
        most = self.rise(0.0) if self.pumps() else None
        if "shut_off_head" in self.case:
            most = self.weight * self.case["shut_off_head"]["value"]
        reference = self.case.get("pressure_reference")
        if most is not None and reference and not self.source and "gauge_pressure_maximum" in reference:
            most += 1e3 * (reference["gauge_pressure_maximum"]["value"] - reference["gauge_pressure"]["value"])
        return most

    def suction_head(self) -> float:
        return float((self.level()[0] + self.air - self.vapour) / self.weight)

    def suction_needed(self, pump: Json) -> float | None:
        """Read at the flow of one pump over its speed; with the square of a speed above 1, never less."""
        points = [(p["flow"]["value"] / 1e3, p["npsh_required"]["value"]) for p in pump.get("npsh_required_curve", [])]
        if not points:
            return None
        r = self.ratio(pump)
        each = max(self.flow / pump.get("parallel_count", 1) / r, points[0][0])
        needed = points[0][1] if len(points) == 1 else straight(points, each)
        return None if needed is None else needed * max(1.0, r * r)

    def wanted(self) -> float | None:
        required = self.case.get("required")
        if not required:
            return None
        if "flow" in required:
            return float(required["flow"]["value"] / 1e3)
        difference = required["temperature_difference"]["value"]
        return float(required["load"]["value"] * 1e3 / (self.rho * self.cp * difference))
