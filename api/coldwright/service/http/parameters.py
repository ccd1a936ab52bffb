"""Parameters of path and query, held to what the endpoint declares: a misspelt one must not be passed over in silence."""

import re
from datetime import UTC, date, datetime
from typing import Any

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, field_error
from coldwright.service.http.endpoint import Asked, Parameter
from coldwright.service.http.problems import ProblemRaised

_PLAIN = r"[^\x00-\x1f\x7f]*"


def check_path(asked: Asked) -> None:
    """Raise a problem for a name that nothing can have: 422 where it was to be given to something, else 404."""
    for name, pattern in asked.endpoint.named_by_pattern:
        value = asked.path(name)
        if pattern.fullmatch(value):
            continue
        text = f"A name here is of the form {pattern.pattern}."
        if asked.endpoint.method != "PUT":
            raise ProblemRaised("not-found", text)
        error = field_error(f"/path/{name}", text, code="not_allowed", value=value[:100])
        raise ProblemRaised("refused-input", text, errors=(error,))


def check_query(asked: Asked) -> None:
    """Raise a problem that names every parameter that is unknown, repeated, or not of its type."""
    declared = asked.endpoint.query_parameters
    sent = asked.query_params.dict() if asked.scope["query_string"] else {}
    if not sent and not any(p.required for p in declared.values()):
        return
    errors = [
        _error(name, f"This parameter is required: {parameter.description}", "missing")
        for name, parameter in declared.items()
        if parameter.required and name not in sent
    ]
    for name, values in sent.items():
        parameter = declared.get(name)
        if parameter is None and asked.endpoint.open_query:
            continue
        if parameter is None:
            errors.append(
                _error(name, "There is no such parameter here.", "unknown_field", Allowed(one_of=tuple(declared)))
            )
        elif len(values) > 1:
            errors.append(_error(name, "This parameter was sent more than once.", "repeated"))
        elif error := _wrong(parameter, values[0]):
            errors.append(error)
    if errors:
        raise ProblemRaised("refused-input", "; ".join(e.detail for e in errors[:5]), errors=tuple(errors[:50]))


def _wrong(parameter: Parameter, value: str) -> FieldError | None:
    schema = parameter.schema
    if (words := schema.get("enum")) and value not in words:
        text = f"This is not one of the words taken here: {', '.join(words)}."
        return _error(parameter.name, text, "not_allowed", Allowed(one_of=tuple(words)), value)
    if schema.get("type") == "integer":
        low, high = schema["minimum"], schema["maximum"]
        if not (value.isascii() and value.isdigit() and len(value) < 16 and low <= int(value) <= high):
            text = f"This is not a whole number from {low} to {high}."
            return _error(parameter.name, text, "out_of_range", Allowed(minimum=low, maximum=high), value)
    if (kind := schema.get("format")) in _FORMATS and not _is_of(kind, value):
        return _error(parameter.name, f"This is not {_FORMATS[kind]}.", "not_allowed", value=value)
    longest = schema.get("maxLength", 2000)
    if len(value) > longest:
        return _error(parameter.name, "This is too long.", "out_of_range", Allowed(maximum=longest, unit="characters"))
    if len(value) < (shortest := schema.get("minLength", 0)):
        allowed = Allowed(minimum=shortest, unit="characters")
        return _error(parameter.name, "This is too short.", "out_of_range", allowed, value)
    if not re.fullmatch(schema.get("pattern", _PLAIN), value):
        return _error(
            parameter.name, f"This is not a value for it: {parameter.description}", "not_allowed", value=value
        )
    return None


_FORMATS = {"date": "a day of the calendar, such as 2027-06-01", "date-time": "an instant with its zone (RFC 3339)"}


def _is_of(kind: str, value: str) -> bool:
    try:
        if kind == "date":
            return date.fromisoformat(value).isoformat() == value  # not by week, which sorts elsewhere
        at = datetime.fromisoformat(value)
        return at.tzinfo is not None and bool(at.astimezone(UTC))
    except (ValueError, OverflowError):  # before the first year, or after the last
        return False


def _error(name: str, text: str, code: str, allowed: Any = UNSET, value: str | None = None) -> FieldError:
    shown = value[:100] if value is not None else UNSET
    return field_error(f"/query/{name[:100]}", text, code=code, value=shown, allowed=allowed)
