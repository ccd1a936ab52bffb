"""An entry point as plain data, which can be handed to another process."""

from importlib.metadata import EntryPoint

from msgspec import Struct
from packaging.utils import canonicalize_name

from coldwright.contract import ENTRY_POINT_GROUP
from coldwright.registry.names import FIRST_PARTY


class Entry(Struct, frozen=True):
    """What an installed distribution names in our group."""

    name: str
    target: str
    """`module:object`."""
    distribution: str
    distribution_version: str
    socket: str = ""
    """Where the container answers in which it runs; empty where it is installed here."""

    @property
    def first_party(self) -> bool:
        """Whether it came with this distribution."""
        return self.distribution == FIRST_PARTY

    @property
    def module(self) -> str:
        """The module that it names."""
        return self.target.partition(":")[0].strip()

    def load(self) -> object:
        """Import the module and take the object: runs the plugin's code in this process."""
        return EntryPoint(self.name, self.target, ENTRY_POINT_GROUP).load()


def entry_of(point: EntryPoint) -> Entry:
    """From what the installer wrote down."""
    dist = point.dist
    name, version = (canonicalize_name(dist.name), dist.version) if dist is not None else ("unknown", "0")
    return Entry(point.name, point.value, name, version)
