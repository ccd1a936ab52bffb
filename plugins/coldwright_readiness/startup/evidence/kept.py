"""Records that the service kept under earlier versions: words that were free then, read as the lists of today.

What `received_at` stands on was taken and cannot be sent again, so it is judged and not refused. An unknown valve is another
valve in the flow path, an unknown compressor that runs is the first one: neither can make an answer milder.
"""

from collections.abc import Callable
from typing import Any, Final

from msgspec import UNSET
from msgspec.structs import replace

from coldwright_readiness.startup.observation_data import ITEMS, POINTS, VALVES
from coldwright_readiness.startup.observations import ROLES, AnyObservation, kind_of
from coldwright_readiness.startup.words import word


def is_kept(observation: AnyObservation) -> bool:
    """Whether the service took it once."""
    return observation.received_at is not UNSET


def in_listed_words(observation: AnyObservation, compressors: tuple[str, ...]) -> AnyObservation:
    """The same in the words of today; itself where it has no other."""
    role = observation.role
    if role is not UNSET and word(role) not in ROLES:
        observation = replace(observation, role="other")
    listed = _LISTED.get(kind_of(observation))
    data = observation.data if listed is None else listed(observation.data, compressors)
    return observation if data is observation.data else replace(observation, data=data)


def _among(name: str, words: tuple[str, ...], **beside: Any) -> Callable[[Any, tuple[str, ...]], Any]:
    def listed(data: Any, _compressors: tuple[str, ...]) -> Any:
        said = getattr(data, name)
        if word(said) not in words:
            return replace(data, **{name: "other", "label": said} | beside)
        if word(said) == "other" and data.label is UNSET:
            return replace(data, **{"label": said} | beside)
        return data

    return listed


def _numbered(name: str) -> Callable[[Any, tuple[str, ...]], Any]:
    def listed(data: Any, compressors: tuple[str, ...]) -> Any:
        said = getattr(data, name)
        if said in compressors or said.isdecimal():
            return data
        digits = "".join(c for c in said if c in "0123456789").lstrip("0")
        return replace(data, **{name: digits if digits in compressors else compressors[0]})

    return listed


_LISTED: Final[dict[str, Callable[[Any, tuple[str, ...]], Any]]] = {
    "valve_position": _among("valve", VALVES, in_flow_path=True),
    "purge": _among("point", POINTS),
    "machine_check": _among("item", ITEMS),
    "compressor": _numbered("id"),
    "oil_heater": _numbered("compressor"),
}
