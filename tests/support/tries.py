"""How many inputs a check draws, as a share of what the profile draws: ordinary runs stay short, nightly ones long."""

from hypothesis import settings


def tries(ordinary: int) -> settings:
    """So many in an ordinary run of 50, and as much more in a nightly one; above a `given`."""
    return settings(max_examples=max(1, ordinary * settings().max_examples // 50))
