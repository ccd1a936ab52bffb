"""A stranger's plugin as the process that imported it reported it: everything that it says of itself, and none of its code.

The service lists, documents and addresses a third party's calculators by these alone; it never imports them.
"""

from typing import Any, Literal

from msgspec import Struct

from coldwright.contract import Example, Load, Reference, Table
from coldwright.contract.calculator import Deprecated
from coldwright.contract.notes import FindingKind, Hazard
from coldwright.contract.parts import Join
from coldwright.contract.plugin import Exploration

Stage = Literal["", "import", "manifest", "contract", "identity", "schema"]


class RangeEntry(Struct, frozen=True):
    """The range in which a field of the input is taken."""

    field: str
    """Component and field."""
    range: dict[str, Any]
    """Bounds, unit and reason."""


class Reported(Struct, frozen=True, kw_only=True, eq=False):
    """A calculator of a third party, without its types and its function."""

    id: str
    version: str
    title: str
    summary: str
    load: Load
    references: tuple[Reference, ...]
    examples: tuple[Example, ...]
    findings: dict[str, FindingKind]
    tables: tuple[Table, ...]
    hazards: tuple[Hazard, ...]
    uses: tuple[str, ...]
    deprecated: Deprecated | None
    joins: Join
    has_page: bool
    """Whether it lays its answers out for people."""
    newest: bool
    """Whether it is the newest major version of its id."""
    given: str
    """Name of the component of its input; likewise of its results and its answer."""
    results: str
    answer: str
    components: dict[str, Any]
    """Schemas of all that these name, as they stand in the OpenAPI document."""
    ranges: tuple[RangeEntry, ...]

    @property
    def major(self) -> int:
        """First number of the version: another one may break callers."""
        return int(self.version.partition(".")[0])

    @property
    def pinned(self) -> str:
        """Id with the major version: `site.lift@1`."""
        return f"{self.id}@{self.major}"

    @property
    def family(self) -> str:
        """First word of the id."""
        return self.id.partition(".")[0]

    @property
    def name(self) -> str:
        """Second word of the id."""
        return self.id.partition(".")[2]


class ReportedKind(Struct, frozen=True):
    """A quantity that a plugin declares itself."""

    kind: str
    factors: dict[str, float]
    us: str


class ReportedPlugin(Struct, frozen=True, kw_only=True, eq=False):
    """A plugin of a third party."""

    title: str
    contract: str
    references: tuple[Reference, ...]
    calculators: tuple[Reported, ...]
    summary: str
    explorations: dict[Exploration, Example]
    kinds: tuple[ReportedKind, ...]
    names: tuple[tuple[str, str], ...]
    """Names that it takes for itself, each with whom it means: see `rules.names_of`."""


class Report(Struct, frozen=True, kw_only=True):
    """What became of reading one entry point."""

    plugin: ReportedPlugin | None = None
    stage: Stage = ""
    reason: str = ""
    """Why it is set aside, and what to do about it; empty where it is well."""
    remedy: str = ""
    title: str = ""
    contract: str = ""
    seconds: float = 0.0
    output: str = ""
    """What it printed while it was imported, cut short."""
