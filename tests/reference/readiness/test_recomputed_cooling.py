"""`readiness.cooling_proof` worked out a second time, in SI, from what is handed in: every figure, its verdict, its troubles.

Library: density, specific heat and freezing line of CoolProp 8.0.0 at 400 kPa absolute. Derived: heat balance of a well-mixed
loop, least squares by numpy. The thresholds are common practice, as the family's rules state them.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, settings
from hypothesis import given as forall
from hypothesis import strategies as st
from quantity import q

from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright_readiness.cooling_proof import cooling_proof

pytestmark = [pytest.mark.check, pytest.mark.filterwarnings("ignore::DeprecationWarning:CoolProp")]
Json = dict[str, Any]
NOW = datetime(2026, 5, 4, 9, 20, tzinfo=UTC)
LIBRARY = {"water": "Water", "propylene_glycol": "INCOMP::MPG[0.3]", "ethylene_glycol": "INCOMP::MEG[0.3]"}
KELVIN = 273.15


def stamp(seconds_ago: float) -> str:
    return (NOW - timedelta(seconds=seconds_ago)).isoformat().replace("+00:00", "Z")


def liquid(name: str, kind: str, celsius: float) -> float:
    return float(PropsSI(name, "T", celsius + KELVIN, "P", 400e3, LIBRARY[kind]))


@st.composite
def readings(draw: st.DrawFn) -> Json:
    """A machine that runs: temperatures in degC, flow in L/s, powers in kW, times in seconds before the reading."""
    leaving = draw(st.floats(4.5, 25))
    kilowatts = draw(st.lists(st.floats(40, 400), min_size=1, max_size=3))
    flow = draw(st.floats(2, 40))
    share = draw(st.sampled_from([-0.3, 0.1, 0.25, 0.4, 0.55, 0.65, 0.72, 0.8, 1.0, 1.1, 1.3, 1.7]))
    count = draw(st.integers(0, 6))
    return {
        "kind": draw(st.sampled_from(sorted(LIBRARY))),
        "leaving": leaving,
        "share": share + draw(st.floats(-0.02, 0.02)),
        "set_point": draw(st.one_of(st.floats(4, 12), st.just(leaving - 0.6))),
        "flow": flow,
        "powers": kilowatts,
        "started": draw(st.lists(st.floats(10, 3000), min_size=len(kilowatts), max_size=len(kilowatts))),
        "volume": draw(st.one_of(st.none(), st.floats(0.3, 30))),
        "load": draw(st.one_of(st.none(), st.floats(0, 300))),
        "ua": draw(st.one_of(st.none(), st.tuples(st.floats(50, 9000), st.floats(5, 35)))),
        "samples": draw(st.lists(st.tuples(st.integers(-60, 900), st.floats(-1.5, 3)), min_size=count, max_size=count)),
        "unloading": draw(st.booleans()) and draw(st.booleans()),
        "rest": draw(st.floats(1, 30)),
        "drop": draw(st.one_of(st.none(), st.tuples(st.floats(5, 90), st.just(15.0), st.just(60.0)))),
        "flow_minimum": draw(st.one_of(st.none(), st.floats(2, 40))),
        "air": draw(st.one_of(st.none(), st.tuples(st.floats(10, 40), st.floats(0, 7)))),
    }


def entering(r: Json) -> float:
    """So that the cooling is that share of the capacity."""
    density = liquid("D", r["kind"], r["leaving"] + 4)
    return float(
        r["leaving"]
        + r["share"] * sum(r["powers"]) / (density * liquid("C", r["kind"], r["leaving"]) * r["flow"] * 1e-6)
    )


def asked(r: Json) -> Json:
    fluid: Json = {"kind": r["kind"]} | ({} if r["kind"] == "water" else {"mass_fraction": 0.3})
    given: Json = {
        "fluid": fluid,
        "flow": q(r["flow"], "L/s"),
        "entering_temperature": q(entering(r), "degC"),
        "leaving_temperature": q(r["leaving"], "degC"),
        "set_point": q(r["set_point"], "degC"),
        "compressors": [
            {"id": str(n), "capacity": q(p, "kW"), "started_at": stamp(s)}
            for n, (p, s) in enumerate(zip(r["powers"], r["started"], strict=True))
        ],
        "evaluated_at": stamp(0),
        "unloading": r["unloading"],
        "anti_recycle": q(r["rest"], "min"),
        "samples": [
            {"at": stamp(s), "entering": q(r["leaving"] + d + 4, "degC"), "leaving": q(r["leaving"] + d, "degC")}
            for s, d in r["samples"]
        ],
    }
    if r["volume"] is not None:
        given["loop_volume"] = q(r["volume"], "m3")
    if r["ua"] is not None:
        given["load_model"] = {"ua": r["ua"][0], "driving_temperature": q(r["ua"][1], "degC")}
    elif r["load"] is not None:
        given["load"] = q(r["load"], "kW")
    if r["drop"] is not None:
        names = ("evaporator_pressure_drop", "evaporator_pressure_drop_minimum", "evaporator_pressure_drop_maximum")
        given |= {name: q(value, "kPa") for name, value in zip(names, r["drop"], strict=True)}
    if r["flow_minimum"] is not None:
        given["flow_minimum"] = q(r["flow_minimum"], "L/s")
    if r["air"] is not None:
        given |= {"ambient_temperature": q(r["air"][0], "degC"), "coil_air_temperature": q(sum(r["air"]), "degC")}
    return given


def figures(r: Json) -> Json:
    """W, K, s, K/s; None where there is none."""
    warm, cold = entering(r), r["leaving"]
    per_kelvin = liquid("D", r["kind"], warm) * liquid("C", r["kind"], (warm + cold) / 2) * r["flow"] / 1000
    power = 1000 * sum(r["powers"])
    found: Json = {"capacity": per_kelvin * (warm - cold), "difference": warm - cold, "expected": power / per_kelvin}
    found["ratio"] = found["capacity"] / power
    recent = [(-s, cold + d) for s, d in r["samples"] if 0 <= s <= 600]
    found["fell"] = None
    if len({t for t, _ in recent}) > 1:
        found["fell"] = -float(np.polyfit([t for t, _ in recent], [v for _, v in recent], 1)[0])
    found["held"] = (
        bool(recent)
        and max(s for s, _ in r["samples"]) >= 600
        and all(v <= r["set_point"] + 2 / 1.8 for v in (cold, *(v for _, v in recent)))
    )
    found["falls"], found["time"] = _of_the_loop(r, power)
    return found


def _of_the_loop(r: Json, power: float) -> tuple[float | None, float | None]:
    """How fast the loop should get colder, and the time to the set point."""
    if r["volume"] is None:
        return None, None
    cold, target = r["leaving"], r["set_point"]
    middle = (cold + target) / 2
    stored = r["volume"] * liquid("D", r["kind"], middle) * liquid("C", r["kind"], middle)
    if r["ua"] is not None:
        ua, driving = r["ua"]
        settles = driving - power / ua
        rate = (power - ua * (driving - cold)) / stored
        if cold <= target:
            return 0.0, 0.0
        time = None if settles >= target else float(stored / ua * np.log((cold - settles) / (target - settles)))
        return rate, time
    surplus = power - 1000 * (r["load"] or 0.0)
    if cold <= target:
        return 0.0, 0.0
    return surplus / stored, None if surplus <= 0 else stored * (cold - target) / surplus


def troubles(r: Json, f: Json) -> list[str]:
    ran = max(r["started"])
    soon = ran < 180 or (r["volume"] is not None and ran < r["volume"] / r["flow"] * 1000)
    signs = [r["flow"] < r["flow_minimum"]] if r["flow_minimum"] is not None else []
    signs += [r["drop"][0] < r["drop"][1]] if r["drop"] is not None else []
    low = any(signs) if signs else None
    high = r["drop"] is not None and r["drop"][0] > r["drop"][2]
    freezing = {k: PropsSI("T_FREEZE", "T", 280, "P", 1e5, v) - KELVIN for k, v in LIBRARY.items() if k != "water"}
    coldest = (38 - 32) / 1.8 if r["kind"] == "water" else freezing[r["kind"]] + 5 / 1.8
    share = f["difference"] / f["expected"]
    table = {
        "low_flow": share > 1.5 and low is not False,
        "near_freezing": r["leaving"] < coldest,
        "no_cooling": not r["unloading"] and ran >= 300 and share < 0.3,
        "sensors_or_hoses_swapped": f["difference"] < -0.5,
        "heat_input_larger": 0.75 <= f["ratio"] <= 1.2 and f["fell"] is not None and f["fell"] < 0,
        "hot_air_recirculation": f["ratio"] < 0.75 and r["air"] is not None and r["air"][1] > 3,
        "refrigerant_short": not r["unloading"] and not soon and 0 < f["ratio"] < 0.7 and not low and not high,
        "flow_too_high": high and share < 0.6,
    }
    return [code for code, there in table.items() if there]


def verdict(r: Json, f: Json, stopped: bool) -> str:
    ran = max(r["started"])
    falling = f["difference"] > 0 if f["fell"] is None else f["fell"] > 0
    if stopped:
        return "trouble"
    if ran < 180 or (r["volume"] is not None and ran < r["volume"] / r["flow"] * 1000):
        return "too_soon"
    if f["held"] or (r["unloading"] and f["difference"] > 0):
        return "proven"
    slowly = f["fell"] is not None and f["falls"] is not None and f["falls"] > 0 and f["fell"] / f["falls"] < 0.6
    if falling and (0.5 <= f["ratio"] < 0.75 or slowly):
        return "slow"
    return "proving" if falling and f["ratio"] >= 0.75 else "slow"


def on_an_edge(r: Json, f: Json) -> bool:
    """Within a thousandth of a threshold, where the last digit of a property decides."""
    near = [f["ratio"] - edge for edge in (0.3, 0.5, 0.6, 0.7, 0.75, 1.2, 1.5, 0.0)]
    near += [r["leaving"] - r["set_point"] - k / 1.8 for k in (0, 2, 4)] + [f["difference"] + 0.5]
    near += [r["air"][1] - 3] if r["air"] is not None else []
    if f["fell"] is not None:
        near += [100 * f["fell"], 100 * (f["fell"] - 1 / 1.8 / 60)]
        near += [f["fell"] / f["falls"] - 0.6] if f["falls"] else []
    return any(abs(distance) < 2e-3 for distance in near)


@settings(max_examples=20)
@forall(readings())
def test_every_figure_and_word_follows_from_what_was_read(r: Json) -> None:
    assume(1 < entering(r) < 80)
    f = figures(r)
    assume(not on_an_edge(r, f))
    results, notes = run(cooling_proof, convert(cooling_proof.given, asked(r)))
    assert results.measured_capacity.si == pytest.approx(f["capacity"], rel=5e-4, abs=1e-3)
    assert results.capacity_ratio == pytest.approx(f["ratio"], rel=5e-4, abs=1e-9)
    assert results.expected_temperature_difference.si == pytest.approx(f["expected"], rel=5e-4)
    for name, value in (
        ("measured_fall_rate", f["fell"]),
        ("expected_fall_rate", f["falls"]),
        ("time_to_set_point", f["time"]),
    ):
        shown = getattr(results, name)
        assert hasattr(shown, "si") == (value is not None), name
        if value is not None:
            assert shown.si == pytest.approx(value, rel=1e-3, abs=1e-6), name
    if r["volume"] is not None:
        turnover: Any = results.loop_turnover_time
        assert turnover.si == pytest.approx(r["volume"] / r["flow"] * 1000)
    found = [t.code for t in results.troubles]
    assert found == troubles(r, f)
    stopped = any(t.severity == "stop" for t in results.troubles)
    assert results.verdict == verdict(r, f, stopped)
    codes = {note.code for note in notes.findings}
    assert ("load_not_covered" in codes) == (r["volume"] is not None and f["time"] is None)
    next_at = NOW - timedelta(seconds=min(r["started"])) + timedelta(minutes=r["rest"])
    assert abs(datetime.fromisoformat(results.next_compressor_at) - next_at) < timedelta(milliseconds=1)
    slow = f["fell"] is not None and f["fell"] < 1 / 1.8 / 60
    far = r["leaving"] > r["set_point"] + 4 / 1.8
    assert results.next_compressor_advised == (not stopped and far and slow and next_at <= NOW)
