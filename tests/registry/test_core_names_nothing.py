"""The core knows plugins by their entry points, and calculators by the roles that plugins name: never by name."""

import re
from pathlib import Path

import pytest

import coldwright
from coldwright.registry import Registry
from coldwright.registry.names import RESERVED_FAMILIES

API = Path(coldwright.__file__).parent
SOURCES = sorted(p for p in API.rglob("*.py") if "template" not in p.parts)
FAMILIES = "|".join(sorted(RESERVED_FAMILIES))
IDS = "|".join(re.escape(name) for name in sorted(Registry().served))
NAMED = re.compile(rf"""["'](?:{IDS})(?:@\d+)?["']|\bcoldwright_(?:{FAMILIES}|basis)\b""")
"""Ids of what is served; kinds of event (`booking.created`) are the service's own words."""


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(API)))
def test_no_quoted_id_and_no_package_of_a_plugin_stands_in_the_core(path: Path) -> None:
    assert NAMED.findall(path.read_text("utf-8")) == []


def test_the_pattern_finds_what_it_is_to_find() -> None:
    assert {"booking", "electrical", "readiness"} <= RESERVED_FAMILIES
    assert NAMED.search('x = "booking.assessment"')
    assert NAMED.search("from coldwright_readiness.startup import startup")


def test_every_role_is_taken_by_a_calculator_that_is_served() -> None:
    registry = Registry()
    taken = {role: registry.role(role) for role in ("booking", "fleet", "start")}
    assert all(taken.values())
    assert taken["booking"] is registry.served[taken["booking"].calculator.id]  # type: ignore[union-attr]


def test_a_role_that_nobody_takes_is_said_to_be_missing() -> None:
    nobody = Registry(points=())
    assert nobody.role("booking") is None
    with pytest.raises(LookupError, match="no plugin that is served takes the role 'booking'"):
        nobody.needed("booking")
