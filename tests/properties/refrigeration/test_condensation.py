"""What `refrigeration.condensation` finds and refuses, and what must hold whatever the surface."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused

HOSE = {
    "kind": "hose",
    "name": "supply hose",
    "liquid_temperature": q(7, "degC"),
    "length": q(20, "m"),
    "outside_diameter": q(90, "mm"),
    "inside_diameter": q(76, "mm"),
}


def asked(*surfaces, **changes):
    given = {
        "air_temperature": q(28, "degC"),
        "relative_humidity_fraction": 0.7,
        "surfaces": list(surfaces) or [HOSE],
    }
    return {k: v for k, v in (given | changes).items() if v is not None}


@pytest.mark.parametrize(
    ("given", "codes"),
    [
        (asked(), {"surface_sweats"}),
        (asked(relative_humidity_fraction=0.2), set()),
        (asked(HOSE | {"liquid_temperature": q(-15, "degC")}), {"frost_on_surface"}),
        (asked(relative_humidity_fraction=1.0), {"surface_sweats", "air_saturated"}),
        (asked(HOSE | {"liquid_temperature": q(40, "degC")}, relative_humidity_fraction=1.0), set()),
    ],
)
def test_findings(to_the_word, given, codes):
    """On open ground what drips is worth knowing, and nothing to be settled."""
    outside = to_the_word("refrigeration.condensation", given | {"below": "open_ground"})["findings"]
    assert {f["code"] for f in outside if f["severity"] == "note"} == codes - {"air_saturated"}
    assert {f["code"] for f in to_the_word("refrigeration.condensation", given)["findings"]} == codes


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (asked(relative_humidity_fraction=None), "#/relative_humidity_fraction"),
        (asked(dew_point_temperature=q(20, "degC")), "#/dew_point_temperature"),
        (asked(relative_humidity_fraction=None, dew_point_temperature=q(29, "degC")), "#/dew_point_temperature"),
        (asked(HOSE | {"inside_diameter": q(90, "mm")}), "#/surfaces/0/inside_diameter"),
    ],
)
def test_refusals(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("refrigeration.condensation", given)
    assert [e.pointer for e in refused.value.errors] == [pointer]


@settings(max_examples=25)
@given(
    humidity=st.floats(0.3, 0.95), liquid=st.floats(-10, 20), wall=st.floats(0.05, 0.5), damper=st.floats(0.01, 0.05)
)
def test_damper_air_is_never_drier_and_insulation_keeps_its_promise(answer_of, humidity, liquid, wall, damper):
    """A wet surface under its insulation, asked as a hose with that wall, is dry; in damper air it drips no less."""
    hose = HOSE | {"liquid_temperature": q(liquid, "degC"), "wall_conductivity": q(wall, "W/m.K")}
    drip = [
        answer_of("refrigeration.condensation", asked(hose, relative_humidity_fraction=h))["results"]
        for h in (humidity, humidity + damper)
    ]
    assert drip[1]["drip_rate"]["value"] >= drip[0]["drip_rate"]["value"]
    (surface,) = drip[0]["surfaces"]
    assert surface["wet"] == (surface["surface_temperature"]["value"] < drip[0]["dew_point_temperature"]["value"])
    assert (surface["drip_rate"]["value"] > 0) == surface["wet"]
    if "insulation_thickness" in surface and wall < 0.15:
        # one wall of the rubber's conductivity that resists as much as rubber and insulation do together
        outer = 90 + 2 * surface["insulation_thickness"]["value"]
        inner = outer / math.exp(math.log(90 / 76) + math.log(outer / 90) * wall / 0.04)
        covered = hose | {"outside_diameter": q(outer, "mm"), "inside_diameter": q(inner, "mm")}
        again = answer_of("refrigeration.condensation", asked(covered, relative_humidity_fraction=humidity))["results"]
        dew = again["dew_point_temperature"]["value"]
        assert again["surfaces"][0]["surface_temperature"]["value"] - dew == pytest.approx(0.75 / 1.8, abs=1e-3)
