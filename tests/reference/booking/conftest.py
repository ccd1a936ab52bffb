"""Plans of many kinds, each worked out once for all modules that look at them."""

from typing import Any

import pytest
from plans_anew import CASES, Plan, all_of_them


@pytest.fixture(scope="session")
def plans_anew(answer_of: Any) -> dict[str, Plan]:
    """All of them."""
    return all_of_them(answer_of)


@pytest.fixture(params=list(CASES))
def plan(plans_anew: dict[str, Plan], request: Any) -> Plan:
    """One of them."""
    return plans_anew[request.param]
