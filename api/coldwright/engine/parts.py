"""Asks the parts that join an answer, each after those whose blocks it takes, and puts in what they say.

What is asked of whom is a generator: it gives the questions that may be asked side by side and gets what came of them, so
that callers that may block and callers that may not go the same way. Nothing here reads more of an answer than it needs.
"""

from collections.abc import Generator, Iterable, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple, TypeAlias, cast

import msgspec
from msgspec import NODEFAULT, Raw

from coldwright.contract import Calculator
from coldwright.contract.walk import fields_of
from coldwright.engine.outcome import Evaluated
from coldwright.registry import Served

RANK = ("acceptable", "conditional", "unacceptable")
_RANK_OF = {"check": 1, "stop": 2}
FAILED = "part_failed"
"""Code of the finding that says so."""
MOST_BYTES = 4 * 1024 * 1024
"""Of the answer of a part: the largest file that results may hold, in Base64, and what stands beside it."""
MOST_NOTES, LONGEST_NOTE = 1000, 20_000
"""Notes of a part, and bytes of one: an answer that nobody could read or print is no part of one that people use."""


class Question(NamedTuple):
    """What is asked of whom."""

    served: Served
    body: bytes
    alone: bool = False
    """Whether without the parts that join its answer."""


Outcome: TypeAlias = Evaluated | Exception
"""What came of a question."""
Steps: TypeAlias = Generator[list[Question], list[Outcome], Evaluated]


class Take(NamedTuple):
    """Something that a part takes."""

    name: str
    required: bool
    block_of: str
    """Id of the part whose block it is; empty for a member of what is joined."""
    members: frozenset[str] = frozenset()
    """What it reads of it, by name; empty where it is no struct, or one that reads all."""


class Said(NamedTuple):
    """What a part said, or in words why it did not."""

    part: Served
    answer: Evaluated | str


def takes_of(served: Served) -> tuple[Take, ...]:
    """What a part takes."""
    return _takes_of(served.calculator)


@cache
def _takes_of(calculator: Any) -> tuple[Take, ...]:
    if isinstance(calculator, Calculator):
        fields = fields_of(cast(Any, calculator.given))
        return tuple(Take(f.wire_name, f.default is NODEFAULT, f.about.block_of) for f in fields)
    schema = calculator.components[calculator.given]
    required = schema.get("required", ())
    return tuple(
        Take(name, name in required, str(field.get("x-block-of", "")), _members_in(field, calculator.components))
        for name, field in schema.get("properties", {}).items()
    )


def _members_in(field: Mapping[str, Any], components: Mapping[str, Any]) -> frozenset[str]:
    """Names that the struct of a field lists in its schema; none where it is no struct, or has further ones."""
    struct = components.get(str(field.get("$ref", "")).rpartition("/")[2], {})
    return frozenset() if struct.get("additionalProperties") else frozenset(struct.get("properties", ()))


def in_turn(parts: Sequence[Served], known: Mapping[str, Raw]) -> Generator[list[Question], list[Outcome], list[Said]]:
    """Ask every part: by need, then by id. What each said, in that order.

    `known` is what they may take, by name. Those whose needs are met are asked side by side.
    """
    said: dict[str, Said] = {}
    blocks: dict[str, Raw] = {}
    waiting = sorted(parts, key=lambda p: p.calculator.id)
    ids = {p.calculator.id for p in parts}
    while waiting:
        now = [p for p in waiting if not any(t.block_of in ids and t.block_of not in said for t in takes_of(p))]
        if not now:  # each of them waits for another
            names = ", ".join(p.calculator.id for p in waiting)
            said |= {p.calculator.id: Said(p, f"these need each other's blocks: {names}") for p in waiting}
            break
        waiting = [p for p in waiting if p not in now]
        bodies = {p.calculator.id: question_of(p, known, blocks) for p in now}
        asked = [Question(p, body) for p in now if isinstance(body := bodies[p.calculator.id], bytes)]
        answers = dict(zip((q.served.calculator.id for q in asked), (yield asked) if asked else [], strict=True))
        for part in now:
            id_ = part.calculator.id
            answer = _in_words(answers[id_]) if id_ in answers else str(bodies[id_])
            said[id_] = Said(part, answer)
            if isinstance(answer, Evaluated):
                blocks[id_] = results_of(answer)
    return list(said.values())


def _in_words(answered: Outcome) -> Evaluated | str:
    if not isinstance(answered, Evaluated):
        return str(answered) or type(answered).__name__
    return too_much_in(answered) or answered


def too_much_in(answer: Evaluated) -> str:
    """Why an answer is too long to stand in another, which is kept and printed with it; empty where it may."""
    if len(answer.body) > MOST_BYTES:
        return f"its answer has {len(answer.body)} bytes; {MOST_BYTES} may be part of another"
    said = members(answer.body)
    notes = [note for kind in Joined.NOTES for note in msgspec.json.decode(said[kind], type=list[Raw])]
    if len(notes) > MOST_NOTES:
        return f"it has {len(notes)} findings, assumptions, cautions and lines of working; {MOST_NOTES} may be part of another"
    longest = max((len(bytes(note)) for note in notes), default=0)
    return f"one of its notes has {longest} bytes; {LONGEST_NOTE} are the most" if longest > LONGEST_NOTE else ""


def question_of(part: Served, known: Mapping[str, Raw], blocks: Mapping[str, Raw]) -> bytes | str:
    """What the part is asked; in words what is lacking, where it cannot be asked."""
    found: dict[str, Raw] = {}
    missing: list[str] = []
    for take in takes_of(part):
        value = blocks.get(take.block_of) if take.block_of else known.get(take.name)
        if value is not None:
            found[take.name] = _of_interest(value, take.members)
        elif take.required:
            missing.append(f"block of {take.block_of}" if take.block_of else take.name.replace("_", " "))
    if missing:
        return f"there is no {' and no '.join(missing)}"
    return msgspec.json.encode(found)


def _of_interest(value: Raw, names: frozenset[str]) -> Raw:
    """The members that are read: an order has the whole fleet, and hardly any part wants to hear of it."""
    if not names or not bytes(value).startswith(b"{"):
        return value
    return Raw(msgspec.json.encode({name: member for name, member in members(value).items() if name in names}))


class _Results(msgspec.Struct):
    results: Raw


def results_of(answer: Evaluated) -> Raw:
    """The results of an answer, as they stand there."""
    return msgspec.json.decode(answer.body, type=_Results).results


def members(raw: bytes | Raw) -> dict[str, Raw]:
    """The members of an object, unread."""
    return msgspec.json.decode(raw, type=dict[str, Raw])


class Joined:
    """An answer that parts are put into: of it only what they add to is read."""

    NOTES = ("findings", "assumptions", "cautions", "working")

    def __init__(self, answer: Evaluated) -> None:
        self._parts = members(answer.body)
        self.results = members(self._parts["results"])
        self._notes = {name: msgspec.json.decode(self._parts[name], type=list[Raw]) for name in self.NOTES}
        self._known: dict[str, set[bytes]] = {}
        self._rank = RANK.index(answer.outcome)
        self._blocks: list[Any] = self.read("parts", [])
        self.given = self._parts["given"]

    def read(self, name: str, default: Any) -> Any:
        """One of the results."""
        return msgspec.json.decode(self.results[name]) if name in self.results else default

    def write(self, name: str, value: Any) -> None:
        """Put one of the results."""
        self.results[name] = Raw(msgspec.json.encode(value))

    def extend(self, name: str, more: Sequence[Any]) -> None:
        """Put more at the end of a list of the results, which stays unread."""
        before = msgspec.json.decode(self.results[name], type=list[Raw]) if name in self.results else []
        self.write(name, [*before, *more])

    def _add(self, kind: str, note: dict[str, Any]) -> None:
        """One more, where nobody said it before."""
        encoded = msgspec.json.encode(note)
        if kind not in self._known:
            self._known[kind] = set(map(bytes, self._notes[kind]))
        if encoded not in self._known[kind]:
            self._known[kind].add(encoded)
            self._notes[kind].append(Raw(encoded))
            self._rank = max(self._rank, _RANK_OF.get(str(note.get("severity", "")), 0))

    def fail(self, part: Served, reason: str, what: str) -> None:
        """Say that a part is not there."""
        title, id_ = part.calculator.title, part.calculator.id
        do = f"Ask {id_} by itself, or whoever maintains {part.distribution}."
        self._add(
            "findings",
            {
                "code": FAILED,
                "severity": "check",
                "statement": f"{title} ({id_}) is not part of this {what}: {reason}"[:2000],
                "why": f"Whoever installed it wants to know what it says of every {what}.",
                "do": do,
                "resolve": do,
                "calculator": id_,
            },
        )

    def take_in(self, part: Served, answered: dict[str, Any], digest: str, *, led: Mapping[str, str] = {}) -> None:
        """Its notes under its id, its block among the parts. `led` says where a field of its input stands in this one's."""
        id_, stamp = part.calculator.id, answered["calculator"]
        for kind in self.NOTES:
            for note in answered[kind]:
                own = _led(note, led)
                self._add(kind, own if "calculator" in own else {"calculator": id_, **own})
        self._blocks.append(
            {
                "calculator": id_,
                "version": stamp["version"],
                "plugin": stamp["plugin"],
                "plugin_version": stamp["plugin_version"],
                "title": part.calculator.title,
                "digest": digest,
                "outcome": answered["outcome"],
                "block": answered["results"],
            }
        )

    def finished(self, digest: str) -> Evaluated:
        """The whole again, with the outcome that all findings come to."""
        outcome = RANK[self._rank]
        if "parts" in self.results:  # an older major version of who is joined has no place for them
            self.write("parts", self._blocks)
        whole: dict[str, Any] = {
            **self._parts,
            **self._notes,
            "outcome": outcome,
            "digest": digest,
            "given": self.given,
        }
        return Evaluated(msgspec.json.encode(whole | {"results": self.results}), digest, outcome)


def _led(note: dict[str, Any], led: Mapping[str, str]) -> dict[str, Any]:
    """A note whose pointer leads into the input of the whole, or nowhere."""
    field = note.get("field")
    if field is None:
        return note
    first, _, rest = field.removeprefix("/").partition("/")
    own = {k: v for k, v in note.items() if k != "field"}
    return own | {"field": f"{led[first]}/{rest}".rstrip("/")} if first in led else own


def digests_of(said: Iterable[Said]) -> list[str]:
    """What the digest of the whole covers of each."""
    return [s.answer.digest if isinstance(s.answer, Evaluated) else f"{s.part.calculator.id} failed" for s in said]
