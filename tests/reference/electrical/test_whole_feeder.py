"""A feeder worked out anew in complex ohms, with each figure of its sentences, from its tables and the rules alone.

NEC 310.15, 400.5, 110.14(C), 240.4(B) and (D), 240.5, 250.122, 310.10(G) and Chapter 9 Table 9 (as marked at the tables);
DIN VDE 0298-4 and IEC 60228 under iec. Drop: the voltage behind R + jX of a load whose power factor holds at its own
terminals, found by iteration. Pieces, joints and ramps: common practice.
"""

import cmath
import math
from typing import Any, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from said import figures, said, working
from tries import tries

from coldwright.contract import Refused, load_table

pytestmark = pytest.mark.check
FEEDER = "electrical.feeder"
Json = dict[str, Any]
ROOT3 = math.sqrt(3)
NEC = (
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450),
    *(500, 600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000),
)
GAUGES = {"4/0": -3, "3/0": -2, "2/0": -1, "1/0": 0}
PLATES = {208: 200, 240: 230, 480: 460, 600: 575}


def table(name: str) -> Any:
    return load_table("coldwright_electrical", name).rows


RACEWAY = {row[0]: dict(zip((60, 75, 90), row[1:], strict=True)) for row in table("ampacity_in_raceway")}
PORTABLE = {row["size"]: {int(k): v for k, v in row.items() if k != "size"} for row in table("ampacity_portable_cable")}
RUBBER = {row[0]: row[1:] for row in table("ampacity_rubber_cable")}
OHMS = {size: complex(r, x) / 304.8 for size, r, x in table("impedance_in_raceway")}
METRIC = {size: complex(r * (1 + 0.00393 * 40), 0.08) / 1000 for size, r in table("resistance_flexible_copper")}
GROUNDS = table("equipment_ground")
LAID = {"bundled_per_set": 1.0, "flat_touching": 1.155, "spaced": 2.9}
BUNDLES = {1: 1, 3: 1, 4: 0.8, 6: 0.8, 7: 0.7, 9: 0.7, 10: 0.5, 20: 0.5, 21: 0.45, 31: 0.4, 41: 0.35}


def area(size: str) -> float:
    number, unit = size.split()
    if unit == "mm2":
        return float(number)
    if unit == "kcmil":
        return float(number) * 0.5067075
    gauge = GAUGES[number] if number in GAUGES else int(number)
    return math.pi / 4 * float(0.127 * 92 ** ((36 - gauge) / 39)) ** 2


class Asked(NamedTuple):
    """What a cable is chosen for."""

    nec: bool
    kind: str
    laid: str
    basis: bool
    volts: float
    hertz: float
    load: float
    least: float
    device: float
    metres: float
    factor: float
    start: float | None
    source: complex
    allowed: tuple[float, float]
    insulation: int
    ambient: float
    bundle: int


class Cable(NamedTuple):
    """One size, of one set: amperes and ohms for each metre."""

    size: str
    each: float
    contact: float | None
    termination: float | None
    connector: float | None
    ohms: complex

    def carries(self) -> float:
        return min(self.each, self.contact or self.each)

    def deciding(self, basis: bool) -> float:
        end = self.connector if basis and self.connector is not None else self.termination
        return min(self.carries(), end or math.inf)


def ambient_factor(asked: Asked) -> float | None:
    if not asked.nec:
        return math.sqrt((60 - asked.ambient) / 30)
    band = next(row for row in table("ambient_factors") if row["up_to"] >= math.ceil(asked.ambient - 1e-9))
    found: float | None = band.get(str(asked.insulation))
    return found


def cables(asked: Asked) -> list[Cable]:
    factor = (ambient_factor(asked) or 0) * BUNDLES[asked.bundle]
    found = []
    single = asked.kind == "single_conductor_portable"
    ends = 75 if asked.device > 100 else 60
    if not asked.nec:
        for size, (alone, multi) in RUBBER.items():
            x = METRIC[size].imag * asked.hertz / 50 * (LAID[asked.laid] if single else 1)
            ohms = complex(METRIC[size].real, x)
            found.append(Cable(size, factor * (alone if single else multi), None, None, None, ohms))
        return found
    for size, ohms in OHMS.items():
        x = ohms.imag * asked.hertz / 60 * (LAID[asked.laid] if single else 1)
        here = complex(ohms.real, x)
        if asked.kind == "wire_in_raceway":
            found.append(Cable(size, factor * RACEWAY[size][asked.insulation], None, RACEWAY[size][ends], None, here))
            continue
        cells = PORTABLE.get(size, {}).get(asked.insulation)
        if cells is None:
            continue
        connector = {"2 AWG": 150, "4/0 AWG": 400}.get(size) if single else None
        if asked.basis and connector is None:
            continue
        contact = factor * cells[2] if single and asked.laid != "spaced" else None
        each = factor * (cells[0] if single else cells[2])
        found.append(Cable(size, each, contact, RACEWAY[size][ends], connector, here))
    return found


def drop_of(line: complex, asked: Asked) -> float | None:
    """Of the running load, with the source; nothing where it finds no voltage."""
    whole, current = line + asked.source, asked.load * cmath.rect(1, -math.acos(asked.factor))
    sending = asked.volts / ROOT3
    across = (whole * current).imag
    if abs(across) >= sending:
        return None
    received = math.sqrt(sending**2 - across**2) - (whole * current).real
    if received <= 0:
        return None
    assert abs(received + whole * current) == pytest.approx(sending)
    return asked.volts - ROOT3 * received


def start_of(line: complex, asked: Asked) -> float:
    assert asked.start is not None
    motor = asked.volts / (ROOT3 * asked.start) * complex(0.35, math.sqrt(1 - 0.35**2))
    return 1 - abs(motor / (motor + line + asked.source))


def protects(cable: Cable, sets: int, asked: Asked) -> bool:
    total = sets * cable.deciding(asked.basis)
    if asked.nec and asked.kind != "wire_in_raceway" and sets * cable.carries() < asked.device * (1 - 1e-9):
        return False
    if total >= asked.device * (1 - 1e-9):
        return True
    following = next((size for size in NEC if size >= total * (1 - 1e-9)), 0)
    return asked.nec and asked.device <= 800 and asked.device <= following


def small(cable: Cable, asked: Asked) -> bool:
    most = {"14 AWG": 15, "12 AWG": 20, "10 AWG": 30}.get(cable.size, math.inf)
    return asked.kind != "wire_in_raceway" or asked.device <= most


def parallel(cable: Cable, sets: int, asked: Asked) -> bool:
    return sets == 1 or not asked.nec or area(cable.size) >= area("1/0 AWG") * (1 - 1e-9)


def chosen(asked: Asked) -> tuple[Cable, int, tuple[Cable, int] | None, bool]:
    """Cable, sets, the first by ampacity alone; whether anything carried the load."""
    every = [(cable, sets) for sets in range(1, 11) for cable in cables(asked) if parallel(cable, sets, asked)]
    enough = [
        (cable, sets)
        for cable, sets in every
        if sets * cable.deciding(asked.basis) >= asked.least * (1 - 1e-9)
        and protects(cable, sets, asked)
        and small(cable, asked)
    ]
    if not enough:
        return *max(every, key=lambda one: one[1] * one[0].deciding(asked.basis)), None, False

    def rank(one: tuple[Cable, int]) -> int:
        line = one[0].ohms * asked.metres / one[1]
        drop = drop_of(line, asked)
        if drop is None or asked.volts - drop < 0.9 * PLATES.get(int(asked.volts), asked.volts) * (1 - 1e-9):
            return 2
        kept = drop <= asked.allowed[0] * asked.volts * (1 + 1e-9)
        kept = kept and (asked.start is None or start_of(line, asked) <= asked.allowed[1] * (1 + 1e-9))
        return 0 if kept else 1

    return *min(enough, key=rank), enough[0], True


def ask(asked: Asked, **changes: Any) -> Json:
    sent: Json = {
        "practice": "nec" if asked.nec else "iec",
        "system_voltage": q(asked.volts, "V"),
        "frequency": q(asked.hertz, "Hz"),
        "load_current": q(asked.load, "A"),
        "minimum_ampacity": q(asked.least, "A"),
        "overcurrent_device": q(asked.device, "A"),
        "length": q(asked.metres, "m"),
        "power_factor": asked.factor,
        "starting_current": None if asked.start is None else q(asked.start, "A"),
        "source_resistance": q(asked.source.real, "ohm"),
        "source_reactance": q(asked.source.imag, "ohm"),
        "construction": asked.kind,
        "arrangement": asked.laid,
        "termination_basis": "connector_rating" if asked.basis else "table_310_16",
        "allowed_drop_running_fraction": asked.allowed[0],
        "allowed_drop_starting_fraction": asked.allowed[1],
        "insulation_temperature": asked.insulation,
        "ambient_temperature": q(asked.ambient, "degC"),
        "current_carrying_conductors": asked.bundle,
    }
    return {name: value for name, value in (sent | changes).items() if value is not None}


KINDS = ("single_conductor_portable", "multi_conductor_portable", "wire_in_raceway")
USUAL = Asked(
    True, KINDS[0], "bundled_per_set", False, 480, 60, 200, 220, 250, 60, 0.85, None, 0j, (0.03, 0.15), 90, 40, 3
)


@st.composite
def feeders(draw: Any) -> Asked:
    nec = draw(st.booleans())
    kind = draw(st.sampled_from(KINDS if nec else KINDS[:2]))
    load = draw(st.floats(5, 900))
    least = load * draw(st.floats(1, 1.25))
    device = next(size for size in NEC if size >= least * draw(st.sampled_from([1.0, 1.0, 1.5])))
    return Asked(
        nec=nec,
        kind=kind,
        laid=draw(st.sampled_from(list(LAID))),
        basis=nec and kind == KINDS[0] and draw(st.booleans()),
        volts=draw(st.sampled_from([208.0, 480.0, 415.0])),
        hertz=draw(st.sampled_from([50.0, 60.0])),
        load=load,
        least=least,
        device=float(device),
        metres=draw(st.floats(3, 400)),
        factor=draw(st.floats(0.4, 1)),
        start=draw(st.none() | st.floats(1.5, 5).map(lambda times: times * load)),
        source=complex(draw(st.floats(0, 0.02)), draw(st.floats(0, 0.03))),
        allowed=(draw(st.floats(0.01, 0.08)), draw(st.floats(0.06, 0.28))),
        insulation=draw(st.sampled_from([75, 90])) if nec else 60,
        ambient=draw(st.floats(-5, 50)),
        bundle=draw(st.sampled_from(list(BUNDLES))),
    )


@tries(15)
@given(feeders())
def test_a_cable_is_chosen(answer_of: Any, asked: Asked) -> None:
    cable, sets, first, enough = chosen(asked)
    line = cable.ohms * asked.metres / sets
    drop = drop_of(line, asked)
    if drop is None:
        with pytest.raises(Refused) as refused:
            answer_of(FEEDER, ask(asked))
        assert f"{sets} x {cable.size}" in refused.value.errors[0].detail
        return
    answer = answer_of(FEEDER, ask(asked))
    results = answer["results"]
    assert (results["conductor_size"], results["sets"]) == (cable.size, sets)
    assert results["temperature_factor"] == pytest.approx(ambient_factor(asked))
    assert results["bundling_factor"] == BUNDLES[asked.bundle]
    limits = {
        "ampacity_each": cable.each,
        "contact_limit_each": cable.contact,
        "termination_limit_each": cable.termination,
        "ampacity_total": sets * min(cable.carries(), cable.termination or math.inf),
        "ampacity_deciding": sets * cable.deciding(asked.basis),
        "ampacity_total_if_connector_basis": cable.connector and sets * min(cable.carries(), cable.connector),
        "resistance": line.real,
        "reactance": line.imag,
        "drop_running": drop,
        "drop_running_approximate": ROOT3
        * asked.load
        * ((line + asked.source) * cmath.rect(1, -math.acos(asked.factor))).real,
        "voltage_at_machine": asked.volts - drop,
        "loss": 3 * asked.load**2 * line.real / 1000,
    }
    for name, value in limits.items():
        there = results.get(name, {}).get("value")
        assert there == (None if value is None else pytest.approx(value, rel=1e-6, abs=1e-9)), name
    assert results["drop_running_fraction"] == pytest.approx(drop / asked.volts)
    _longest(answer, asked, cable.ohms / sets)
    _grounds(answer, asked, cable, sets, first)
    stops = {f["code"] for f in answer["findings"] if f["severity"] == "stop"}
    low = asked.volts - drop < 0.9 * PLATES.get(int(asked.volts), asked.volts)
    expected = {"voltage_too_low"} if low else set()
    if not enough:
        expected |= {"ampacity_short"} if limits["ampacity_deciding"] < asked.least else set()  # type: ignore[operator]
        expected |= set() if protects(cable, sets, asked) else {"device_not_protecting"}
        expected |= set() if small(cable, asked) else {"small_wire_device"}
    assert stops == expected
    assert results["verdict"] == ("not_ok" if stops else "ok")
    _sentences(answer, asked, cable, sets, drop)


def _longest(answer: Json, asked: Asked, each: complex) -> None:
    results = answer["results"]
    along = (each * cmath.rect(1, -math.acos(asked.factor))).real
    longest = asked.allowed[0] * asked.volts / (ROOT3 * asked.load * along)
    if asked.start is not None:
        here = start_of(each * asked.metres, asked)
        assert results["starting_drop_fraction"] == pytest.approx(here)
        assert results["starting_voltage"]["value"] == pytest.approx(asked.volts * (1 - here))
        low, high = 0.0, 1e6
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if start_of(each * middle, asked) <= asked.allowed[1] else (low, middle)
        longest = min(longest, low)
    assert results["longest_run"]["value"] == pytest.approx(longest, rel=1e-6, abs=1e-6)


def _grounds(answer: Json, asked: Asked, cable: Cable, sets: int, first: tuple[Cable, int] | None) -> None:
    size = answer["results"].get("equipment_ground_size")
    if not asked.nec:
        wanted = area(cable.size)
        wanted = wanted if wanted <= 16 else 16 if wanted <= 35 else wanted / 2
        assert size == next(made for made in METRIC if area(made) >= wanted * (1 - 1e-9))
        return
    by_table = next((made for rating, made in GROUNDS if rating >= asked.device), None)
    more = 1.0 if first is None else sets * area(cable.size) / (first[1] * area(first[0].size))
    if by_table is None or more <= 1 + 1e-9:
        assert size == by_table
        assert bool(said(answer, "ground_not_tabulated")) == (by_table is None)
        return
    wanted = min(area(by_table) * more, max(area(cable.size), area(by_table)))
    assert size == next(made for made in RACEWAY if area(made) >= wanted * (1 - 1e-9))
    if size != by_table:
        assert f"from {by_table} to {size}" in said(answer, "ground_enlarged")


def _sentences(answer: Json, asked: Asked, cable: Cable, sets: int, drop: float) -> None:
    deciding = sets * cable.deciding(asked.basis)
    run = f"{sets} x {cable.size}"
    for code, shown, name in (
        ("ampacity_short", [deciding, asked.least], asked.least),
        ("device_not_protecting", [asked.device, sets * cable.carries(), deciding], asked.device),
    ):
        text = said(answer, code)
        if text:
            assert run in text
            assert figures(text.replace(run, "").replace(cable.size, ""))[: len(shown)] == pytest.approx(
                shown, rel=1e-4
            )
            one = cable.deciding(asked.basis)
            one = one if code == "ampacity_short" else min(one, cable.carries())
            more = math.ceil(name / one - 1e-9)
            way = f"{more} sets of {cable.size} would" in text
            assert way == (more <= 10 and parallel(cable, more, asked))
            assert ("A larger size is needed" in text) is not way
    low = said(answer, "voltage_too_low")
    if low:
        plate = PLATES.get(int(asked.volts), asked.volts)
        left = asked.volts - drop
        assert [figures(low)[place] for place in (0, 1, 2, 3)] == pytest.approx(
            [left, 0.9, plate, 0.9 * plate], rel=1e-3
        )
    high = said(answer, "running_drop_high")
    assert bool(high) == (drop / asked.volts > asked.allowed[0] * (1 + 1e-9))
    if high:
        shown = [drop / asked.volts, asked.allowed[0], answer["results"]["longest_run"]["value"]]
        assert figures(high) == pytest.approx(shown, rel=1e-3, abs=6e-5)
    slow = said(answer, "starting_drop_high")
    if asked.start is not None:
        fraction = answer["results"]["starting_drop_fraction"]
        assert bool(slow) == (fraction > asked.allowed[1] * (1 + 1e-9))
        if slow:
            assert figures(slow)[:2] == pytest.approx([fraction, asked.allowed[1]], rel=1e-4, abs=6e-5)
    step = said(answer, "next_rating_up")
    assert bool(step) == (deciding < asked.device * (1 - 1e-9) and protects(cable, sets, asked))
    if step:
        assert figures(step) == pytest.approx([asked.device, deciding], rel=1e-4)
        assert ("only the terminations" in step) == (asked.kind != "wire_in_raceway")
    assert working(answer, "I_z") == [pytest.approx(cable.each)]
    (line,) = [line for line in answer["working"] if line["symbol"] == "I_total"]
    ends = cable.connector if asked.basis else cable.termination
    inside = [cable.each, *([cable.contact] if cable.contact else []), *([ends] if ends else [])]
    assert figures(line["expression"]) == pytest.approx([sets, *inside], rel=1e-4)


def usual(**changes: Any) -> Json:
    return ask(USUAL) | changes


@pytest.mark.parametrize(
    ("conductors", "factor"),
    [
        (1, 1), (3, 1), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5), (20, 0.5), (21, 0.45), (30, 0.45), (31, 0.4),
        (40, 0.4), (41, 0.35), (60, 0.35),
    ],
)  # fmt: skip
def test_so_many_conductors_together(answer_of: Any, conductors: int, factor: float) -> None:
    """NEC Table 310.15(C)(1) (seen as reproduced). To a figure of the caller nothing is applied."""
    sent = usual(current_carrying_conductors=conductors, sets=10)
    assert answer_of(FEEDER, sent)["results"]["bundling_factor"] == factor
    own = {"ampacity_each": q(120, "A"), "ampacity_source": "a test", "conductor_size": "4/0 AWG"}
    results = answer_of(FEEDER, sent | own)["results"]
    assert (results["bundling_factor"], results["temperature_factor"]) == (1, 1)
    assert results["ampacity_each"] == q(120, "A")
    assert results["ampacity_table"] == "a test"


@pytest.mark.parametrize(
    ("practice", "insulation", "ambient", "within"),
    # the tables end there: 60 and 75 degC at 59 (the field's own range), 90 degC at 70; NEC's 60 degC column at 55
    [
        ("nec", 90, 70, True), ("nec", 75, 59, True), ("nec", 75, 60, False), ("nec", 75, 69, False), ("nec", 60, 55, True),
        ("nec", 60, 55.5, False), ("iec", 60, 59, True), ("iec", 60, 59.5, False),
    ],
)  # fmt: skip
def test_air_that_is_too_hot(answer_of: Any, practice: str, insulation: int, ambient: float, within: bool) -> None:
    nec = practice == "nec"
    asked = USUAL._replace(nec=nec, insulation=insulation, ambient=ambient, load=10, least=10, device=15, volts=480)
    sent = ask(asked, construction="multi_conductor_portable")
    if within:
        assert answer_of(FEEDER, sent)["results"]["temperature_factor"] < 1
        return
    with pytest.raises(Refused) as refused:
        answer_of(FEEDER, sent)
    (error,) = refused.value.errors
    assert error.pointer == "#/ambient_temperature"
    assert error.allowed
    most = 55 if "no factor" in error.detail else 59
    assert error.allowed.maximum == most
    answer_of(FEEDER, sent | {"ambient_temperature": q(most, "degC")})


@pytest.mark.parametrize(("practice", "size", "wanted"), [("nec", "95 mm2", "AWG or kcmil"), ("iec", "4/0 AWG", "mm2")])
def test_sizes_of_the_other_practice(answer_of: Any, practice: str, size: str, wanted: str) -> None:
    asked = USUAL._replace(nec=practice == "nec", insulation=90 if practice == "nec" else 60)
    with pytest.raises(Refused) as refused:
        answer_of(FEEDER, ask(asked, conductor_size=size))
    (error,) = refused.value.errors
    assert f"Sizes are in {wanted} under {practice}" in error.detail


@pytest.mark.parametrize(
    ("size", "device", "within"),
    [
        ("14 AWG", 15, True), ("14 AWG", 16, False), ("12 AWG", 20, True), ("12 AWG", 21, False), ("10 AWG", 30, True),
        ("10 AWG", 31, False), ("8 AWG", 40, True),
    ],
)  # fmt: skip
def test_small_wire_in_a_raceway(answer_of: Any, size: str, device: float, within: bool) -> None:
    """NEC 240.4(D) (seen as reproduced): 15, 20 and 30 A before 14, 12 and 10 AWG."""
    asked = USUAL._replace(kind=KINDS[2], load=10, least=10, device=device, metres=5, ambient=25)
    text = said(answer_of(FEEDER, ask(asked, conductor_size=size, sets=1)), "small_wire_device")
    assert bool(text) is not within
    if text:
        assert text.startswith(f"{size} in raceway may not stand behind a device of {device:g} A")


@pytest.mark.parametrize(("device", "steps"), [(450, True), (700, True), (800, True), (1000, False)])
def test_the_next_rating_up_ends_at_800_amperes(answer_of: Any, device: float, steps: bool) -> None:
    """NEC 240.4(B) (seen as reproduced). Sets of 350 kcmil in raceway that carry what lies half way to the rating below."""
    total = (device + NEC[NEC.index(int(device)) - 1]) / 2
    sets = math.ceil(total / 310)
    asked = USUAL._replace(kind=KINDS[2], load=100, least=100, device=device, metres=5)
    own = {"ampacity_each": q(total / sets, "A"), "ampacity_source": "a test"}
    answer = answer_of(FEEDER, ask(asked, conductor_size="350 kcmil", sets=sets, **own))
    assert bool(said(answer, "next_rating_up")) == steps
    assert bool(said(answer, "device_not_protecting")) is not steps


@pytest.mark.parametrize(("practice", "share"), [("nec", 0.03), ("iec", 0.05)])
def test_drops_that_are_usual(answer_of: Any, practice: str, share: float) -> None:
    """NEC 215.2 and IEC 60364-5-52, Table G.52.1 (seen as reproduced): 3 and 5 %; a given share is no assumption."""
    nec = practice == "nec"
    asked = USUAL._replace(nec=nec, insulation=90 if nec else 60, volts=480 if nec else 400)
    sent = ask(asked, allowed_drop_running_fraction=None)
    answer = answer_of(FEEDER, sent)
    (assumed,) = [a for a in answer["assumptions"] if a["code"] == "allowed_drop_running_fraction"]
    assert assumed["value"] == share
    stated = answer_of(FEEDER, sent | {"allowed_drop_running_fraction": share})
    assert stated["results"]["longest_run"] == answer["results"]["longest_run"]
    assert "allowed_drop_running_fraction" not in {a["code"] for a in stated["assumptions"]}


@pytest.mark.parametrize("neutral", [False, True])
@pytest.mark.parametrize("ends", ["connectors", "mixed", "tails_to_lugs"])
@pytest.mark.parametrize("cord", [False, True])
def test_pieces_and_joints(answer_of: Any, neutral: bool, ends: str, cord: bool) -> None:
    """Counted one by one: a joint between two sections, and one at each end that has connectors."""
    sent = usual(
        construction=KINDS[1] if cord else KINDS[0], neutral=neutral, ends=ends, sets=2, conductor_size="4/0 AWG",
        length=q(61, "m"), section_length=q(12, "m"), crossings=2, crossing_width=q(3.7, "m"),
    )  # fmt: skip
    picked = answer_of(FEEDER, sent)["results"]["pick_list"]
    sections, lines = 6, 1 if cord else 5 if neutral else 4
    joints = (sections - 1) + {"connectors": 2, "mixed": 1, "tails_to_lugs": 0}[ends]
    assert (picked["sections"], picked["cable_pieces"]) == (sections, 2 * lines * sections)
    assert picked["mated_pairs"] == 2 * lines * joints
    assert picked["ramps"] == 2 * 5
    assert picked["spare_pieces"] == lines * 1  # 12 of a colour: one for each 20 begun
    long = answer_of(FEEDER, sent | {"length": q(132, "m")})["results"]["pick_list"]
    assert long["spare_pieces"] == lines * 2  # 22 of a colour
    usual_sections = {"section_length": None}
    for practice, metres, count in (("nec", 15.24 * 4, 4), ("nec", 15.25 * 4, 5), ("iec", 60, 4), ("iec", 60.1, 5)):
        nec = practice == "nec"
        asked = USUAL._replace(nec=nec, insulation=90 if nec else 60, metres=metres)
        there = answer_of(FEEDER, ask(asked, **usual_sections))["results"]["pick_list"]
        assert there["sections"] == count, "50 ft under nec, 15 m under iec: common practice"


@pytest.mark.parametrize(
    ("practice", "volts", "first"),
    [("nec", 240, "black"), ("nec", 250, "black"), ("nec", 251, "brown"), ("iec", 400, "brown")],
)
def test_colours(answer_of: Any, practice: str, volts: float, first: str) -> None:
    """Common practice in America by voltage; IEC 60445 (from memory)."""
    nec = practice == "nec"
    asked = USUAL._replace(nec=nec, insulation=90 if nec else 60, volts=volts)
    colours = answer_of(FEEDER, ask(asked, neutral=True))["results"]["pick_list"]["line_colors"]
    assert len(colours) == 5
    assert colours[0] == first
    assert colours[1] == {"black": "red", "brown": "orange" if nec else "black"}[first]
    assert colours[-1] == ("green" if nec else "green-yellow")


@pytest.mark.parametrize("arrangement", ["spaced", "conductors_of_a_phase_grouped"])
def test_lines_far_apart(answer_of: Any, arrangement: str) -> None:
    """x = 2 pi f 2e-7 ln(GMD/GMR), 300 mm between (derived): 2.9 times that of a bundle, and no better by phases."""
    bundle = answer_of(FEEDER, usual(conductor_size="4/0 AWG", sets=1))["results"]["reactance"]["value"]
    answer = answer_of(FEEDER, usual(conductor_size="4/0 AWG", sets=1, arrangement=arrangement))
    gmr = 0.7788 * 6.7e-3
    apart = math.log(1.26 * 0.3 / gmr) / math.log(0.023 / gmr)
    assert answer["results"]["reactance"]["value"] / bundle == pytest.approx(apart, rel=0.01)
    text = said(answer, "spacing_assumed")
    assert bool(text) == (arrangement == "spaced")
    if text:
        assert figures(text)[:2] == [pytest.approx(apart, rel=0.01), 300]
    own = usual(conductor_size="4/0 AWG", sets=1, arrangement=arrangement, reactance_per_length=q(0.3, "ohm/km"))
    stated = answer_of(FEEDER, own)
    assert stated["results"]["reactance"]["value"] == pytest.approx(0.3 * 0.06)
    assert not said(stated, "spacing_assumed")


@pytest.mark.parametrize(("amps", "trips"), [(99, True), (100, False)])
def test_a_device_below_its_load(answer_of: Any, amps: float, trips: bool) -> None:
    asked = USUAL._replace(load=100, least=100, device=amps)
    text = said(answer_of(FEEDER, ask(asked)), "device_below_load")
    assert figures(text) == ([99, 100] if trips else [])


@pytest.mark.parametrize(
    ("basis", "ends", "kind", "code"),
    [
        ("connector_rating", "connectors", KINDS[0], "connector_basis"),
        ("connector_rating", "mixed", KINDS[0], "connector_basis_not_allowed"),
        ("connector_rating", "connectors", KINDS[1], "connector_basis_not_allowed"),
        ("table_310_16", "connectors", KINDS[0], ""),
    ],
)
def test_what_limits_the_ends(answer_of: Any, basis: str, ends: str, kind: str, code: str) -> None:
    """NEC 110.14(C) (seen as reproduced): the rating of listed connectors, where both ends have them."""
    sent = usual(termination_basis=basis, ends=ends, construction=kind, conductor_size="4/0 AWG", sets=1)
    answer = answer_of(FEEDER, sent)
    raised = {f["code"] for f in answer["findings"]} & {"connector_basis", "connector_basis_not_allowed"}
    assert raised == ({code} if code else set())
    if code == "connector_basis":
        assert figures(said(answer, code))[:2] == [400, 230]
    under_iec = ask(USUAL._replace(nec=False, insulation=60), termination_basis=basis)
    assert bool(said(answer_of(FEEDER, under_iec), "not_used_under_iec")) == (basis == "connector_rating")


def test_contradictions_of_a_feeder(answer_of: Any) -> None:
    def refused(sent: Json) -> Any:
        with pytest.raises(Refused) as caught:
            answer_of(FEEDER, sent)
        return {error.pointer: error for error in caught.value.errors}

    low = refused(usual(minimum_ampacity=q(199, "A")))["#/minimum_ampacity"]
    assert figures(low.detail) == [199, 200]
    assert low.allowed.minimum == 200
    iec = ask(USUAL._replace(nec=False, insulation=60), minimum_ampacity=q(150, "A"))
    assert answer_of(FEEDER, iec)["results"]["ampacity_deciding"]["value"] >= 200, (
        "what runs must be carried either way"
    )
    own = {"ampacity_each": q(300, "A"), "ampacity_source": "a test"}
    assert "#/ampacity_source" in refused(usual(ampacity_each=q(300, "A"), conductor_size="4/0 AWG"))
    assert "#/ampacity_each" in refused(usual(ampacity_source="a test"))
    assert "#/conductor_size" in refused(usual(**own))
    assert "#/conductor_size" in refused(usual(resistance_per_length=q(0.2, "ohm/km")))
    text = said(answer_of(FEEDER, usual(**own, conductor_size="4/0 AWG")), "ampacity_from_caller")
    assert figures(text)[0] == 300
    assert "'a test'" in text


@pytest.mark.parametrize(("construction", "sets"), [(kind, sets) for kind in KINDS for sets in (1, 2, 3)])
def test_cautions_of_what_is_laid(answer_of: Any, construction: str, sets: int) -> None:
    """NEC 310.10(G) and 300.20(B) (as marked): sets alike where there are several, one opening for single conductors."""
    sent = usual(construction=construction, sets=sets, conductor_size="4/0 AWG")
    codes = {caution["code"] for caution in answer_of(FEEDER, sent)["cautions"]}
    assert ("equal_sets" in codes) == (sets > 1)
    assert ("steel_openings" in codes) == (construction == KINDS[0])


def test_a_drop_before_the_cable_takes_from_what_is_allowed(answer_of: Any) -> None:
    """By hand: 0.06 and 0.08 ohm before the cable take 200 A down; without them the answer says that they are missing."""
    bare = ask(USUAL, source_resistance=None, source_reactance=None, conductor_size="4/0 AWG", sets=1)
    assert said(answer_of(FEEDER, bare), "source_drop_not_included")
    for part in ({"source_resistance": q(0.06, "ohm")}, {"source_reactance": q(0.08, "ohm")}):
        with_one = answer_of(FEEDER, bare | part)
        assert not said(with_one, "source_drop_not_included")
        lost = with_one["results"]["drop_running_approximate"]["value"]
        more = lost - answer_of(FEEDER, bare)["results"]["drop_running_approximate"]["value"]
        each = 0.06 * 0.85 if "source_resistance" in part else 0.08 * math.sqrt(1 - 0.85**2)
        assert more == pytest.approx(ROOT3 * 200 * each)


@pytest.mark.parametrize(
    ("size", "amps", "way"),
    # by hand: the terminations let 230 A through 4/0 AWG and 115 A through 2 AWG (NEC Table 310.16, 75 degC)
    [
        ("4/0 AWG", 400, "2 sets of 4/0 AWG would carry it"), ("4/0 AWG", 690, "3 sets of 4/0 AWG would carry it"),
        ("4/0 AWG", 2300, "10 sets of 4/0 AWG would carry it"), ("4/0 AWG", 2301, "A larger size is needed"),
        ("2 AWG", 200, "A larger size is needed"),
    ],
)  # fmt: skip
def test_how_many_sets_would_carry_it(answer_of: Any, size: str, amps: float, way: str) -> None:
    """NEC 310.10(G) (as marked): only 1/0 AWG and larger lie in parallel; ten sets are the most here."""
    device = next(rating for rating in NEC if rating >= amps)
    asked = USUAL._replace(load=100, least=amps, device=device, metres=10)
    text = said(answer_of(FEEDER, ask(asked, conductor_size=size, sets=1)), "ampacity_short")
    assert way in text
    deciding = 230 if size == "4/0 AWG" else 115
    assert f"1 x {size} carries {deciding} A of the {amps} A needed" in text
