"""The pen with which a calculator writes down what it assumed, found, warns of and worked out."""

from collections.abc import Iterable, Mapping
from functools import partial
from typing import Annotated, Any, Literal, NamedTuple, Protocol, TypeVar, overload

from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract.fields import Basis
from coldwright.contract.quantities import Quantity, tidy
from coldwright.contract.refusal import Defect
from coldwright.contract.sentences import SAID, Sentence, Words, written

Severity = Literal["stop", "check", "note"]
Hazard = Literal[
    "electrical",
    "pressure",
    "lifting",
    "refrigerant",
    "chemical",
    "rotating",
    "thermal",
    "noise",
    "environment",
    "general",
]
N = TypeVar("N", bound=Struct)
_CALCULATOR = Meta(description="Id of the calculator that says so, where it was asked by another; absent for its own.")
_REFERENCES = Meta(description="Ids of references: see `GET /v1/references`.")


class Finding(Struct, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """Something about the case that a person should know: `stop` forbids, `check` asks, `note` informs."""

    code: Annotated[str, Meta(description="Stable word.")]
    severity: Annotated[Severity, Meta(description="`stop` makes the outcome unacceptable, `check` conditional.")]
    statement: Annotated[str, Meta(description="What was found, with the numbers.")]
    why: Annotated[str, Meta(description="Why it matters.")] = ""
    resolve: Annotated[str, Meta(description="What would free it: `do` and `cleared_by` in one text.")] = ""
    field: Annotated[str | UnsetType, Meta(description="JSON pointer into `given` of the field that decides it.")] = (
        UNSET
    )
    rule: Annotated[str | UnsetType, Meta(description="Id of the numbered rule behind it, where there is one.")] = UNSET
    references: Annotated[tuple[str, ...], _REFERENCES] = ()
    calculator: Annotated[str | UnsetType, _CALCULATOR] = UNSET
    do: Annotated[str, Meta(description="What to do about it.")] = ""
    cleared_by: Annotated[str, Meta(description="Who may say that it is done.")] = ""
    said: Annotated[dict[str, Sentence], SAID] = {}


class Assumption(Struct, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """Something taken as true because nobody said otherwise."""

    code: Annotated[str, Meta(description="Stable word; `default:` and the field's pointer for a default.")]
    statement: Annotated[str, Meta(description="What was assumed.")]
    value: Annotated[Any, Meta(description="The value assumed: a quantity, number, word or list.")] = UNSET
    basis: Annotated[Basis, Meta(description="What kind of ground it stands on.")]
    references: Annotated[tuple[str, ...], _REFERENCES] = ()
    calculator: Annotated[str | UnsetType, _CALCULATOR] = UNSET
    said: Annotated[dict[str, Sentence], SAID] = {}


class Caution(Struct, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """A hazard of the work and the usual care against it. Local codes and licensed practice prevail."""

    code: Annotated[str, Meta(description="Stable word.")]
    hazard: Annotated[Hazard, Meta(description="What can hurt.")]
    statement: Annotated[str, Meta(description="The hazard and the care to take.")]
    references: Annotated[tuple[str, ...], _REFERENCES] = ()
    calculator: Annotated[str | UnsetType, _CALCULATOR] = UNSET


class Working(Struct, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """One line of the sum, so that it can be followed by hand."""

    symbol: Annotated[str, Meta(description="Symbol, as the source writes it.")]
    meaning: Annotated[str, Meta(description="What it stands for.")]
    expression: Annotated[str, Meta(description="Equation, and the numbers put in.")]
    value: Annotated[float, Meta(description="The number.", extra_json_schema={"format": "double"})]
    unit: Annotated[str, Meta(description="Its unit; `1` for a plain number.")]
    calculator: Annotated[str | UnsetType, _CALCULATOR] = UNSET


class FindingKind(NamedTuple):
    """A finding that a calculator may raise: its code, the severities it can have, and what it means."""

    code: str
    severities: tuple[Severity, ...]
    meaning: str


class Say(Protocol):
    """Write a finding: one signature for all three severities."""

    def __call__(
        self,
        code: str,
        statement: Words,
        *,
        why: Words = "",
        resolve: Words = "",
        field: str | UnsetType = UNSET,
        rule: str | UnsetType = UNSET,
        references: tuple[str, ...] = (),
        do: Words = "",
        cleared_by: str = "",
    ) -> None:
        """See `Notes.finding`."""


class _Saying:
    """`notes.stop`, `notes.check` and `notes.note`: the same pen with the severity filled in."""

    def __init__(self, severity: Severity) -> None:
        self._severity = severity

    @overload
    def __get__(self, notes: None, owner: type["Notes"]) -> "_Saying": ...
    @overload
    def __get__(self, notes: "Notes", owner: type["Notes"]) -> Say: ...
    def __get__(self, notes: "Notes | None", owner: type["Notes"]) -> "Say | _Saying":
        return self if notes is None else partial(notes.finding, self._severity)


class Notes:
    """One per evaluation. Codes of findings must be declared by the calculator, so that they can be listed."""

    __slots__ = ("_adopted", "_declared", "_warned", "assumptions", "cautions", "findings", "working")

    def __init__(self, declared: Mapping[str, FindingKind]) -> None:
        self._declared = declared
        self._adopted: dict[str, list[Assumption]] = {}
        self._warned: dict[str, list[Caution]] = {}
        self.findings: list[Finding] = []
        self.assumptions: list[Assumption] = []
        self.cautions: list[Caution] = []
        self.working: list[Working] = []

    def finding(
        self,
        severity: Severity,
        code: str,
        statement: Words,
        *,
        why: Words = "",
        resolve: Words = "",
        field: str | UnsetType = UNSET,
        rule: str | UnsetType = UNSET,
        references: tuple[str, ...] = (),
        do: Words = "",
        cleared_by: str = "",
    ) -> None:
        """Write a finding of a severity that is decided at run time.

        `do` is what to do about it, `cleared_by` who may say that it is done. `resolve` is both in one text, as it was
        before 1.2; whoever gives it alone gives `do` with it.
        """
        kind = self._declared.get(code)
        if kind is None or severity not in kind.severities:
            raise Defect(f"finding {code!r} with severity {severity!r} is not declared")
        done = written(do or resolve)
        self.findings.append(
            Finding(
                code=code,
                severity=severity,
                statement=written(statement),
                why=written(why),
                do=done,
                cleared_by=cleared_by,
                resolve=written(resolve) if resolve else in_one_text(done, cleared_by),
                field=field,
                rule=rule,
                references=references,
                said=_said(statement, why, do or resolve),
            )
        )

    stop = _Saying("stop")
    """The case must not go ahead as it is."""
    check = _Saying("check")
    """Somebody must look before the case goes ahead."""
    note = _Saying("note")
    """Worth knowing; changes nothing."""

    def assume(
        self, code: str, statement: Words, *, value: object = UNSET, basis: Basis, references: tuple[str, ...] = ()
    ) -> None:
        """Something taken as true. Defaults of fields are listed without this, from the schema."""
        self.assumptions.append(
            Assumption(
                code=code,
                statement=written(statement),
                value=value,
                said=_said(statement),
                basis=basis,
                references=references,
            )
        )

    def caution(self, *cautions: Caution) -> None:
        """Cautions, usually shared by a family; each is listed once, whoever says it again."""
        for caution in cautions:
            known = self._warned.get(caution.code)  # comparing each with each costs more than writing them
            if known is None:
                self._warned[caution.code] = [caution]
            elif any(_same_caution(caution, other) for other in known):
                continue
            else:
                known.append(caution)
            self.cautions.append(caution)

    def show(self, symbol: str, meaning: str, expression: str, value: "float | Quantity", unit: str = "") -> None:
        """A line of the working. A quantity brings its own unit."""
        if isinstance(value, Quantity):
            unit, value = value.unit, value.value
        self.working.append(
            Working(symbol=symbol, meaning=meaning, expression=expression, value=tidy(value, symbol), unit=unit or "1")
        )

    def adopt(
        self,
        other: "Notes",
        calculator: str,
        *,
        origin: Mapping[str, str] | None = None,
        hazards: tuple[Hazard, ...] | None = None,
    ) -> None:
        """Take over the notes of a calculator that was asked, under its id.

        `origin` says from where in one's own input a field of its input came: `{"/length": "/routes/cable_length"}`. The
        pointers of its findings are led there; others are left out, since nobody sent what they point into. Of its
        cautions only those of `hazards` come along, where any are named.
        """
        self.findings += _under([_led(f, origin or {}) for f in other.findings], calculator)
        new = [a for a in _under(other.assumptions, calculator) if a not in self._adopted.get(a.code, ())]
        for assumption in new:  # by code: comparing each with each costs more than writing them
            self._adopted.setdefault(assumption.code, []).append(assumption)
        self.assumptions += new
        wanted = [c for c in other.cautions if hazards is None or c.hazard in hazards]
        self.caution(*_under(wanted, calculator))
        self.working += _under(other.working, calculator)

    @property
    def outcome(self) -> Literal["acceptable", "conditional", "unacceptable"]:
        """What the findings come to."""
        outcome: Literal["acceptable", "conditional"] = "acceptable"
        for finding in self.findings:
            if finding.severity == "stop":
                return "unacceptable"
            if finding.severity == "check":
                outcome = "conditional"
        return outcome


def in_one_text(do: str, cleared_by: str) -> str:
    """What to do and who may clear it, as `resolve` says both."""
    return f"{do} Cleared by: {cleared_by}." if cleared_by else do


def _same_caution(one: Caution, other: Caution) -> bool:
    return one is other or (
        one.statement == other.statement and one.hazard == other.hazard and one.references == other.references
    )


def led_to(pointer: str, origin: Mapping[str, str]) -> str | None:
    """Where a pointer into what was asked leads in the asker's own input; nothing where nobody said."""
    nearest = max((place for place in origin if f"{pointer}/".startswith(f"{place}/")), key=len, default=None)
    return None if nearest is None else origin[nearest] + pointer[len(nearest) :]


def _led(finding: Finding, origin: Mapping[str, str]) -> Finding:
    if finding.field is UNSET:
        return finding
    return replace(finding, field=led_to(finding.field, origin) or UNSET)


def _said(statement: Words, why: Words = "", do: Words = "") -> dict[str, Sentence]:
    """Those that read otherwise in other units. Mostly there are none: then they are not gone through by name."""
    if isinstance(statement, str) and isinstance(why, str) and isinstance(do, str):
        return {}
    named = {"statement": statement, "why": why, "do": do}
    return {name: words for name, words in named.items() if isinstance(words, Sentence) and words.has_quantities}


def _under(notes: Iterable[N], calculator: str) -> list[N]:
    return [n if n.calculator is not UNSET else replace(n, calculator=calculator) for n in notes]  # type: ignore[attr-defined]
