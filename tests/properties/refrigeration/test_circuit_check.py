"""What holds for every set of readings, every finding, and what is refused."""

import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from coldwright.contract import Refused
from coldwright_refrigeration.circuit_check.causes import BANDS, CAUSES, MATCH, WEIGHTS, suspects
from coldwright_refrigeration.circuit_check.findings import CIRCUIT_FINDINGS
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS
from coldwright_refrigeration.shared.saturation import saturation_of

CHECK = "refrigeration.circuit_check"


def psi(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "psi"}


def degf(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "degF"}


BASE: dict[str, Any] = {
    "refrigerant": "R-410A",
    "suction_pressure": psi(110),
    "discharge_pressure": psi(398),
    "suction_line_temperature": degf(48),
    "liquid_line_temperature": degf(105),
    "discharge_line_temperature": degf(175),
    "condenser_air_temperature": degf(95),
    "leaving_liquid_temperature": degf(44),
    "entering_liquid_temperature": degf(54),
}


def without(given: dict[str, Any], *names: str) -> dict[str, Any]:
    return {k: v for k, v in given.items() if k not in names}


@st.composite
def readings(draw: st.DrawFn) -> dict[str, Any]:
    """Anything that is not refused: absolute pressures inside the lines, temperatures as odd as they may be."""
    name = draw(st.sampled_from(sorted(REFRIGERANTS)))
    of = saturation_of(name)
    low = draw(st.floats(0.001, 0.9))
    high = draw(st.floats(low + 0.05, 0.999))
    span = of.highest_pressure / of.lowest_pressure
    kelvin = st.floats(-49, 149).map(lambda t: {"value": t, "unit": "degC"})
    liquid = st.floats(-49, 79).map(lambda t: {"value": t, "unit": "degC"})
    given: dict[str, Any] = {
        "refrigerant": name,
        "suction_pressure_absolute": {"value": of.lowest_pressure * span**low / 1000, "unit": "kPa"},
        "discharge_pressure_absolute": {"value": of.lowest_pressure * span**high / 1000, "unit": "kPa"},
        "suction_line_temperature": draw(kelvin),
        "liquid_line_temperature": draw(kelvin),
        "condenser_air_temperature": draw(st.floats(-49, 69).map(lambda t: {"value": t, "unit": "degC"})),
        "leaving_liquid_temperature": draw(liquid),
        "circuit_opened_recently": draw(st.booleans()),
        "altitude": {"value": draw(st.floats(-100, 4000)), "unit": "m"},
    }
    if draw(st.booleans()):
        given["entering_liquid_temperature"] = draw(liquid)
    if draw(st.booleans()):
        given["discharge_line_temperature"] = draw(kelvin)
    if draw(st.booleans()):
        given |= {"compressors_running": draw(st.integers(1, 2)), "compressors_total": 2}
    if draw(st.booleans()):
        given["standstill"] = {
            "pressure": {"value": draw(st.floats(0, 5000)), "unit": "kPa"},
            "temperature": {"value": draw(st.floats(-40, 60)), "unit": "degC"},
        }
    return given


@drawn(given=readings())
def test_figures_belong_together(answer_of: Any, given: dict[str, Any]) -> None:
    results = answer_of(CHECK, given)["results"]
    value = {k: v["value"] for k, v in results.items() if isinstance(v, dict) and "value" in v}
    assert value["superheat"] == pytest.approx(
        given["suction_line_temperature"]["value"] - value["suction_dew_temperature"], abs=1e-6
    )
    assert value["subcooling"] == pytest.approx(
        value["condensing_bubble_temperature"] - given["liquid_line_temperature"]["value"], abs=1e-6
    )
    assert value["glide"] == pytest.approx(
        value["suction_dew_temperature"] - value["suction_bubble_temperature"], abs=1e-6
    )
    if REFRIGERANTS[given["refrigerant"]].kind == "pure":
        assert value["glide"] == 0
    assert results["compression_ratio"] > 1
    causes = results["likely_causes"]
    assert len(causes) <= 4
    assert ("deciding_measurement" in results) == (len(causes) > 1)
    for cause in causes:
        assert len(cause["evidence_for"]) + len(cause["evidence_against"]) >= len(results["pattern"])
    if given.get("compressors_running") == 1:
        assert results["pattern"] == {}
        assert causes == []


@drawn(given=readings())
def test_scores_follow_the_rule(answer_of: Any, given: dict[str, Any]) -> None:
    """Scores worked out anew, the slow way, from the printed rule."""
    answer = answer_of(CHECK, without(given, "standstill"))
    pattern, causes = answer["results"]["pattern"], answer["results"]["likely_causes"]
    if all(word == "normal" for word in pattern.values()):
        assert causes == []
        return
    place = ["low", "normal", "high"].index
    expected = {}
    for name, cause in CAUSES.items():
        top = sum(
            WEIGHTS[q] * MATCH[min(abs(place(word) - place(e)) for e in cause.expected[q])]
            for q, word in pattern.items()
        )
        expected[name] = top / sum(WEIGHTS[q] for q in pattern)
    listed = sorted((n for n, s in expected.items() if s >= 0.6), key=lambda n: -expected[n])[:4]
    assert {c["cause"]: c["score"] for c in causes} == pytest.approx(
        {n: expected[n] for n in listed}, abs=1e-9
    ) or sorted(c["score"] for c in causes) == pytest.approx(sorted(expected[n] for n in listed), abs=1e-9)
    scores = [c["score"] for c in causes]
    assert scores == sorted(scores, reverse=True)


@drawn(given=readings())
def test_units_change_nothing(answer_of: Any, given: dict[str, Any]) -> None:
    other = dict(given)
    for key, sent in given.items():
        if isinstance(sent, dict) and sent.get("unit") == "degC":
            other[key] = degf(sent["value"] * 1.8 + 32)
        elif isinstance(sent, dict) and sent.get("unit") == "kPa":
            other[key] = {"value": sent["value"] / 100, "unit": "bar"}
        elif isinstance(sent, dict) and sent.get("unit") == "m":
            other[key] = {"value": sent["value"] / 0.3048, "unit": "ft"}
    first, second = answer_of(CHECK, given)["results"], answer_of(CHECK, other)["results"]
    assert second["superheat"]["value"] == pytest.approx(first["superheat"]["value"], abs=1e-6)
    assert second["compression_ratio"] == pytest.approx(first["compression_ratio"], rel=1e-9)
    assert second["pattern"] == first["pattern"]
    assert [c["cause"] for c in second["likely_causes"]] == [c["cause"] for c in first["likely_causes"]]


def test_gauge_and_absolute_readings_agree(answer_of: Any) -> None:
    site = {"barometric_pressure": {"value": 90, "unit": "kPa"}}
    first = answer_of(CHECK, BASE | site)["results"]
    absolute = without(BASE, "suction_pressure", "discharge_pressure") | {
        "suction_pressure_absolute": {"value": 110 * 6.894757293168 + 90, "unit": "kPa"},
        "discharge_pressure_absolute": {"value": 398 * 6.894757293168 + 90, "unit": "kPa"},
    }
    second = answer_of(CHECK, absolute)["results"]
    assert second["superheat"]["value"] == pytest.approx(first["superheat"]["value"], abs=1e-8)
    assert second["subcooling"]["value"] == pytest.approx(first["subcooling"]["value"], abs=1e-8)


def test_a_drop_in_the_condenser_takes_subcooling(answer_of: Any) -> None:
    plain = answer_of(CHECK, BASE)
    dropped = answer_of(CHECK, BASE | {"liquid_line_pressure": psi(380)})
    assert dropped["results"]["subcooling"]["value"] < plain["results"]["subcooling"]["value"] - 1
    assert dropped["results"]["condensing_temperature"] == plain["results"]["condensing_temperature"]
    assert "no_condenser_pressure_drop" in {a["code"] for a in plain["assumptions"]}
    assert "no_condenser_pressure_drop" not in {a["code"] for a in dropped["assumptions"]}


def test_the_machines_own_bands_beat_the_usual_ones(answer_of: Any) -> None:
    own = {"superheat": [{"value": 15, "unit": "delta_degF"}, {"value": 25, "unit": "delta_degF"}]}
    assert answer_of(CHECK, BASE)["results"]["pattern"]["superheat"] == "normal"
    assert answer_of(CHECK, BASE | {"expected": own})["results"]["pattern"]["superheat"] == "low"


def test_without_entering_temperature_its_weight_is_dropped(answer_of: Any) -> None:
    odd = BASE | {
        "suction_pressure": psi(88),
        "suction_line_temperature": degf(56),
        "liquid_line_temperature": degf(111),
    }
    answer = answer_of(CHECK, without(odd, "entering_liquid_temperature"))
    assert "liquid_temperature_difference" not in answer["results"]["pattern"]
    assert answer["results"]["likely_causes"][0]["cause"] == "restricted_metering_or_drier"
    assert answer["results"]["likely_causes"][0]["score"] == 1


def test_air_before_overcharge_in_a_circuit_opened_lately(answer_of: Any) -> None:
    high = BASE | {"discharge_pressure": psi(520), "liquid_line_temperature": degf(110)}
    for opened, first, second in (
        (False, "overcharge", "non_condensables"),
        (True, "non_condensables", "overcharge"),
    ):
        causes = answer_of(CHECK, high | {"circuit_opened_recently": opened})["results"]["likely_causes"]
        assert [c["cause"] for c in causes[:2]] == [first, second]
        assert causes[0]["score"] == causes[1]["score"] == 1


def test_a_standstill_test_puts_air_first(answer_of: Any) -> None:
    short = BASE | {"discharge_pressure": psi(500), "liquid_line_temperature": degf(124)}
    plain = answer_of(CHECK, short)["results"]["likely_causes"]
    assert plain[0]["cause"] == "condenser_air_short_dirty_or_recirculating"
    test = {"pressure": psi(260), "temperature": degf(75)}  # R-410A holds 217 psi at 75 degF
    causes = answer_of(CHECK, short | {"standstill": test})["results"]["likely_causes"]
    assert causes[0]["cause"] == "non_condensables"
    assert "standstill" in " ".join(causes[0]["evidence_for"])


def test_between_bubble_and_dew_a_blend_at_standstill_is_well(answer_of: Any) -> None:
    of = saturation_of("R-407C")
    middle = (of.bubble.pressure(293.15) + of.dew.pressure(293.15)) / 2
    given = BASE | {"refrigerant": "R-407C", "suction_pressure": psi(70), "discharge_pressure": psi(250)}
    given["standstill"] = {"pressure": {"value": middle / 1000 - 101.325, "unit": "kPa"}, "temperature": degf(68)}
    codes = {f["code"] for f in answer_of(CHECK, given)["findings"]}
    assert not codes & {"non_condensables_found", "standstill_all_vapour"}


def test_each_cause_is_first_for_one_of_its_own_patterns() -> None:
    """The table tells the causes apart. Low load shares its pattern with a worn compressor, which stands before it."""
    for name, cause in CAUSES.items():
        heads = []
        for words in _combinations([cause.expected[q] for q in WEIGHTS]):
            if set(words) != {"normal"}:
                ranked = suspects(dict(zip(WEIGHTS, words, strict=True)), name == "non_condensables", False)
                heads += [s.cause for s in ranked if s.score == ranked[0].score == 1]
        assert name in heads


def _combinations(sets: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    if not sets:
        return [()]
    return [(word, *rest) for word in sets[0] for rest in _combinations(sets[1:])]


def test_no_word_sends_anyone_into_the_circuit() -> None:
    """What to do next stays outside the circuit, or names the certified technician."""
    for cause in CAUSES.values():
        for text in (cause.next_check, cause.proof):
            lowered = text.lower()
            assert "open the" not in lowered.replace("open air", "")
            for deed in ("weighs", "recovers", "evacuates", "pump-down"):
                if deed in lowered:
                    assert "certified technician" in lowered


def test_bands_are_in_order() -> None:
    for band in BANDS.values():
        assert band.low_below <= band.normal[0] < band.normal[1] <= band.high_above


def test_flammable_refrigerants_are_named(answer_of: Any) -> None:
    warned = answer_of(CHECK, BASE | {"refrigerant": "R-32"})["cautions"]
    assert any("A2L" in c["statement"] for c in warned if c["code"] == "flammable_refrigerant")
    assert "flammable_refrigerant" not in {c["code"] for c in answer_of(CHECK, BASE)["cautions"]}


# --- findings -----------------------------------------------------------------------------------------------------
STANDSTILL = {"pressure": psi(260), "temperature": degf(75)}
FINDINGS = [
    ("readings_contradict", "check", BASE | {"suction_line_temperature": degf(30)}),
    ("readings_contradict", "check", BASE | {"liquid_line_temperature": degf(90)}),
    ("readings_contradict", "check", BASE | {"condenser_air_temperature": degf(120)}),
    ("readings_contradict", "check", BASE | {"leaving_liquid_temperature": degf(34)}),
    ("readings_contradict", "check", BASE | {"liquid_line_pressure": psi(420)}),
    ("readings_contradict", "check", BASE | {"entering_liquid_temperature": degf(40)}),
    ("liquid_to_compressor", "stop", BASE | {"suction_line_temperature": degf(37)}),
    ("suction_below_freezing", "stop", BASE | {"suction_pressure": psi(95)}),
    ("suction_near_freezing", "check", BASE | {"suction_pressure": psi(102.5)}),
    ("evaporator_inlet_below_freezing", "check", BASE | {"refrigerant": "R-407C", "suction_pressure": psi(60)}),
    ("condensing_too_hot", "stop", BASE | {"discharge_pressure": psi(560)}),
    (
        "condensing_too_hot",
        "stop",
        BASE | {"refrigerant": "R-134a", "suction_pressure": psi(35), "discharge_pressure": psi(310)},
    ),
    ("discharge_too_hot", "check", BASE | {"discharge_line_temperature": degf(230)}),
    ("discharge_too_hot", "stop", BASE | {"discharge_line_temperature": degf(250)}),
    ("discharge_superheat_low", "check", BASE | {"discharge_line_temperature": degf(130)}),
    ("discharge_superheat_high", "note", BASE | {"discharge_line_temperature": degf(200)}),
    ("compression_ratio_low", "check", BASE | {"discharge_pressure": psi(170)}),
    ("compression_ratio_high", "check", BASE | {"suction_pressure": psi(50)}),
    ("compression_ratio_high", "stop", BASE | {"suction_pressure": psi(30)}),
    ("running_backwards", "stop", BASE | {"discharge_pressure": psi(130)}),
    ("non_condensables_found", "check", BASE | {"standstill": STANDSTILL}),
    ("standstill_all_vapour", "check", BASE | {"standstill": STANDSTILL | {"pressure": psi(150)}}),
    ("pattern_normal", "note", BASE),
    ("pattern_abnormal", "check", BASE | {"suction_line_temperature": degf(60)}),
    ("pattern_not_judged", "note", BASE | {"compressors_running": 1, "compressors_total": 2}),
]


@pytest.mark.parametrize(("code", "severity", "given"), FINDINGS)
def test_findings(to_the_word: Any, code: str, severity: str, given: dict[str, Any]) -> None:
    found = [(f["code"], f["severity"]) for f in to_the_word(CHECK, given)["findings"]]
    assert (code, severity) in found


def test_every_finding_is_raised_above() -> None:
    assert {f.code for f in CIRCUIT_FINDINGS} == {code for code, _, _ in FINDINGS}


def test_each_contradiction_is_a_finding_of_its_own(answer_of: Any) -> None:
    odd = BASE | {"suction_line_temperature": degf(20), "liquid_line_temperature": degf(80)}
    answer = answer_of(CHECK, odd)
    assert [f["code"] for f in answer["findings"]].count("readings_contradict") == 2
    assert "liquid_to_compressor" in [f["code"] for f in answer["findings"]]
    assert answer["results"]["superheat"]["value"] < 0


def test_stops_are_judged_at_part_load(answer_of: Any) -> None:
    given = BASE | {"suction_pressure": psi(90), "compressors_running": 1, "compressors_total": 2}
    answer = answer_of(CHECK, given)
    assert answer["outcome"] == "unacceptable"
    assert answer["results"]["likely_causes"] == []


# --- refusals -----------------------------------------------------------------------------------------------------
REFUSED = [
    (BASE | {"refrigerant": "R-515B"}, "#/refrigerant"),
    (BASE | {"refrigerant": "r-410a"}, "#/refrigerant"),
    (without(BASE, "suction_pressure"), "#/suction_pressure"),
    (without(BASE, "discharge_pressure"), "#/discharge_pressure"),
    (without(BASE, "leaving_liquid_temperature"), "#/leaving_liquid_temperature"),
    (BASE | {"suction_pressure_absolute": {"value": 800, "unit": "kPa"}}, "#/suction_pressure_absolute"),
    (
        BASE | {"liquid_line_pressure": psi(390), "liquid_line_pressure_absolute": psi(400)},
        "#/liquid_line_pressure_absolute",
    ),
    (BASE | {"discharge_pressure": psi(700)}, "#/discharge_pressure"),
    (BASE | {"suction_pressure": psi(-15)}, "#/suction_pressure"),
    (BASE | {"suction_pressure": psi(2)}, "#/suction_pressure"),
    (BASE | {"discharge_pressure": psi(100)}, "#/discharge_pressure"),
    (BASE | {"discharge_pressure": psi(110)}, "#/discharge_pressure"),
    (
        BASE | {"altitude": {"value": 0, "unit": "m"}, "barometric_pressure": {"value": 90, "unit": "kPa"}},
        "#/barometric_pressure",
    ),
    (BASE | {"altitude": {"value": 5000, "unit": "m"}}, "#/altitude"),
    (BASE | {"compressors_running": 3, "compressors_total": 2}, "#/compressors_running"),
    (
        BASE | {"expected": {"superheat": [{"value": 9, "unit": "delta_degC"}, {"value": 5, "unit": "delta_degC"}]}},
        "#/expected/superheat",
    ),
    (BASE | {"standstill": {"pressure": psi(200), "temperature": degf(170)}}, "#/standstill/temperature"),
    (
        BASE
        | {
            "standstill": {"pressure": {"value": -105, "unit": "kPa"}, "temperature": degf(70)},
        },
        "#/standstill/pressure",
    ),
]


@pytest.mark.parametrize(("given", "pointer"), REFUSED)
def test_refusals(answer_of: Any, given: dict[str, Any], pointer: str) -> None:
    with pytest.raises(Refused) as refusal:
        answer_of(CHECK, given)
    assert pointer in [e.pointer for e in refusal.value.errors]


def test_a_refused_pressure_tells_the_range_as_read(answer_of: Any) -> None:
    with pytest.raises(Refused) as refusal:
        answer_of(CHECK, BASE | {"discharge_pressure": psi(700)})
    allowed = refusal.value.errors[0].allowed
    assert allowed.unit == "psi"  # type: ignore[union-attr]
    inside = BASE | {"discharge_pressure": psi(allowed.maximum - 0.001)}  # type: ignore[union-attr, operator]
    assert answer_of(CHECK, inside)["results"]["condensing_bubble_temperature"]["value"] == pytest.approx(65, abs=0.01)


# --- speed: see tests/benchmarks/bench_functions.py ---------------------------------------------------------------
def test_no_heavy_library_is_loaded() -> None:
    """Not at import, not while answering."""
    script = (
        "import sys, msgspec\n"
        "from coldwright.contract.evaluation import evaluate\n"
        "from coldwright_refrigeration.circuit_check import circuit_check as c\n"
        "for e in c.examples: evaluate(c, msgspec.convert(e.given, c.given))\n"
        "print({m.partition('.')[0] for m in sys.modules} & {'CoolProp', 'numpy', 'scipy', 'fluids', 'shapely'})"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
