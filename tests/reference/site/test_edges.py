"""Where each finding of the site family begins, by the limit that its source names."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from edges import Edge, edges, example, hold_to
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

pytestmark = pytest.mark.check

Json = dict[str, Any]
SOUND, WEATHER, GROUND, LIFT, PLACEMENT, TRANSPORT = (
    f"site.{name}" for name in ("sound", "weather", "ground", "lift", "placement", "transport")
)
HEARD = 97 - 20 * math.log10(30) - 10.99 + 10 * math.log10(2)
"""dBA of a source of 97 dBA on the ground, 30 m away: 10 log10(4 pi) = 10.99 dB, and a half sphere of it."""


def heard(**of_receiver: Any) -> Json:
    return example(SOUND, 1, **{f"receivers__0__{name}": value for name, value in of_receiver.items()})


NIOSH = {"rule": "niosh"}


def worker(level: float, hours: float) -> Json:
    return example(SOUND, 1, exposure=[{"level": q(level, "dBA"), "duration": q(hours, "h")}])


SOUNDS = (
    # derived: the limit is passed; common practice: 3 dB of room; the near field to twice the largest side
    Edge(SOUND, "over_limit", HEARD, lambda limit: heard(limit_day=q(limit, "dBA")), below=True, step=0.02),
    Edge(SOUND, "limit_close", 3.0, lambda room: heard(limit_day=q(HEARD + room, "dBA")), below=True),
    Edge(SOUND, "near_field", 15, lambda side: example(SOUND, 1, sources__0__largest_side=q(side, "m"))),
    # ISO 1996-2 (from memory): within 3 dB of the background a reading says nothing of the source
    Edge(
        SOUND, "background_close", 3.0, lambda d: heard(measured_level=q(50 + d, "dBA"), background=q(50, "dBA")), below=True
    ),
    # 29 CFR 1910.95 (seen): 90 dBA for 8 h, halved each 5 dB, from 80 dBA, half a dose begins the programme, 115 dBA never
    Edge(SOUND, "osha_dose", 8.0, lambda h: worker(90, h)),
    Edge(SOUND, "osha_dose", 4.0, lambda h: worker(95, h)),
    Edge(SOUND, "hearing_conservation", 4.0, lambda h: worker(90, h)),
    Edge(SOUND, "hearing_conservation", 80, lambda level: worker(level, 24), step=0.1),
    Edge(SOUND, "above_115", 115, lambda level: worker(level, 0.01), step=0.1),
    # NIOSH 98-126 (seen as quoted): 85 dBA for 8 h, halved each 3 dB
    Edge(SOUND, "niosh_dose", 8.0, lambda h: worker(85, h) | NIOSH),
    Edge(SOUND, "niosh_dose", 4.0, lambda h: worker(88, h) | NIOSH),
)  # fmt: skip


def well(velocity: float) -> Json:
    """24 m3/s through what the machine's own discharge of 7 m2 leaves of the pit."""
    return example(PLACEMENT, 1, pit__area=q(7 + 24 / velocity, "m2"))


def hooked(degrees: float) -> Json:
    """Four legs to a hook over the middle: each spans sqrt(2.1^2 + 1) m across."""
    height = 2.4 + math.hypot(2.1, 1.0) * math.tan(math.radians(degrees))
    middle = {"x": q(0, "m"), "y": q(0, "m"), "z": q(1.1, "m")}
    return example(LIFT, centre_of_gravity=middle, hook_z=q(height, "m"))


PLACES = (
    # common practice: 2 m/s into a pit, never above 3
    Edge(PLACEMENT, "inlet_velocity", 2.0, well),
    Edge(PLACEMENT, "inlet_velocity", 3.0, well, severity="stop"),
    # ASME B30.9 (seen as quoted): no leg under 30 deg; common practice: 45 and 60 deg
    Edge(LIFT, "leg_angle", 30, hooked, below=True, severity="stop", step=0.1),
    Edge(LIFT, "leg_angle", 45, hooked, below=True, severity="check", step=0.1),
    Edge(LIFT, "leg_angle", 60, hooked, below=True, step=0.1),
    # common practice: forks under two thirds of the load
    Edge(LIFT, "fork_cover", 2 / 3, lambda s: example(LIFT, 1, fork_length=q(1.5 * s, "m")), below=True),
    # OSHA 1926 P (from memory) and common practice: one and a half of the depth from the edge
    Edge(
        GROUND, "excavation", 1.5,
        lambda r: example(GROUND, 1, excavation={"depth": q(2, "m"), "distance": q(2 * r, "m")}), below=True,
    ),
)  # fmt: skip


@edges((*SOUNDS, *PLACES))
def test_a_finding_begins_at_its_limit(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)


@pytest.fixture
def held(answer_of: Any) -> Callable[..., None]:
    """Edges of what follows from an answer: of a ratio that goes with one field."""

    def hold(
        calculator: str, limits: dict[float, tuple[str, str | None]], of: Callable[[float], Json], below: bool
    ) -> None:
        for limit, (code, severity) in limits.items():
            hold_to(Edge(calculator, code, limit, of, below=below, severity=severity), answer_of)

    return hold


def test_shares_of_ratings(answer_of: Any, held: Callable[..., None]) -> None:
    """Common practice: nine tenths of a rating asks, the whole of it forbids; a lift above 75 % of the chart has a plan."""
    results = answer_of(LIFT, example(LIFT))["results"]
    pull, hook = results["governing_tension"]["value"] * 1e3 / 9.80665, results["capacity_fraction"] * 9500
    limits = {0.9: ("leg_use", None), 1.0: ("leg_use", "stop")}
    held(LIFT, limits, lambda share: example(LIFT, leg_rated_load=q(pull / share, "kg")), False)
    calm: dict[str, Any] = {"chart_wind_speed": None, "load_face_area": None}
    limits = {0.75: ("written_plan", None), 0.9: ("critical_lift", None), 1.0: ("crane_overloaded", None)}
    held(LIFT, limits, lambda share: example(LIFT, crane_chart_capacity=q(hook / share / 1e3, "t"), **calm), False)
    most = answer_of(GROUND, example(GROUND))["results"]["bearing_pressure_maximum"]["value"]
    limits = {0.8: ("bearing", None), 1.0: ("bearing", "stop")}
    own: dict[str, Any] = {"soil_class": None}
    held(GROUND, limits, lambda s: example(GROUND, allowable_bearing_pressure=q(most / s, "kPa"), **own), False)


def test_a_machine_in_the_wind(answer_of: Any, held: Callable[..., None]) -> None:
    """Statics: what holds goes with the mass. Common practice: one and a half times, and never less than once."""
    results = answer_of(WEATHER, example(WEATHER))["results"]
    for code in ("overturning", "sliding"):
        each = 5200 / results[f"{code}_ratio"]
        limits = {1.5: (code, None), 1.0: (code, "stop")}
        held(WEATHER, limits, lambda r, each=each: example(WEATHER, machine__mass=q(each * r, "kg")), True)
    light = answer_of(WEATHER, example(WEATHER, machine__mass=q(200, "kg")))
    shown = {line["meaning"]: line["value"] for line in light["working"]}
    for code in ("overturning", "sliding"):  # with the anchors as told, one and a half times is held
        wind, anchors = shown["Wind force"] / 1e3, shown[f"What anchors hold ({code})"]
        assert light["results"][f"{code}_ratio"] * wind + anchors == pytest.approx(1.5 * wind)


@given(st.floats(0.5, 60), st.floats(50, 5000), st.booleans())
def test_tie_downs(answer_of: Any, feet: float, pounds: float, blocked: bool) -> None:
    """49 CFR 393.110 (seen): counted by going along the piece, ten feet at a time."""
    item = {
        "id": "i",
        "length": q(feet * 0.3048, "m"),
        "width": q(1, "m"),
        "height": q(1, "m"),
        "mass": q(pounds * 0.45359237, "kg"),
        "blocked_forward": blocked,
        "unload": "crane",
    }
    vehicle = {
        "id": "v",
        "deck_length": q(20, "m"),
        "deck_width": q(2.5, "m"),
        "deck_height": q(1, "m"),
        "payload": q(20, "t"),
    }
    answer = answer_of(TRANSPORT, {"items": [item], "vehicles": [vehicle], "site_unloading": ["crane"]})
    least, along = 0, 0.0
    while along < feet:
        least, along = least + 1, along + 10
    if not blocked:
        least = 1 if feet <= 5 and pounds <= 1100 else 2 if feet <= 10 else least + 1
    shown = [line["value"] for line in answer["working"] if line["symbol"] == "n_i"]
    assert shown == [least]


@given(st.integers(0, 60), st.integers(0, 30), st.integers(0, 5), st.floats(1, 400), st.integers(0, 3))
def test_spares(answer_of: Any, joints: int, hoses: int, crossings: int, gallons: float, engines: int) -> None:
    """Common practice: a gasket for each joint and each five of them, two caps a hose, a spill kit from 55 gal."""
    rules = {
        "joints": joints,
        "hoses": hoses,
        "crossings": crossings,
        "engines": engines,
        "liquid_volume": q(gallons, "gal"),
    }
    lines = answer_of(TRANSPORT, example(TRANSPORT, 1, spare_rules=rules))["results"]["pick_list"]
    found = {line["item"]: line["quantity"] for line in lines}
    spill = engines + (gallons > 55)
    wanted = {"gasket": joints + -(-joints // 5), "blanking_cap": 2 * hoses, "ramp": crossings, "spill_kit": spill}
    assert {name: found.get(name, 0) for name in wanted} == wanted


pieces = st.tuples(st.floats(0.5, 9), st.floats(0.5, 2.4), st.floats(100, 6000))


@given(st.lists(pieces, min_size=1, max_size=5))
def test_every_load_can_be_driven(answer_of: Any, every: list[tuple[float, float, float]]) -> None:
    """Geometry: on each deck there is room for each of its pieces, by length and mass, and nothing is left behind."""
    items = [
        {
            "id": f"i{n}",
            "length": q(length, "m"),
            "width": q(width, "m"),
            "height": q(1, "m"),
            "mass": q(mass, "kg"),
            "unload": "crane",
        }
        for n, (length, width, mass) in enumerate(every)
    ]
    decks = {"long": (9.5, 2.5, 9000.0), "short": (5.0, 2.2, 7000.0), "light": (9.5, 2.5, 2500.0)}
    vehicles = [
        {
            "id": name,
            "deck_length": q(length, "m"),
            "deck_width": q(width, "m"),
            "deck_height": q(1, "m"),
            "payload": q(payload, "kg"),
        }
        for name, (length, width, payload) in decks.items()
    ]
    answer = answer_of(TRANSPORT, {"items": items, "vehicles": vehicles, "site_unloading": ["crane"]})
    assert "number_not_proved_least" not in {f["code"] for f in answer["findings"]}, "so few are tried in every way"
    loads, carried = answer["results"]["loads"], []
    for load in loads:
        length, _, payload = decks[load["vehicle"]]
        on_it = [every[int(line["item"][1:])] for line in load["items"] for _ in range(line["quantity"])]
        carried += on_it
        assert sum(mass for _, _, mass in on_it) <= payload * (1 + 1e-9)
        assert all(a <= length for a, _, _ in on_it)  # what is wider than the deck hangs over it, and a check says so
        assert load["mass"]["value"] == pytest.approx(sum(mass for _, _, mass in on_it))
    assert sorted(carried) == sorted(every)


@pytest.mark.parametrize(("over", "loads"), [(0.0, 2), (0.001, 3)])
def test_a_deck_that_is_just_full(answer_of: Any, over: float, loads: int) -> None:
    """Geometry: four pieces of half a deck and half its payload are two loads; a millimetre and a gram more, and one of
    them has no second beside it.
    """
    sizes = [(5 + over * (n == 0), 5000 + over * (n == 0)) for n in range(4)]
    items = [
        {
            "id": f"i{n}",
            "length": q(length, "m"),
            "width": q(2, "m"),
            "height": q(1, "m"),
            "mass": q(mass, "kg"),
            "unload": "crane",
        }
        for n, (length, mass) in enumerate(sizes)
    ]
    vehicle = {
        "id": "v",
        "deck_length": q(10, "m"),
        "deck_width": q(2.5, "m"),
        "deck_height": q(1, "m"),
        "payload": q(10, "t"),
    }
    answer = answer_of(TRANSPORT, {"items": items, "vehicles": [vehicle], "site_unloading": ["crane"]})
    assert len(answer["results"]["loads"]) == loads


def test_the_rating_that_a_leg_needs(answer_of: Any) -> None:
    """Statics: the pull of the leg that carries most, as the mass that hangs from it."""
    told = answer_of(LIFT, example(LIFT))["results"]
    assert told["required_leg_rated_load"] == q(pytest.approx(told["governing_tension"]["value"] * 1e3 / 9.80665), "kg")
