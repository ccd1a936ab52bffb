"""A second, deliberately slow reading of the rules of a start, for comparison with `readiness.startup`.

It shares no code with the calculator and goes another way: nothing is carried along. How things stood after the k-th
record is asked anew each time by looking back from k, the pump records that losses bring about are found by repeating
until nothing changes, and instants are fractions of seconds.
"""

import itertools
import json
import math
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
SCALE = {"s": 1, "min": 60, "h": 3600, "d": 86400}
PRESSURE = {"kPa": 1e3, "Pa": 1.0, "psi": 6894.757293168361, "bar": 1e5}
SUBJECT = {
    "lock": ("lock_id",),
    "valve_position": ("valve",),
    "hose_connection": ("end",),
    "purge": ("point",),
    "alarm": ("code",),
    "pump_state": ("pump",),
    "compressor": ("id",),
    "line_connection": ("end", "set"),
    "oil_heater": ("compressor",),
    "machine_check": ("item",),
}
EXTRA_KINDS = {
    "proved_dead", "line_connection", "earth_continuity", "insulation_test", "cable_route", "transfer_interlock",
    "oil_heater", "machine_check", "moved",
}  # fmt: skip
FACT = {
    "R01": "locks_clear", "R02": "supply_matches_plate", "R03": "level", "R04": "ground_connected", "R05": "energised",
    "R06": "voltage_in_limits", "R07": "phase_correct", "R08": "hoses_connected", "R09": "valves_set",
    "R10": "loop_pressurised", "R11": "purged", "R12": "leak_free", "R13": "antifreeze_adequate", "R14": "pump_running",
    "R15": "flow_proven", "R16": "strainer_clear", "R17": "set_point_safe", "R18": "no_alarm", "R19": "people_clear",
    "R20": "oil_warm", "R21": "proved_dead", "R22": "connection_order", "R23": "connectors_mated",
    "R24": "ground_continuity", "R25": "insulation_good", "R26": "cable_route_safe", "R27": "transfer_safe",
    "R28": "qualified_hands", "R29": "oil_heaters_working", "R30": "machine_checks_ok",
}  # fmt: skip
FAVOURABLE_STATE = {
    "supply": "on", "pump_state": "on", "control_switch": "on", "isolator": "closed", "lock": "removed",
    "flow_switch": "made", "alarm": "cleared",
}  # fmt: skip
FAVOURABLE_WORD = {"phase_indicator": "correct", "purge": "steady_water", "leak_check": "dry"}
EVENTS = ("leads_swapped", "loop_opened", "drain", "fill", "antifreeze_charge", "line_connection", "moved")
NEUTRAL = ("compressor", "set_point", "plate_check", "water_temperature", "antifreeze_reading", "flow")
AGE = {"R05": 720, "R06": 240, "R10": 720, "R14": 30, "R15": 15, "R19": 10}


def seconds(quantity: dict[str, Any] | None) -> Fraction:
    return Fraction(0) if quantity is None else Fraction(quantity["value"]) * SCALE[quantity["unit"]]


def moment(stamp: str) -> Fraction:
    passed = datetime.fromisoformat(stamp) - EPOCH
    return Fraction(passed.days * 86400 + passed.seconds) + Fraction(passed.microseconds, 10**6)


def pascal(quantity: dict[str, Any]) -> float:
    return quantity["value"] * PRESSURE[quantity["unit"]]


def celsius(quantity: dict[str, Any]) -> float:
    return quantity["value"] if quantity["unit"] == "degC" else (quantity["value"] - 32) / 1.8


def close_or_below(a: float, b: float) -> bool:
    return a < b or math.isclose(a, b, rel_tol=1e-8, abs_tol=1e-6)


class Seen:
    """One record, at its place."""

    def __init__(self, raw: dict[str, Any]) -> None:
        self.raw = raw
        self.id, self.kind, self.d = raw["id"], raw["kind"], raw["data"]
        self.by, self.role = raw.get("by"), raw.get("role")
        self.t = moment(raw["at"]) - seconds(raw.get("clock_offset"))
        self.u = seconds(raw.get("time_uncertainty"))
        self.adverse = False
        self.place = Fraction(0)
        self.rank = 0
        self.part = 0
        self.cause: Seen | None = None
        self.text = canonical(raw)

    @property
    def subject(self) -> tuple[Any, ...]:
        defaults = {"set": 1}
        return (self.kind, *(self.d.get(k, defaults.get(k)) for k in SUBJECT.get(self.kind, ())))

    def sort_key(self) -> tuple[Any, ...]:
        return (self.place, self.rank, (self.cause or self).id, self.text, self.part)

    @property
    def shown(self) -> str:
        return self.id if self.cause is None else f"{self.cause.id}#pump"

    @property
    def origin(self) -> str:
        return (self.cause or self).id


class Reference:
    """The verdict by the slow way."""

    def __init__(self, request: dict[str, Any], freezing_by_strength) -> None:
        self.c = request["configuration"]
        self.now = moment(request["evaluated_at"])
        self.freezing = freezing_by_strength
        self.own = self.c["pump_mode"] == "own_pump"
        self.pump = "machine" if self.own else "site"
        self.rated = self.c.get("rated_voltage", {"value": 460})["value"]
        self.glycol = self.c["fluid_kind"] != "water"
        self.required = self.c.get("require_connection_evidence", False)
        rise = self.c.get("high_point_rise", {"value": 0})["value"]
        self.head = (1060.0 if self.glycol else 998.0) * 9.80665 * rise
        everything = [Seen(raw) for raw in request["observations"]]
        for s in everything:
            s.adverse = self.adverse(s)
        self.kinds = {s.kind for s in everything}
        self.doubts: dict[tuple[Any, ...], tuple[Any, ...]] = {}
        self.found: set[tuple[str, tuple[str, ...]]] = set()
        self.list = self.with_pumps(self.in_halves(self.corrected(self.timely(self.one_story(everything)))))

    # --- order ---------------------------------------------------------------------------------------------------

    def one_story(self, everything: list[Seen]) -> list[Seen]:
        kept = []
        for id_ in sorted({s.id for s in everything}):
            contents = list({s.text: s for s in everything if s.id == id_}.values())
            if len(contents) == 1:
                kept += contents
                contents[0].text = ""
                continue
            self.found.add(("I11", (id_,)))
            for s in contents:
                if s.adverse:
                    kept.append(s)
                elif s.t - s.u <= self.now + 120:
                    place = (s.t + s.u, 3, s.id, s.text, 0)
                    self.doubts[s.subject] = max(place, self.doubts.get(s.subject, place))
        return kept

    def timely(self, some: list[Seen]) -> list[Seen]:
        kept = []
        for s in some:
            s.place, s.rank = (s.t + s.u, 3) if s.adverse else (s.t - s.u, 0)
            if s.t - s.u > self.now + 120:
                self.found.add(("I1", (s.id,)))
                if not (s.adverse and s.kind in ("lock", "area_clear")):
                    continue
                s.t, s.u, s.place = self.now, Fraction(0), self.now
            kept.append(s)
        return kept

    def corrected(self, some: list[Seen]) -> list[Seen]:
        def may(a: Seen, b: Seen) -> bool:
            if a.subject != b.subject:
                return False
            return not (b.kind == "lock" and b.adverse) or (a.by is not None and a.by == b.by)

        names = {a: [b for b in some if b.id == a.raw.get("supersedes")] for a in some}
        aims = {a: [b for b in bs if may(a, b)] for a, bs in names.items()}

        def reaches(a: Seen, goal: Seen) -> bool:
            seen, todo = set(), list(aims[a])
            while todo:
                n = todo.pop()
                if n is goal:
                    return True
                if n not in seen:
                    seen.add(n)
                    todo += aims[n]
            return False

        ring = {a for a in some if reaches(a, a)}
        for a in some:
            if names[a] and (a in ring or len(aims[a]) < len(names[a])):
                self.found.add(("I17", tuple(sorted({a.id, a.raw["supersedes"]}))))
        gone = {b for a in some if a not in ring for b in aims[a]}
        return [s for s in some if s not in gone]

    def in_halves(self, some: list[Seen]) -> list[Seen]:
        result = []
        for s in some:
            result.append(s)
            if s.kind == "supply" and s.d["state"] == "interrupted":
                gap = seconds(s.d.get("duration"))
                back = Seen(s.raw)
                back.text, back.part, back.t, back.u = s.text, 1, s.t + gap, s.u
                back.place = back.t + back.u
                s.rank, back.rank = (3, 0) if gap else (1, 2)
                result.append(back)
        return sorted(result, key=Seen.sort_key)

    def with_pumps(self, some: list[Seen]) -> list[Seen]:
        """Add the pump records that follow from the others, until nothing more follows."""
        added: dict[tuple[Any, ...], Seen] = {}
        while True:
            self.list = sorted([*some, *added.values()], key=Seen.sort_key)
            wanted: dict[tuple[Any, ...], Seen] = {}
            for k, s in enumerate(self.list):
                for pump, place in self.stops(k):
                    off = Seen({**s.raw, "kind": "pump_state", "data": {"pump": pump, "state": "off"}})
                    off.t, off.u, off.text, off.cause, off.adverse = s.t, s.u, s.text, s, True
                    off.place, off.rank, off.part = place, 3, s.part + 1
                    wanted[off.sort_key()] = off
            if wanted.keys() == added.keys():
                return self.list
            added = wanted

    def stops(self, k: int) -> list[tuple[str, Fraction]]:
        s = self.list[k]
        if s.cause is not None:
            return []
        if s.kind in ("loop_pressure", "purge"):
            return [(self.pump, s.t + s.u)] if s.d["pump"] == "off" and self.on(self.pump, k - 1) else []
        off = {
            "supply": s.kind == "supply" and (s.d["state"] == "off" or s.part == 1),
            "isolator": s.d.get("state") == "open",
            "control_switch": s.d.get("state") == "off",
            "leads_swapped": True,
            "moved": True,
            "line_voltage": s.kind == "line_voltage" and not self.alive(s) and self.supply(k - 1) is True,
            "phase_indicator": s.d.get("rotation") == "missing_phase" and self.supply(k - 1) is True,
            "line_connection": s.d.get("state") == "disconnected" or self.source(k - 1) is True,
        }
        return [("machine", s.place)] if off.get(s.kind, False) else []

    # --- single judgements -----------------------------------------------------------------------------------------

    def valve_places(self) -> dict[str, str]:
        places = {"supply": "open", "return": "open", "fill": "closed", "drain": "closed"}
        if self.c.get("pump_fitted", True):
            run = ("open", "open", "closed") if self.own else ("closed", "closed", "open")
            places |= dict(zip(("pump_suction", "pump_discharge", "pump_bypass"), run, strict=True))
        return places

    def lines(self, s: Seen) -> list[float]:
        return [s.d[n]["value"] / self.rated for n in ("v_ab", "v_bc", "v_ca")]

    def alive(self, s: Seen) -> bool:
        if s.kind == "line_voltage":
            return close_or_below(0.5, min(self.lines(s)))
        return s.kind == "phase_indicator" and s.d["rotation"] in ("correct", "reversed")

    def is_sign(self, s: Seen) -> bool:
        if s.kind == "supply":
            return s.d["state"] == "on" or (s.part == 1 and s.place <= self.now)
        return self.alive(s)

    def top_good(self, p: float) -> bool:
        return close_or_below(4 * PRESSURE["psi"], p - self.head)

    def pressure_good(self, p: float) -> bool:
        return close_or_below(40 * PRESSURE["psi"], p) and close_or_below(p, 50 * PRESSURE["psi"]) and self.top_good(p)

    def drop_good(self, p: float) -> bool:
        low, high = (pascal(self.c[f"evaporator_pressure_drop_{n}"]) for n in ("minimum", "maximum"))
        return close_or_below(low, p) and close_or_below(p, high)

    def adverse(self, s: Seen) -> bool:
        d = s.d
        if s.kind in EVENTS or s.kind in NEUTRAL:
            return s.kind in EVENTS
        if s.kind in FAVOURABLE_STATE:
            return d["state"] != FAVOURABLE_STATE[s.kind]
        if s.kind in FAVOURABLE_WORD:
            return d.get("rotation", d.get("result")) != FAVOURABLE_WORD[s.kind]
        return self.out_of_limits(s)

    def out_of_limits(self, s: Seen) -> bool:
        d = s.d
        match s.kind:
            case "line_voltage":
                return not close_or_below(0.9, min(self.lines(s)))
            case "valve_position":
                return self.valve_places().get(d["valve"], d["position"]) != d["position"]
            case "loop_pressure":
                return d["pump"] == "off" and not self.pressure_good(pascal(d["value"]))
            case "evaporator_pressure_drop":
                return not self.drop_good(pascal(d["value"]))
            case "earth_continuity":
                own = self.c.get("ground_run_resistance", {"value": 0.9})["value"]
                return not close_or_below(d["resistance"]["value"], min(1.0, own + 0.1))
            case "insulation_test":
                return d["resistance"]["value"] < 1 or d["test_voltage"]["value"] < 500 or not all_true(d)
            case _:
                return not all_true(d)

    # --- how things stood after record k -----------------------------------------------------------------------------

    def back(self, k: int, *kinds: str) -> list[tuple[int, Seen]]:
        """Records of some kinds from k backwards."""
        return [(i, self.list[i]) for i in range(k, -1, -1) if self.list[i].kind in kinds]

    def source(self, k: int) -> bool | None:
        for _, s in self.back(k, "supply", "line_voltage", "phase_indicator"):
            if self.is_sign(s):
                return True
            if s.kind == "supply" and s.part == 0:
                return False
        return None

    def supply(self, k: int) -> bool | None:
        for i in range(k, -1, -1):
            s = self.list[i]
            if s.cause is not None:
                continue
            if self.is_sign(s):
                return True
            lost = (
                (s.kind == "supply" and s.part == 0)
                or s.kind in ("leads_swapped", "moved")
                or (s.kind == "isolator" and s.d["state"] == "open")
                or (s.kind == "line_connection" and (s.d["state"] == "disconnected" or self.source(i - 1) is True))
            )
            if lost:
                return False
            dead = s.kind == "line_voltage" or (s.kind == "phase_indicator" and s.d["rotation"] == "missing_phase")
            if dead and self.supply(i - 1) is True:
                return False
        return None

    def switch(self, k: int) -> bool | None:
        for _, s in self.back(k, "control_switch", "moved"):
            return s.d.get("state") == "on"
        return None

    def isolator(self, k: int) -> bool:
        return all(s.d["state"] == "closed" for _, s in self.back(k, "isolator")[:1])

    def voltage(self, k: int) -> bool:
        return all(close_or_below(0.9, min(self.lines(s))) for _, s in self.back(k, "line_voltage")[:1])

    def heaters(self, k: int) -> bool:
        last: dict[str, bool] = {}
        for _, s in self.back(k, "oil_heater"):
            last.setdefault(s.d["compressor"], s.d["working"])
        return all(last.values())

    STATES = ("supply", "switch", "isolator", "voltage", "heaters")

    def good(self, k: int) -> bool:
        return k >= 0 and all(getattr(self, name)(k) is True for name in self.STATES)

    def since(self, k: int) -> Fraction | None:
        """z after record k."""
        if not self.good(k):
            return None
        while self.good(k - 1):
            k -= 1
        instants = []
        for name in self.STATES:
            state = getattr(self, name)
            i = k
            while i >= 0 and state(i) is True:
                i -= 1
            if i >= 0 or name in ("supply", "switch"):
                instants.append(self.list[i + 1].t + self.list[i + 1].u)
            if name == "heaters":  # each heater that came back counts, not only the last
                instants += [r.t + r.u for j, r in self.back(k, "oil_heater") if self.came_back(j)]
        gaps = [s.t + s.u + seconds(s.d.get("duration")) for _, s in self.back(k, "supply") if self.is_gap(s)]
        return max(instants + gaps)

    def came_back(self, j: int) -> bool:
        s = self.list[j]
        if not s.d["working"]:
            return False
        before = [r for _, r in self.back(j - 1, "oil_heater") if r.d["compressor"] == s.d["compressor"]]
        return bool(before) and not before[0].d["working"]

    def is_gap(self, s: Seen) -> bool:
        return s.d["state"] == "interrupted" and s.part == 0

    def on(self, pump: str, k: int) -> bool:
        for _, s in self.back(k, "pump_state"):
            if s.d["pump"] == pump:
                return s.d["state"] == "on"
        return False

    def on_at(self, pump: str, instant: Fraction) -> bool:
        before = [i for i, s in enumerate(self.list) if s.place <= instant]
        return bool(before) and self.on(pump, before[-1])

    def on_near(self, instant: Fraction) -> bool:
        moments = {instant - 60} | {s.place for s in self.list if instant - 60 <= s.place <= instant + 60}
        return any(self.on_at(pump, m) for m in moments for pump in ("machine", "site"))

    def locks(self, k: int) -> set[str]:
        last: dict[str, str] = {}
        for _, s in self.back(k, "lock"):
            last.setdefault(s.d["lock_id"], s.d["state"])
        return {lock for lock, state in last.items() if state == "applied"}

    # --- facts -------------------------------------------------------------------------------------------------------

    def all(self, *kinds: str) -> list[tuple[int, Seen]]:
        return [(i, s) for i, s in enumerate(self.list) if s.kind in kinds and s.cause is None]

    def last(self, kind: str, **such: Any) -> tuple[int, Seen] | None:
        rows = [(i, s) for i, s in self.all(kind) if all(s.d.get(k) == v for k, v in such.items())]
        return rows[-1] if rows else None

    def latest_each(self, kind: str) -> list[tuple[int, Seen]]:
        return list({s.subject: (i, s) for i, s in self.all(kind)}.values())

    def doubted(self, s: Seen) -> bool:
        return s.subject in self.doubts and self.doubts[s.subject] > s.sort_key()

    def doubted_kind(self, kind: str) -> bool:
        latest = {s.subject: s for _, s in self.all(kind)}
        return any(
            subject[0] == kind and (subject not in latest or place > latest[subject].sort_key())
            for subject, place in self.doubts.items()
        )

    def fact(self, rule, needed, good, undoing=(), doubt=False):
        """(status, undoing record's id, reset rule)."""
        if not needed or any(n is None for n in needed):
            return ("missing", None, None)
        later = [(i, self.list[i], v) for i, v in undoing if i > min(n for n, _ in needed)]
        if later:
            _, s, v = max(later, key=lambda row: row[0])
            return ("invalidated", s.origin, v)
        if rule in AGE and any(max(0, self.now - (s.t - s.u)) > AGE[rule] * 60 for _, s in needed):
            return ("stale", None, None)
        if not good:
            return ("failed", None, None)
        if doubt or any(self.doubted(s) for _, s in needed):
            return ("contradicted", None, None)
        return ("established", None, None)

    def marks(self, v: str, *kinds: str, such=bool):
        return [(i, v) for i, s in self.all(*kinds) if such(s)]

    def moves(self):
        return self.marks("V10", "moved")[-1:]

    def losses(self):
        rows = []
        for i, s in enumerate(self.list):
            if s.cause is not None:
                continue
            if (
                (s.kind == "supply" and s.d["state"] != "on")
                or (s.kind == "isolator" and s.d["state"] == "open")
                or (s.kind == "phase_indicator" and s.d["rotation"] == "missing_phase" and self.supply(i - 1))
            ):
                rows.append((i, "V1"))
            elif s.kind in ("leads_swapped", "line_connection"):
                rows.append((i, "V3"))
        return rows

    def opened(self):
        return self.marks("V4", "loop_opened", "drain")

    def first_fills(self):
        return self.marks("V4", "fill", such=lambda s: s.d["purpose"] == "first_fill")

    def facts(self) -> dict[str, tuple[str, Any, Any]]:
        n = len(self.list) - 1
        last, fact, moves = self.last, self.fact, self.moves()
        out = {}
        locks = self.latest_each("lock")
        if "lock" not in self.kinds:
            out["R01"] = ("missing" if self.required else "established", None, None)
        else:
            applied = [row for row in locks if row[1].d["state"] == "applied"]
            out["R01"] = fact("R01", applied or locks, not applied, doubt=self.doubted_kind("lock"))
        out["R02"] = self.plate(moves)
        level, ground = last("unit_level"), last("ground")
        out["R03"] = fact("R03", [level], level and level[1].d["ok"], moves)
        out["R04"] = fact("R04", [ground], ground and ground[1].d["connected"], moves)
        out["R05"] = self.energised(n)
        out["R06"] = self.voltage_fact(moves)
        phase = last("phase_indicator")
        undoing = self.marks("V3", "leads_swapped", "line_connection") + moves
        if self.required or "line_connection" in self.kinds:
            undoing += self.marks("V3", "ground", such=lambda s: not s.d["connected"])
        out["R07"] = fact("R07", [phase], phase and phase[1].d["rotation"] == "correct", undoing)
        ends = [last("hose_connection", end=end) for end in ("machine_inlet", "machine_outlet")]
        undoing = list(moves)
        for end in filter(None, ends):
            undoing += [
                (i, "V4")
                for i, s in self.all("loop_opened")
                if i > end[0] and any(w in s.d.get("where", "") for w in ("hose", end[1].d["end"]))
            ]
        out["R08"] = fact("R08", ends, all(e and all_true(e[1].d) for e in ends), undoing)
        positions = {v: last("valve_position", valve=v) for v in self.valve_places()}
        self.reason = self.wrong_valve({v: r[1].d["position"] for v, r in positions.items() if r})
        out["R09"] = fact("R09", list(positions.values()), not self.reason, moves)
        pressure = last("loop_pressure", pump="off")
        undoing = self.marks("V5", "fill", "antifreeze_charge") + self.opened() + moves
        out["R10"] = fact("R10", [pressure], pressure and self.pressure_good(pascal(pressure[1].d["value"])), undoing)
        points = [last("purge", point=p) for p in (["high_point", "pump_casing"] if self.own else ["high_point"])]
        low = self.marks(
            "V5", "loop_pressure", such=lambda s: s.d["pump"] == "off" and not self.top_good(pascal(s.d["value"]))
        )
        purged = all(p and p[1].d["result"] == "steady_water" and p[1].d["pump"] == "off" for p in points)
        out["R11"] = fact("R11", points, purged, self.opened() + self.first_fills() + low + moves)
        leak = last("leak_check")
        undoing = self.opened() + self.first_fills() + moves
        out["R12"] = fact("R12", [leak], leak and leak[1].d["result"] == "dry", undoing)
        if self.glycol:
            out["R13"] = self.antifreeze(moves)
        out["R14"] = self.pump_fact(n, moves)
        out["R15"] = self.flow(n, out["R14"], out["R09"], moves)
        strainer = last("strainer")
        out["R16"] = fact("R16", [strainer], strainer and strainer[1].d["blown_down"], self.opened() + moves)
        out["R17"] = self.set_point(out.get("R13"))
        alarms = self.latest_each("alarm")
        if "alarm" not in self.kinds:
            out["R18"] = ("established", None, None)
        else:
            active = [row for row in alarms if row[1].d["state"] == "active"]
            out["R18"] = fact("R18", active or alarms, not active, doubt=self.doubted_kind("alarm"))
        area = last("area_clear")
        out["R19"] = fact("R19", [area], area and area[1].d["clear"])
        z = self.final_since()
        if z is None:
            out["R20"] = ("invalidated" if self.warm_losses() else "missing", None, None)
        else:
            warm = z + seconds(self.c.get("warm_up_duration", {"value": 1, "unit": "h"})) <= self.now
            out["R20"] = ("established" if warm else "waiting", None, None)
        out |= self.connection(moves)
        return dict(sorted(out.items()))

    def plate(self, moves):
        plate = self.last("plate_check")
        good = False
        if plate:
            d = plate[1].d
            mca, most, cable, breaker = (
                d[k]["value"]
                for k in (
                    "minimum_circuit_ampacity", "maximum_overcurrent_device", "cable_ampacity", "breaker_rating"
                )
            )  # fmt: skip
            volts = d.get("rated_voltage", {"value": self.rated})["value"]
            good = mca <= cable and mca <= breaker <= most and abs(volts - self.rated) <= 0.01 * self.rated
        undoing = self.marks("V3", "line_connection", such=lambda s: s.d["state"] == "disconnected")
        return self.fact("R02", [plate], good, undoing + moves)

    def energised(self, n: int):
        signs = [(i, s) for i, s in enumerate(self.list) if s.cause is None and self.is_sign(s)]
        supplies, switches, isolators = self.all("supply"), self.all("control_switch"), self.all("isolator")
        supply = False if self.in_gap() else self.supply(n)
        if supply is None or self.switch(n) is None or not switches or not (supplies or signs):
            return ("missing", None, None)
        seen = max(supplies[-1:] + signs[-1:], key=lambda row: row[0])
        for i, v in self.moves():
            if i > min(seen[0], switches[-1][0]):
                return ("invalidated", self.list[i].origin, v)
        if signs and self.now - (signs[-1][1].t - signs[-1][1].u) > AGE["R05"] * 60:
            return ("stale", None, None)
        if not (supply and self.switch(n) and self.isolator(n)):
            return ("failed", None, None)
        for kind, row in (("supply", seen), ("control_switch", switches[-1]), ("isolator", (isolators or [None])[-1])):
            if (kind,) in self.doubts and (row is None or self.doubts[kind,] > row[1].sort_key()):
                return ("contradicted", None, None)
        return ("established", None, None)

    def voltage_fact(self, moves):
        reading = self.last("line_voltage")
        good = False
        if reading:
            lines = self.lines(reading[1])
            mean = sum(lines) / 3
            unbalance = max(abs(v - mean) for v in lines) / mean if mean else 0
            good = close_or_below(0.9, min(lines)) and close_or_below(max(lines), 1.1)
            good = good and close_or_below(unbalance, self.c.get("voltage_unbalance_limit", 0.02))
            since = max((i for i, _ in self.every_loss() if i < reading[0]), default=-1)
            hertz = [s.d["frequency"]["value"] for i, s in self.all("line_voltage") if "frequency" in s.d and i > since]
            if hertz and "rated_frequency" in self.c:
                rated = self.c["rated_frequency"]["value"]
                good = good and abs(hertz[-1] - rated) <= 0.05 * rated
        return self.fact("R06", [reading], good, self.losses() + moves)

    def every_loss(self):
        """Losses of supply, those that a dead reading shows included."""
        dead = [(i, "V1") for i, s in self.all("line_voltage") if not self.alive(s) and self.supply(i - 1) is True]
        live = [
            (i, v)
            for i, v in self.losses()
            if self.list[i].kind != "line_connection"
            or self.list[i].d["state"] == "disconnected"
            or self.source(i - 1) is True
        ]
        return live + dead + self.marks("V10", "moved")

    def wrong_valve(self, position: dict[str, str]) -> str:
        if len(position) < len(self.valve_places()):
            return ""
        if "pump_bypass" in position:
            s, d, b = position["pump_suction"], position["pump_discharge"], position["pump_bypass"]
            if self.own:
                for wrong, word in (
                    (d != "open", "dead_head"),
                    (s != "open", "starved"),
                    (b != "closed", "short_circuit"),
                ):
                    if wrong:
                        return word
            else:
                table = {("open", "open", True): "parallel_idle_pump", ("open", "open", False): "through_idle_pump"}
                table["closed", "closed", True] = ""
                word = table.get((s, d, b == "open"), "half_isolated" if b == "open" else "no_path")
                if word:
                    return word
        for valve, bad in (("supply", "closed"), ("return", "closed"), ("fill", "open"), ("drain", "open")):
            if position[valve] != self.valve_places()[valve]:
                return f"{valve}_{bad}"
        return ""

    def run_start(self, k: int) -> int | None:
        """Index of the first on of the run that is on after k."""
        if not self.on(self.pump, k):
            return None
        while self.on(self.pump, k - 1):
            k -= 1
        return k

    def usable_reading(self):
        usable = None
        for i, s in self.all("antifreeze_reading"):
            start = self.run_start(i)
            if start is None:
                continue
            if "loop_turnover_time" in self.c:
                changes = self.back(i, "fill", "antifreeze_charge", "drain")[:1]
                since = max(r.t + r.u for r in [self.list[start], *(r for _, r in changes)])
                if s.t - s.u - since < 3 * seconds(self.c["loop_turnover_time"]):
                    continue
            usable = (i, s)
        return usable

    def freezes(self, s: Seen) -> float:
        read, by_strength = celsius(s.d["freeze_point"]), self.by_strength(s)
        return max(read, by_strength) if by_strength is not None and abs(read - by_strength) > 3 else read

    def by_strength(self, s: Seen) -> float | None:
        w = s.d.get("mass_fraction")
        return self.freezing(w) if self.glycol and w is not None and 0.05 <= w <= 0.6 else None

    def antifreeze(self, moves):
        reading = self.usable_reading()
        undoing = moves + self.marks("V7", "antifreeze_charge", "drain")
        undoing += self.marks("V5", "fill", such=lambda s: s.d["medium"] == "water")
        undoing += self.marks("V7", "fill", such=lambda s: s.d["medium"] == "antifreeze")
        needed = self.c.get("required_freeze_point")
        good = reading and (needed is None or self.freezes(reading[1]) <= celsius(needed))
        return self.fact("R13", [reading], good, undoing)

    def set_point(self, antifreeze):
        point = self.last("set_point")
        if antifreeze is None:
            lowest = celsius(self.c.get("set_point_minimum_water", {"value": 4.4, "unit": "degC"}))
            return self.fact("R17", [point], point and celsius(point[1].d["value"]) >= lowest)
        if antifreeze[0] in ("missing", "invalidated"):
            return ("missing", None, None)
        reading = self.usable_reading()
        good = point and self.freezes(reading[1]) <= celsius(point[1].d["value"]) - 15 / 1.8
        return self.fact("R17", [point, reading], good)

    def pump_fact(self, n: int, moves):
        real = self.last("pump_state", pump=self.pump)
        if real is None:
            return ("missing", None, None)
        for i, v in moves:
            if i > real[0]:
                return ("invalidated", self.list[i].origin, v)
        whole = [(i, s) for i, s in self.back(n, "pump_state") if s.d["pump"] == self.pump][:1]
        return self.fact("R14", whole, self.on(self.pump, n))

    def cause_rule(self, s: Seen) -> str:
        if s.cause is None:
            return "V8"
        words = {"control_switch": "V2", "leads_swapped": "V3", "line_connection": "V3", "moved": "V10"}
        return {**words, "purge": "V8", "loop_pressure": "V8"}.get(s.cause.kind, "V1")

    def flow(self, n: int, pump, valves, moves):
        switch, drop = self.last("flow_switch"), self.last("evaporator_pressure_drop")
        if switch is None or drop is None:
            return ("missing", None, None)
        if pump[0] != "established":
            if pump[0] == "invalidated":
                return pump
            whole = [s for _, s in self.back(n, "pump_state") if s.d["pump"] == self.pump]
            if pump[0] == "missing":
                return ("invalidated", None, None)
            return ("invalidated", whole[0].origin, self.cause_rule(whole[0]))
        first = min(switch[0], drop[0])
        undoing = self.opened() + moves
        start = self.run_start(n)
        if start > first:
            between = [i for i, s in self.back(start, "pump_state") if s.d["pump"] == self.pump and i > first]
            offs = [i for i in between if self.list[i].d["state"] != "on"]
            turn = offs[0] if offs else start
            undoing.append((turn, self.cause_rule(self.list[turn])))
        if valves[0] == "established":
            undoing += self.valve_moves()[-1:]
        good = switch[1].d["state"] == "made" and self.drop_good(pascal(drop[1].d["value"]))
        return self.fact("R15", [switch, drop], good, undoing, doubt=bool(self.standing_flow_ghosts()))

    def valve_moves(self):
        rows = []
        watched = set(self.valve_places()) - {"fill", "drain"}
        for i, s in self.all("valve_position"):
            earlier = [r for j, r in self.all("valve_position") if j < i and r.d["valve"] == s.d["valve"]]
            if s.d["valve"] in watched and earlier and earlier[-1].d["position"] != s.d["position"]:
                rows.append((i, "V6"))
        return rows

    def shows_flow(self, s: Seen) -> bool:
        return s.d["state"] == "made" if s.kind == "flow_switch" else pascal(s.d["value"]) > 2000

    def flow_ghosts(self) -> list[tuple[int, Seen]]:
        if not self.all("pump_state"):
            return []
        rows = self.all("flow_switch", "evaporator_pressure_drop")
        return [(i, s) for i, s in rows if self.shows_flow(s) and not self.on_near(s.t)]

    def standing_flow_ghosts(self) -> list[Seen]:
        standing = []
        for _, ghost in self.flow_ghosts():
            cleared = any(
                not self.shows_flow(s)
                and not self.on("machine", i - 1)
                and not self.on("site", i - 1)
                and s.t - s.u > ghost.t + ghost.u
                for i, s in self.all(ghost.kind)
            )
            if not cleared:
                standing.append(ghost)
        return standing

    # --- connecting ---------------------------------------------------------------------------------------------------

    def connection(self, moves) -> dict[str, tuple[str, Any, Any]]:
        out = {}
        kinds, must = self.kinds, self.required
        lines = self.latest_each("line_connection")
        if must or "proved_dead" in kinds:
            out["R21"] = self.proof(moves)
        if must or "line_connection" in kinds:
            ends = {s.d["end"] for _, s in lines}
            needed = list(lines) + ([None] if must and len(ends) < 2 else [])
            out["R22"] = self.fact("R22", needed, all(self.order_good(s) for _, s in lines), moves)
            mated = all(s.d.get("fully_mated") and s.d.get("covers_on") for _, s in lines)
            undoing = list(moves)
            for i, s in self.all("leads_swapped"):
                if any(j < i and r.d["end"] == s.d.get("where", "source") for j, r in lines):
                    undoing.append((i, "V3"))
            out["R23"] = self.fact("R23", lines, mated, undoing)
        off = self.marks("V3", "line_connection", such=lambda s: s.d["state"] == "disconnected")
        if must or "earth_continuity" in kinds:
            reading = self.last("earth_continuity")
            undoing = self.marks("V3", "line_connection") + moves
            undoing += self.marks("V3", "ground", such=lambda s: not s.d["connected"])
            out["R24"] = self.fact("R24", [reading], reading and not reading[1].adverse, undoing)
        if must or "insulation_test" in kinds:
            reading = self.last("insulation_test")
            undoing = off + self.marks("V3", "leads_swapped") + moves
            out["R25"] = self.fact("R25", [reading], reading and not reading[1].adverse, undoing)
        if must or "cable_route" in kinds:
            route = self.last("cable_route")
            out["R26"] = self.fact("R26", [route], route and all_true(route[1].d), moves)
        if "transfer_interlock" in kinds or (must and self.c["supply_source"] == "generator"):
            transfer = self.last("transfer_interlock")
            out["R27"] = self.fact("R27", [transfer], transfer and transfer[1].d["ok"])
        hands = ("proved_dead", "line_connection", "earth_continuity", "insulation_test", "transfer_interlock")
        work = [row for kind in hands for row in self.latest_each(kind)]
        if must or any(s.role is not None for _, s in work):
            bad = [
                (i, s)
                for i, s in work
                if s.by is None or (s.role is None and must) or (s.role not in (None, "electrician"))
            ]
            out["R28"] = self.fact("R28", bad or work, not bad)
        if "oil_heater" in kinds:
            heaters = self.latest_each("oil_heater")
            good = all(s.d["working"] for _, s in heaters)
            out["R29"] = self.fact("R29", heaters, good, moves, doubt=self.doubted_kind("oil_heater"))
        if "machine_check" in kinds:
            items = self.latest_each("machine_check")
            again = [
                i
                for i, s in items
                if s.d["item"] in ("transport_restraints_removed", "refrigerant_valves_open")
                and moves
                and i < moves[0][0]
            ]
            good = all(s.d["ok"] for _, s in items)
            undoing = moves if again else []
            out["R30"] = self.fact("R30", items, good, undoing, doubt=self.doubted_kind("machine_check"))
        return out

    def order_good(self, s: Seen) -> bool:
        if s.d["state"] != "connected":
            return False
        order = s.d["order"]
        if order[0] != "ground" or {"line_1", "line_2", "line_3"} - set(order):
            return False
        return "neutral" not in order or all(order.index("neutral") < order.index(f"line_{n}") for n in (1, 2, 3))

    def proof(self, moves):
        works = self.all("line_connection", "leads_swapped")
        work = works[-1] if works else None
        limit = work[0] if work else len(self.list)
        proofs = [row for row in self.all("proved_dead") if row[0] < limit]
        if not proofs:
            return ("missing", None, None)
        i, proof = proofs[-1]
        good = all_true(proof.d)
        for lock in {s.d["lock_id"] for _, s in self.all("lock")}:
            applied_now = False
            tagless = False
            for j, s in self.all("lock"):
                if s.d["lock_id"] != lock or j > limit:
                    continue
                if s.d["state"] == "applied":
                    applied_now, tagless = True, s.d.get("tagged") is False
                else:
                    if applied_now and tagless and j > i:
                        good = False
                    applied_now = False
            if applied_now and tagless:
                good = False
        if work:
            on_all_along = set.intersection(*(self.locks(k) for k in range(i, limit)))
            # a lock that was taken off and put on again between two records is not seen here: there is no such moment
            power = any(i < j < limit and self.is_sign(s) for j, s in enumerate(self.list) if s.cause is None)
            good = good and bool(on_all_along) and not power
        return self.fact("R21", [proofs[-1], work] if work else [proofs[-1]], good, moves)

    # --- suspicions -----------------------------------------------------------------------------------------------------

    def suspicions(self) -> set[tuple[str, tuple[str, ...]]]:
        self.suspect_power()
        self.suspect_locks()
        self.suspect_liquid()
        self.suspect_machine()
        return self.found

    def add(self, rule: str, *records: Seen) -> None:
        self.found.add((rule, tuple(sorted({s.id for s in records}))))

    def suspect_power(self) -> None:
        for _, s in self.flow_ghosts():
            self.add("I2", s)
        for i, s in self.all("line_voltage", "phase_indicator"):
            if (
                s.kind == "line_voltage"
                and self.alive(s)
                and self.supply(i - 1) is not True
                and self.source(i - 1) is False
            ):
                self.add("I3", s)
            if self.alive(s) and self.locks(i - 1):
                runs = {}
                for lock in self.locks(i - 1):
                    rows = [(j, r) for j, r in self.all("lock") if r.d["lock_id"] == lock and j < i]
                    begin = max((j for j, r in rows if r.d["state"] == "removed"), default=-1)
                    runs[lock] = next((j, r) for j, r in rows if j > begin)
                self.add("I15", s, min(runs.values(), key=lambda row: row[0])[1])
        for i, s in self.all("leads_swapped", "line_connection"):
            if self.source(i - 1) is True:
                self.add("I4" if s.kind == "leads_swapped" else "I13", s)
        grounds = self.all("ground")
        for (i, a), (j, b) in itertools.pairwise(grounds):
            if not a.d["connected"] and b.d["connected"] and (self.source(i - 1) or self.source(j - 1)):
                self.add("I13", a, b)
        for _, s in self.all("line_voltage")[:-1]:
            lines = self.lines(s)
            if max(lines) >= 0.1 and not (close_or_below(0.9, min(lines)) and close_or_below(max(lines), 1.1)):
                self.add("I14", s)

    def suspect_locks(self) -> None:
        for i, s in self.all("lock"):
            earlier = [r for j, r in self.all("lock") if j < i and r.d["lock_id"] == s.d["lock_id"]]
            if s.d["state"] == "removed" and earlier and earlier[-1].d["state"] == "applied":
                own = earlier[-1]
                if own.by and s.by and own.by != s.by:
                    self.add("I16", own, s)

    def suspect_liquid(self) -> None:
        pressures = [(i, s) for i, s in self.all("loop_pressure") if s.d["pump"] == "off"]
        for (i, a), (j, b) in itertools.pairwise(pressures):
            fill_valve = [(k, s.d["position"]) for k, s in self.all("valve_position") if s.d["valve"] == "fill"]
            before = [position for k, position in fill_valve if k < i][-1:]
            shut = before == ["closed"] and all(position == "closed" for k, position in fill_valve if i < k < j)
            filled = any(i < k < j for k, _ in self.all("fill", "antifreeze_charge"))
            rise = pascal(b.d["value"]) - pascal(a.d["value"])
            if shut and not filled and rise > 10e3 * (1 + 1e-9):
                self.add("I5", a, b)
        for i, s in self.all("purge"):
            if s.d["result"] == "steady_water" and not any(j < i for j, _ in self.all("fill")):
                self.add("I6", s)
        for _, s in self.all("antifreeze_reading"):
            by_strength = self.by_strength(s)
            if by_strength is not None and abs(by_strength - celsius(s.d["freeze_point"])) > 3:
                self.add("I7", s)
        flow, drop = self.last("flow"), self.last("evaporator_pressure_drop")
        if flow and drop and "evaporator_reference_flow" in self.c and abs(flow[1].t - drop[1].t) <= 900:
            ratio = flow[1].d["value"]["value"] / self.c["evaporator_reference_flow"]["value"]
            expected = ratio**2 * pascal(self.c["evaporator_reference_pressure_drop"])
            if abs(pascal(drop[1].d["value"]) - expected) > 0.25 * expected:
                self.add("I8", flow[1], drop[1])

    def suspect_machine(self) -> None:
        for i, s in self.all("water_temperature"):
            both = {k: celsius(v) for k, v in s.d.items()}
            last: dict[str, str] = {}
            for _, r in self.back(i - 1, "compressor"):
                last.setdefault(r.d["id"], r.d["state"])
            running = "on" in last.values()
            if len(both) == 2:
                rise = both["leaving"] - both["entering"]
                if (running and rise > 0.5) or (not running and rise < -1):
                    self.add("I9", s)
            if any(v < f for v in both.values() for f in self.freezing_then(i)):
                self.add("I10", s)
        for i, s in self.all("compressor"):
            earlier = [r.d["state"] for j, r in self.all("compressor") if j < i and r.d["id"] == s.d["id"]]
            if s.d["state"] == "on" and earlier[-1:] != ["on"]:
                z = self.since(i - 1)
                if z is None or s.t < z + seconds(self.c.get("warm_up_duration", {"value": 1, "unit": "h"})):
                    self.add("I12", s)
        for i, s in self.all("loop_pressure", "purge"):
            if s.d["pump"] == "off" and self.on(self.pump, i - 1):
                self.add("I19", s)

    def freezing_then(self, i: int) -> list[float]:
        if not self.glycol:
            return [0.0]
        return [self.freezes(s) for _, s in self.back(i, "antifreeze_reading")[:1]]

    def standing(self) -> set[str]:
        rules = set()
        offs = [i for i, s in self.all("supply") if s.d["state"] == "off"]
        for i, s in self.all("leads_swapped", "line_connection"):
            if self.source(i - 1) is True and not any(j > i for j in offs):
                rules.add("I4" if s.kind == "leads_swapped" else "I13")
        for side in ("leaving", "entering"):
            rows = [(i, s) for i, s in self.all("water_temperature") if side in s.d]
            if rows and any(celsius(rows[-1][1].d[side]) < f for f in self.freezing_then(rows[-1][0])):
                rules.add("I10")
        return rules

    # --- verdict ------------------------------------------------------------------------------------------------------

    def in_gap(self) -> bool:
        ends = [s.t + s.u + seconds(s.d.get("duration")) for _, s in self.all("supply") if self.is_gap(s)]
        return any(end > self.now for end in ends)

    def final_since(self) -> Fraction | None:
        return None if self.in_gap() else self.since(len(self.list) - 1)

    def warm_losses(self) -> set[tuple[str, str, str]]:
        words = {"control_switch": "V2", "leads_swapped": "V3", "line_connection": "V3", "moved": "V10"}
        found = set()
        for k in range(1, len(self.list)):
            if self.good(k - 1) and not self.good(k):
                found.add((words.get(self.list[k].kind, "V1"), self.list[k].origin, "oil_warm"))
        if self.in_gap() and self.good(len(self.list) - 1):
            index, rule = max(self.every_loss())
            found.add((rule if self.list[index].kind != "moved" else "V1", self.list[index].origin, "oil_warm"))
        return found

    def verdict(self) -> dict[str, Any]:
        facts = self.facts()
        z = self.final_since()
        warm = None if z is None else z + seconds(self.c.get("warm_up_duration", {"value": 1, "unit": "h"}))
        offs = [s.t + s.u for _, s in self.all("compressor") if s.d["state"] == "off"]
        rested = max(offs) + 300 if offs else self.now
        start = None if warm is None else max(warm, rested, self.now)
        blocks = {(r, FACT[r], f[0]) for r, f in facts.items() if f[0] not in ("established", "waiting")}
        blocks |= {(rule, None, None) for rule in self.standing()}
        status = "blocked" if blocks else "wait" if start > self.now else "ready"
        undone = {(v, by, FACT[r]) for r, (s, by, v) in facts.items() if s == "invalidated" and by and r != "R20"}
        return {
            "status": status,
            "facts": {FACT[r]: f[0] for r, f in facts.items()},
            "reason": self.reason if facts["R09"][0] == "failed" else "",
            "blocks": blocks,
            "since": z,
            "until": warm,
            "earliest_start": start,
            "waits": {r for r, t in (("R20", warm), ("anti_recycle", rested)) if t is not None and t > self.now},
            "invalidated": undone | self.warm_losses(),
            "suspicions": {s for s in self.suspicions() if s[0] not in ("I18", "N1")},
            "timeline": [(s.shown, s.kind, s.place) for s in self.list],
        }


def canonical(raw: dict[str, Any]) -> str:
    """Sorted keys, no spaces, defaults written out, every number of a quantity a float."""
    none = {"value": 0.0, "unit": "s"}
    whole = {"clock_offset": none, "time_uncertainty": none, **raw}
    defaults = {"supply": {"duration": none}, "line_connection": {"set": 1}, "leads_swapped": {"where": "source"}}
    whole["data"] = {**defaults.get(raw["kind"], {}), **raw["data"]}
    return json.dumps(_floats(whole), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _floats(value: Any) -> Any:
    if isinstance(value, dict):
        return {
            k: float(v) if k in ("value", "mass_fraction") and not isinstance(v, dict) else _floats(v)
            for k, v in value.items()
        }
    return value


def all_true(data: dict[str, Any]) -> bool:
    return all(v for v in data.values() if isinstance(v, bool))
