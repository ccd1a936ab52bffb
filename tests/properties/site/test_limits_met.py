"""A limit that is met just so is met in whatever units the two sides of it are given."""

from typing import Any

import pytest
from quantity import q
from site_given import at, codes

Json = dict[str, Any]
QUARTERS = [k / 4 for k in (9, 17, 18, 33, 34, 41, 66)]
TENTHS = [4.1, 5.1, 8.2, 10.2, 16.4, 6.3]


@pytest.mark.parametrize("feet", QUARTERS)
@pytest.mark.parametrize("unit", ["ft", "in", "mm"])
def test_a_base_at_its_distance_from_an_excavation(answer_of: Any, feet: float, unit: str) -> None:
    """One and a half of the depth; a thousandth less is too near."""
    size = {"ft": 1.0, "in": 12.0, "mm": 304.8}[unit] * feet
    for share, near in ((1.5, False), (1.4985, True)):
        asked = {
            "contact": "skid",
            "load": q(6, "t"),
            "contact_length": q(6, "m"),
            "contact_width": q(2.2, "m"),
            "soil_class": "sand",
            "excavation": {"depth": q(feet, "ft"), "distance": q(size * share, unit)},
        }
        assert ("excavation" in codes(answer_of("site.ground", asked), "stop")) == near


@pytest.mark.parametrize("feet", TENTHS)
def test_a_lift_to_just_the_rated_height(answer_of: Any, feet: float) -> None:
    for inches, high in ((12 * feet, False), (12.01 * feet, True)):
        asked = {
            "method": "fork_truck",
            "load_mass": q(1, "t"),
            "load_mass_basis": "weighed",
            "rated_capacity": q(2500, "kg"),
            "rated_load_centre": q(0.5, "m"),
            "load_centre": q(0.6, "m"),
            "rated_lift_height": q(feet, "ft"),
            "lift_height": q(inches, "in"),
        }
        assert ("lift_too_high" in codes(answer_of("site.lift", asked), "stop")) == high


@pytest.mark.parametrize("feet", QUARTERS)
def test_a_receiver_twice_the_largest_side_away(answer_of: Any, feet: float) -> None:
    for apart, near in ((2 * feet, False), (1.999 * feet, True)):
        source = {"id": "S", **at(x=0, y=0, z=1), "sound_power_level": q(90, "dBA"), "largest_side": q(feet, "ft")}
        asked = {
            "method": "simple",
            "sources": [source],
            "receivers": [{"id": "R", **at("ft", x=apart, y=0, z=1 / 0.3048)}],
        }
        assert ("near_field" in codes(answer_of("site.sound", asked))) == near


@pytest.mark.parametrize("feet", TENTHS)
def test_a_roof_just_above_a_machine(answer_of: Any, feet: float) -> None:
    """It hangs over it; a thousandth lower it stands in it."""
    corners = [at(x=x, y=y) for x, y in ((1, -9), (9, -9), (9, 9), (1, 9))]
    for inches, above in ((12 * feet, True), (11.99 * feet, False)):
        asked = {
            "machines": [{"id": "M", "length": q(6, "m"), "width": q(2, "m"), "height": q(feet, "ft")}],
            "positions": [{"id": "M", **at(x=0, y=0)}],
            "obstacles": [
                {"id": "roof", "kind": "wall", "underside": q(inches, "in"), "polygon": corners},
            ],
        }  # fmt: skip
        found = codes(answer_of("site.placement", asked))
        assert ("discharge_under_overhang" in found) == above
        assert ("overlap" in found) != above


@pytest.mark.parametrize("feet", TENTHS)
def test_walls_as_high_as_a_machine_make_no_well(answer_of: Any, feet: float) -> None:
    for inches, well in ((12 * feet, False), (12.01 * feet, True)):
        walls = [
            {"id": f"w{y}", "kind": "wall", "height": q(inches, "in"), "polygon": [at(x=-9, y=y), at(x=9, y=y)]}
            for y in (-4, 4)
        ]
        machine = {
            "id": "M",
            "length": q(6, "m"),
            "width": q(2, "m"),
            "height": q(feet, "ft"),
            "air_flow": q(20, "m3/s"),
        }
        asked = {"machines": [machine], "positions": [{"id": "M", **at(x=0, y=0)}], "obstacles": walls}
        assert ("inlet_velocity" in answer_of("site.placement", asked)["results"]) == well


@pytest.mark.parametrize(("pressure", "weak"), [(1.0, False), (0.999, True)])
@pytest.mark.parametrize("depth", [0.7, 1.1, 2.3])
def test_a_layer_that_bears_just_what_presses_it(answer_of: Any, depth: float, pressure: float, weak: bool) -> None:
    """Spread 2 to 1: what the layer bears is given in psf, worked out from the weight."""
    bears = 6000 * 9.80665 / (6 + depth) / (2.2 + depth) / 47.88025898033584 * pressure
    asked = {
        "contact": "skid",
        "load": q(6, "t"),
        "contact_length": q(6, "m"),
        "contact_width": q(2.2, "m"),
        "soil_class": "sand",
        "depth_check": {"depth": q(depth, "m"), "allowable": q(bears * 47.88025898033584 / 1000, "kPa")},
    }
    assert ("weak_layer" in codes(answer_of("site.ground", asked), "stop")) == weak
