"""What `refrigeration.ride_through` finds and refuses, and what must hold whatever the loop."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused

LOOP = {
    "volume": q(6, "m3"),
    "supply_volume": q(2, "m3"),
    "leaving_temperature": q(8, "degC"),
    "temperature_difference": q(5, "delta_degC"),
}
STOP = {"outage": q(0, "min"), "circulation": "keeps"}


def asked(*, loop=None, stop=None, **changes):
    given = {
        "loop": LOOP | (loop or {}),
        "load": q(200, "kW"),
        "capacity": q(250, "kW"),
        "warmest_supply": q(14, "degC"),
        "interruptions": [STOP | (stop or {})],
    }
    return given | changes


OUTAGE = {"outage": q(15, "min")}


@pytest.mark.parametrize(
    ("given", "codes"),
    [
        (asked(), set()),
        (asked(stop=OUTAGE), {"oil_warms_again", "not_kept_cold"}),
        (asked(stop=OUTAGE | {"circulation": "stops"}), {"no_flow_in_outage", "oil_warms_again", "not_kept_cold"}),
        (asked(stop=OUTAGE | {"oil_stays_warm": q(20, "min")}), {"not_kept_cold"}),
        (asked(stop=OUTAGE | {"oil_warm_up": q(0, "min")}), {"not_kept_cold"}),
        (asked(capacity=q(150, "kW")), {"never_cooled"}),
        (asked(capacity=q(150, "kW"), stop={"capacity_left": q(60, "kW")}), set()),
        (asked(stop=OUTAGE | {"capacity_left": q(200, "kW")}), set()),
    ],
)
def test_findings(to_the_word, given, codes):
    answer = to_the_word("refrigeration.ride_through", given)
    assert {f["code"] for f in answer["findings"]} == codes
    (ridden,) = answer["results"]["interruptions"]
    assert ridden["kept"] == (not codes & {"not_kept_cold", "no_flow_in_outage"})
    assert (ridden["volume_to_add"]["value"] > 0) == ("not_kept_cold" in codes)


@pytest.mark.parametrize(
    ("stop", "load", "words"), [({}, 100, "Else add "), ({"oil_warm_up": q(0, "min")}, 200, "Add ")]
)
def test_more_buffer_is_the_other_way_beside_warm_oil(answer_of, stop, load, words):
    """Not besides: who keeps the oil warm needs the small buffer alone."""
    answer = answer_of("refrigeration.ride_through", asked(stop=OUTAGE | stop, load=q(load, "kW")))
    (found,) = (f for f in answer["findings"] if f["code"] == "not_kept_cold")
    (ridden,) = answer["results"]["interruptions"]
    kept, _, rest = found["do"].rpartition(f"{words}{ridden['volume_to_add']['value']:.5g} L of buffer in the supply")
    assert rest.startswith(", a machine that runs on")
    assert kept.startswith("Keep the oil heaters fed; then ") == (not stop)


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (asked(loop={"supply_volume": q(7, "m3")}), "#/loop/volume"),
        (asked(loop={"supply_volume": q(3, "m3"), "buffer_volume": q(3.1, "m3")}), "#/loop/volume"),
        (asked(warmest_supply=q(7.9, "degC")), "#/warmest_supply"),
        (asked(loop={"leaving_temperature": q(-2, "degC")}), "#/loop/leaving_temperature"),
    ],
)
def test_refusals(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("refrigeration.ride_through", given)
    assert pointer in [e.pointer for e in refused.value.errors]


@settings(max_examples=25)
@given(
    volume=st.floats(1, 50),
    supply=st.floats(0, 1),
    load=st.floats(20, 2000),
    warm=st.floats(8, 25),
    more=st.floats(1, 4),
)
def test_more_liquid_never_holds_shorter_and_more_load_never_longer(answer_of, volume, supply, load, warm, more):
    def holds(factor, heat):
        loop = {"volume": q(volume * factor, "m3"), "supply_volume": q(volume * factor * supply, "m3")}
        given = asked(loop=loop, load=q(heat, "kW"), capacity=q(5000, "kW"), warmest_supply=q(warm, "degC"))
        return answer_of("refrigeration.ride_through", given)["results"]["interruptions"][0]["holds"]["value"]

    once = holds(1, load)
    assert holds(more, load) == pytest.approx(once * more, rel=1e-9, abs=1e-12)
    assert holds(1, load * more) == pytest.approx(once / more, rel=1e-9, abs=1e-12)
