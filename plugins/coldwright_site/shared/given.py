"""Points, as every calculator of the family takes and gives them."""

from typing import Annotated

from coldwright.contract import Given, about
from coldwright.contract.quantities import Length


def metres(length: Length) -> float:
    """A coordinate in m, to the nanometre: finer, plane geometry breeds nothing but underflow."""
    return round(length.si, 9)


class Point(Given, frozen=True, kw_only=True):
    """A point in plan."""

    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m")]

    @property
    def xy(self) -> tuple[float, float]:
        """The coordinates in m."""
        return metres(self.x), metres(self.y)


class Position(Given, frozen=True, kw_only=True):
    """A point in space; z is up."""

    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m")]
    z: Annotated[Length, about("Height, in the same frame.", low=-1000, high=1000, unit="m")]

    @property
    def xyz(self) -> tuple[float, float, float]:
        """The coordinates in m."""
        return self.x.si, self.y.si, self.z.si


class Offset(Given, frozen=True, kw_only=True):
    """How far off something is in plan; a direction that is not given is 0."""

    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m", basis="derived")] = Length(0.0, "m")
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m", basis="derived")] = Length(0.0, "m")

    @property
    def xy(self) -> tuple[float, float]:
        """The coordinates in m."""
        return metres(self.x), metres(self.y)


NO_OFFSET = Offset()
