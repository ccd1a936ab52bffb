"""One machine, one open start: what still speaks of the machine goes along into its next start.

Locks, alarms, running compressors and open checks: the calculator names the records. Each goes along as it was counted,
with who recorded it and when it arrived, under an id that says which start it comes from.
"""

import hashlib
from collections.abc import Sequence
from typing import Any

import msgspec
from msgspec import Raw, Struct

LONGEST_ID = 200


def carried(bodies: Sequence[bytes], startup_id: str, wanted: Sequence[str], own: int) -> list[Raw]:
    """Those of `bodies` whose ids are wanted, as they go along; the first `own` are of this start itself."""
    names = frozenset(wanted)
    if not names:
        return []
    ids = [msgspec.json.decode(body, type=_Id).id for body in bodies]  # of thousands: no more is read of them
    renamed = {id_: carried_id(startup_id, id_) for id_ in ids[:own]}
    return [
        Raw(_renamed(bodies[number], renamed) if number < own else bodies[number])
        for number, id_ in enumerate(ids)
        if id_ in names
    ]


class _Id(Struct):
    id: str


def carried_id(startup_id: str, id_: str) -> str:
    """The id of a record in the next start: phones number the records of each start anew, and two must not meet."""
    name = f"{startup_id}/{id_}"
    return name if len(name) <= LONGEST_ID else f"{startup_id}/{hashlib.sha256(id_.encode()).hexdigest()[:32]}"


def _renamed(body: bytes, names: dict[str, str]) -> bytes:
    observation: dict[str, Any] = msgspec.json.decode(body)
    changed = observation | {"id": names[observation["id"]]}
    if "supersedes" in changed:
        changed["supersedes"] = names.get(changed["supersedes"], changed["supersedes"])
    changed["data"] = {
        name: [names.get(v, v) if isinstance(v, str) else v for v in value] if isinstance(value, list) else value
        for name, value in observation["data"].items()
    }
    return msgspec.json.encode(changed, order="deterministic")
