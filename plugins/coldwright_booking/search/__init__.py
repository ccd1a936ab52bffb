"""Which combination of machines: rounds until a plan agrees with itself, and the next combination where one stops."""
