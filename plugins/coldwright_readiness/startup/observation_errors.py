"""What the types of an observation cannot say: each is judged without the others, so that of a batch each is taken alone."""

from collections.abc import Callable
from typing import Any, Final, cast

from msgspec import UNSET, Struct

from coldwright.contract import Allowed, FieldError, Refused, field_error
from coldwright.contract.reading import convert
from coldwright_basis.instants import is_on_calendar, stamp_error
from coldwright_readiness.startup import observation_data as data_of
from coldwright_readiness.startup.observations import (
    KINDS,
    ROLES,
    AnyObservation,
    AreaClear,
    LineConnection,
    Lock,
    MachineCheck,
    OwnFact,
    Purge,
    Settled,
    ValvePosition,
    WaterTemperature,
    Withdrawn,
)
from coldwright_readiness.startup.words import word


def check_observation(value: Any) -> AnyObservation:
    """One observation, from decoded JSON; raises `Refused` with pointers that start at the observation."""
    _refuse_unknown_kind(value)
    observation = cast(AnyObservation, convert(cast(type[Any], AnyObservation), value))
    if errors := observation_errors(observation):
        raise Refused(errors)
    return observation


def _refuse_unknown_kind(value: Any) -> None:
    kind = value.get("kind") if isinstance(value, dict) else None
    if isinstance(kind, str) and kind not in KINDS:
        allowed = Allowed(one_of=KINDS)
        text = "There is no such kind of observation."
        raise Refused([field_error("/kind", text, code="not_allowed", value=kind[:100], allowed=allowed)])


def observation_errors(observation: AnyObservation, pointer: str = "") -> list[FieldError]:
    """What the types cannot say: the calendar, enumerations that forgive old spellings, fields that belong together."""
    errors = stamp_errors(observation, pointer)
    if (
        observation.device is not UNSET
        or observation.boot is not UNSET
        or observation.sequence is not UNSET
        or observation.uptime is not UNSET
    ):
        errors += _device_errors(observation, pointer)
    if observation.role is not UNSET:
        errors += _word_error(f"{pointer}/role", observation.role, ROLES)
    kind = type(observation)
    if kind in _SIGNED:
        errors += _signature_errors(observation, pointer)
    check = _DATA_ERRORS.get(kind)
    return errors if check is None else errors + check(observation.data, f"{pointer}/data")


def stamp_errors(observation: AnyObservation, pointer: str = "") -> list[FieldError]:
    """Days that the calendar does not have."""
    if observation.received_at is UNSET and observation.sent_at is UNSET and is_on_calendar(observation.at):
        return []
    errors = []
    for name in _STAMPS:
        value = getattr(observation, name)
        if value is not UNSET and not is_on_calendar(value) and (error := stamp_error(f"{pointer}/{name}", value)):
            errors.append(error)
    return errors


_STAMPS: Final = ("at", "received_at", "sent_at")
_SIGNED: Final = (Lock, Settled, Withdrawn)
"""Kinds that are nothing without who stands behind them."""


def _signature_errors(observation: AnyObservation, pointer: str) -> list[FieldError]:
    errors = []
    if observation.by is UNSET:
        text = "Say who: only the same person, or one who is responsible, may undo or settle it."
        errors.append(field_error(f"{pointer}/by", text, code="missing"))
    if isinstance(observation, Settled) and observation.role is UNSET:
        text = "Say in what role: a check is settled by somebody qualified for it."
        errors.append(field_error(f"{pointer}/role", text, code="missing", allowed=Allowed(one_of=ROLES)))
    if isinstance(observation, Withdrawn) and observation.supersedes is UNSET:
        text = "Name the observation that is taken back."
        errors.append(field_error(f"{pointer}/supersedes", text, code="missing"))
    return errors


def _word_error(pointer: str, value: str, words: tuple[str, ...]) -> list[FieldError]:
    if value in words or word(value) in words:
        return []
    text = "This is not one of the words that are taken."
    return [field_error(pointer, text, code="not_allowed", value=value[:100], allowed=Allowed(one_of=words))]


def _device_errors(observation: AnyObservation, pointer: str) -> list[FieldError]:
    names = ("device", "boot", "sequence")
    given = [name for name in names if getattr(observation, name) is not UNSET]
    if len(given) == len(names):
        return []
    text = "`device`, `boot` and `sequence` are of use only together, and `uptime` only with them."
    return [field_error(f"{pointer}/{n}", text, code="missing") for n in names if n not in given]


def _other_errors(pointer: str, data: Any, value: str, words: tuple[str, ...], name: str) -> list[FieldError]:
    errors = _word_error(f"{pointer}/{name}", value, words)
    if word(value) == "other" and data.label is UNSET:
        errors.append(field_error(f"{pointer}/label", "Say which: `other` needs a label.", code="missing"))
    return errors


def _valve_errors(data: data_of.ValvePositionData, pointer: str) -> list[FieldError]:
    errors = _other_errors(pointer, data, data.valve, data_of.VALVES, "valve")
    if word(data.valve) == "other" and data.in_flow_path is UNSET:
        text = "Say whether the flow through the machine goes through this valve."
        errors.append(field_error(f"{pointer}/in_flow_path", text, code="missing"))
    return errors


def _point_errors(data: data_of.PurgeData, pointer: str) -> list[FieldError]:
    return _other_errors(pointer, data, data.point, data_of.POINTS, "point")


def _item_errors(data: data_of.MachineCheckData, pointer: str) -> list[FieldError]:
    return _other_errors(pointer, data, data.item, data_of.ITEMS, "item")


def _water_errors(data: data_of.WaterTemperatureData, pointer: str) -> list[FieldError]:
    if data.leaving is not UNSET or data.entering is not UNSET:
        return []
    text = "Give the leaving or the entering temperature, or both."
    return [field_error(f"{pointer}/leaving", text, code="missing")]


def _area_errors(data: data_of.AreaClearData, pointer: str) -> list[FieldError]:
    if data.clear and data.where is not UNSET:
        text = "A clear area has nobody anywhere."
        return [field_error(f"{pointer}/where", text, value=data.where)]
    return []


def _own_fact_errors(data: data_of.OwnFactData, pointer: str) -> list[FieldError]:
    error = None if data.until is UNSET else stamp_error(f"{pointer}/until", data.until)
    return [error] if error else []


def _connection_errors(data: data_of.LineConnectionData, pointer: str) -> list[FieldError]:
    errors = []
    if len(set(data.order)) != len(data.order):
        errors.append(field_error(f"{pointer}/order", "Each conductor stands in the order once."))
    for name, value in (("fully_mated", data.fully_mated), ("covers_on", data.covers_on)):
        if data.state == "connected" and value is UNSET:
            errors.append(field_error(f"{pointer}/{name}", "Say so of what was connected.", code="missing"))
        elif data.state == "disconnected" and value is not UNSET:
            text = "This belongs to a connection, not to taking it off."
            errors.append(field_error(f"{pointer}/{name}", text, value=value))
    return errors


_DATA_ERRORS: Final[dict[type[Struct], Callable[[Any, str], list[FieldError]]]] = {
    ValvePosition: _valve_errors,
    Purge: _point_errors,
    MachineCheck: _item_errors,
    WaterTemperature: _water_errors,
    AreaClear: _area_errors,
    LineConnection: _connection_errors,
    OwnFact: _own_fact_errors,
}
