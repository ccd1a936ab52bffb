"""What a calculator is: a pure, typed, cited function with an id and a version."""

import inspect
import typing
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, Generic, NamedTuple, Protocol, TypeVar, cast, overload

from msgspec import Struct

from coldwright.contract.notes import FindingKind, Hazard, Notes, Severity
from coldwright.contract.page import PageMaker
from coldwright.contract.parts import Join
from coldwright.contract.reference import Reference
from coldwright.contract.tables import Table

G = TypeVar("G", bound=Struct)
R = TypeVar("R", bound=Struct)


class Load(Enum):
    """How long one answer takes: decides where it runs."""

    LIGHT = "light"
    """Under a few milliseconds: on the event loop."""
    HEAVY = "heavy"
    """Longer, or imports CoolProp: in a worker process."""


class Example(NamedTuple):
    """A request that is shown in the documentation and run by the tests. Its data are invented."""

    name: str
    summary: str
    given: Mapping[str, Any]


class Deprecated(NamedTuple):
    """A calculator on its way out: still answers, and says since when, until when at least, and what to use instead."""

    since: str
    """Day, `2026-10-01`."""
    until: str
    """Day before which it is not taken away: half a year after `since` or later."""
    instead: str
    """What to use, in a sentence."""


class Ask(Protocol):
    """How one calculator asks another. What is asked must stand in `uses`."""

    def __call__(
        self,
        calculator: "Calculator[G, R]",
        given: G,
        *,
        origin: Mapping[str, str] | None = None,
        hazards: tuple[Hazard, ...] | None = None,
    ) -> R:
        """Results of `calculator` for `given`; its notes join the answer under its id. May raise `Refused`.

        `origin` says from where in one's own input a field of `given` came, `{"/length": "/routes/cable_length"}`: findings
        and refusals are led there; what is not named points nowhere. Without it a refusal is left as it is. Of its
        cautions only those of `hazards` come along, where any are named.
        """

    def apart(
        self, calculator: "Calculator[G, R]", given: G, *, origin: Mapping[str, str] | None = None
    ) -> tuple[R, Notes]:
        """The same, with the notes handed over instead of joined: for trying alternatives.

        `notes.adopt` joins the notes of the one that is taken. Without `origin` a refusal points into `given`.
        """


@dataclass(frozen=True, eq=False)
class Calculator(Generic[G, R]):
    """A calculator as the registry, the service and the tests see it."""

    id: str
    version: str
    title: str
    summary: str
    given: type[G]
    results: type[R]
    function: Callable[..., R]
    references: tuple[Reference, ...] = ()
    examples: tuple[Example, ...] = ()
    findings: Mapping[str, FindingKind] = field(default_factory=dict)
    tables: tuple[Table, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    uses: tuple[str, ...] = ()
    load: Load = Load.LIGHT
    deprecated: Deprecated | None = None
    joins: Join = ""
    """What its answers become a part of: see `coldwright.contract.parts`."""
    page: PageMaker | None = None
    """Lays its answers out for people; without one they are shown field by field."""

    @property
    def has_page(self) -> bool:
        """Whether it lays its answers out for people."""
        return self.page is not None

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


class _Decorate(Protocol):
    @overload
    def __call__(self, function: Callable[[G, Notes], R]) -> Calculator[G, R]: ...
    @overload
    def __call__(self, function: Callable[[G, Notes, Ask], R]) -> Calculator[G, R]: ...


def finding(code: str, severity: Severity | tuple[Severity, ...], meaning: str) -> FindingKind:
    """Declare a finding that the calculator may raise."""
    return FindingKind(code, (severity,) if isinstance(severity, str) else severity, meaning)


def calculator(
    id: str,  # noqa: A002 - the contract's own word
    *,
    version: str,
    title: str,
    references: tuple[Reference, ...] = (),
    examples: tuple[Example, ...] = (),
    findings: tuple[FindingKind, ...] = (),
    tables: tuple[Table, ...] = (),
    hazards: tuple[Hazard, ...] = (),
    uses: tuple[str, ...] = (),
    load: Load = Load.LIGHT,
    deprecated: Deprecated | None = None,
    page: PageMaker | None = None,
    joins: Join = "",
) -> _Decorate:
    """Make a calculator of a function `(given, notes) -> results`, or `(given, notes, ask) -> results` with `uses`.

    The types of the input and the results are read from the function's annotations; its docstring is the summary.
    """

    def decorate(function: Callable[..., Any]) -> Calculator[Any, Any]:
        hints = typing.get_type_hints(function)
        first = next(iter(inspect.signature(function).parameters))
        cited = {r.id: r for r in (*references, *(t.reference for t in tables))}
        return Calculator(
            id=id,
            version=version,
            title=title,
            summary=inspect.getdoc(function) or "",
            given=hints[first],
            results=hints["return"],
            function=function,
            references=tuple(cited.values()),
            examples=examples,
            findings={f.code: f for f in findings},
            tables=tables,
            hazards=hazards,
            uses=uses,
            load=load,
            deprecated=deprecated,
            page=page,
            joins=joins,
        )

    return cast(_Decorate, decorate)
