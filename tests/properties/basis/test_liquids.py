"""What `liquids` takes and refuses, and what loading costs."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from coldwright.contract import Fluid, Refused
from coldwright.contract.quantities import Density, Temperature
from coldwright_basis import liquids as fp


def degc(value):
    return Temperature(value, "degC")


def test_discovery_loads_nothing_heavy():
    code = (
        "import sys, coldwright_hydronic; "
        "print([m for m in ('CoolProp', 'CoolProp.CoolProp', 'fluids', 'numpy', 'scipy', 'pint') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_the_core_loads_without_the_package_and_is_the_same_module_later():
    code = (
        "import sys\n"
        "from coldwright_basis import liquids as fp\n"
        "fp.water(280.0); fp.glycol('ethylene_glycol', 0.3, 280.0)\n"
        "assert 'CoolProp' not in sys.modules and 'numpy' not in sys.modules\n"
        "core = sys.modules['CoolProp.CoolProp']\n"
        "import CoolProp.CoolProp\n"
        "assert CoolProp.CoolProp is core\n"
        "print(CoolProp.CoolProp.PropsSI('D', 'T', 280, 'P', 3e5, 'Water'))\n"
    )
    run = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=True)
    assert float(run.stdout) == pytest.approx(1000.0, rel=1e-3)


def test_threads_do_not_share_states():
    kelvins = [274 + i * 0.37 for i in range(200)]
    expected = [fp.water.__wrapped__(t).density for t in kelvins]
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(lambda t: fp.water.__wrapped__(t).density, kelvins)) == expected


@pytest.mark.parametrize(
    ("fluid", "pointer"),
    [
        (Fluid(kind="water"), "#/fluid/temperature"),
        (Fluid(kind="water", temperature=degc(0.4)), "#/fluid/temperature"),
        (Fluid(kind="water", temperature=degc(95.1)), "#/fluid/temperature"),
        (Fluid(kind="water", temperature=degc(7), volume_fraction=0.3), "#/fluid/volume_fraction"),
        (Fluid(kind="water", temperature=degc(7), density=Density(1000, "kg/m3")), "#/fluid/density"),
        (Fluid(kind="ethylene_glycol", temperature=degc(7)), "#/fluid/mass_fraction"),
        (
            Fluid(kind="ethylene_glycol", temperature=degc(7), mass_fraction=0.3, volume_fraction=0.3),
            "#/fluid/volume_fraction",
        ),
        (Fluid(kind="ethylene_glycol", temperature=degc(7), volume_fraction=0.6), "#/fluid/volume_fraction"),
        (Fluid(kind="propylene_glycol", temperature=degc(-13), mass_fraction=0.3), "#/fluid/temperature"),
        (Fluid(kind="custom", density=Density(1200, "kg/m3"), mass_fraction=0.3), "#/fluid/mass_fraction"),
        (Fluid(kind="custom", temperature=degc(-13)), "#/fluid/density"),
        (
            Fluid(kind="custom", density=Density(1200, "kg/m3"), temperature=degc(-31), freezing_temperature=degc(-30)),
            "#/fluid/temperature",
        ),
    ],
)
def test_refusals(fluid, pointer):
    with pytest.raises(Refused) as refused:
        fp.check_fluid(fluid, needs=("density",))
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_properties_refuse_a_temperature_of_the_caller():
    """A calculator that works the temperature out may come to one that the liquid does not have."""
    with pytest.raises(Refused) as refused:
        fp.properties(Fluid(kind="ethylene_glycol", mass_fraction=0.2), 250.0, pointer="/loop/fluid")
    assert refused.value.errors[0].pointer == "#/loop/fluid/temperature"
    assert refused.value.errors[0].allowed
    assert refused.value.errors[0].allowed.above == pytest.approx(-7.9, abs=1.0)


def test_custom_liquid_gives_what_it_brought():
    fluid = Fluid(kind="custom", density=Density(1200, "kg/m3"))
    assert fp.properties(fluid, needs=("density",)).density == 1200
    assert fp.freezing_temperature(fluid) is None
    assert fp.vapor_pressure(fluid, 280.0) is None
    with pytest.raises(Refused) as refused:
        fp.properties(fluid, needs=("density", "specific_heat", "dynamic_viscosity"))
    assert [e.pointer for e in refused.value.errors] == ["#/fluid/specific_heat", "#/fluid/dynamic_viscosity"]
    with pytest.raises(Refused) as refused:
        fp.properties(fluid, needs=("conductivity",))
    assert refused.value.errors[0].pointer == "#/fluid/kind"


def test_vapor_pressure_below_the_triple_point_is_held():
    assert fp.water_vapor_pressure(268.0) == 612.0
    assert fp.water_vapor_pressure(283.15) == pytest.approx(1228.2, rel=1e-3)
