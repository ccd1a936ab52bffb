"""Sentences whose quantities are values, so that an answer in other units says them in those units."""

from collections.abc import Iterator
from functools import lru_cache
from string import Formatter
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct, UnsetType

from coldwright.contract.quantities import IN_US, Quantity
from coldwright.contract.refusal import Defect

Units = Literal["metric", "us"]


class Sentence(Struct, frozen=True, gc=False):
    """A template with what stands in its places. `say` makes it."""

    template: Annotated[str, Meta(description="Words with places: `The hose of {length} is long.`")]
    values: Annotated[dict[str, Any], Meta(description="What stands in the places: quantities, numbers, words, lists.")]

    def text(self, units: Units = "metric") -> str:
        """The sentence. Quantities stand in their own unit, or in the US one beside it."""
        if units == "us":
            own = us_units_of(self.template)
            shown = {name: _in_us_words(value, own.get(name, "")) for name, value in self.values.items()}
        else:
            shown = {name: _listed(v) if isinstance(v, (list, tuple)) else v for name, v in self.values.items()}
        try:
            return self.template.format_map(shown)
        except (KeyError, IndexError, ValueError) as error:
            raise Defect(f"the sentence {self.template!r} and its values do not fit: {error}") from error

    @property
    def has_quantities(self) -> bool:
        """Whether it reads otherwise in other units."""
        return any(map(_holds_quantity, self.values.values()))


Words = str | Sentence
"""What a note is written with: plain words, or a sentence with quantities in it."""
SAID = Meta(
    description="Members whose sentence holds quantities, with its template and values: for other units or another language."
)
Said = Annotated[dict[str, Sentence], SAID] | UnsetType
"""The field of a result that has texts with quantities: `said: Said = UNSET`. See `spoken`."""


def spoken(**texts: Words | tuple[Words, ...]) -> dict[str, Any]:
    """Members of a result that are texts, and its `said`: `Line(item="hose", **spoken(reason=say("Adds {v}.", v=v)))`.

    A text is written in metric units; `said` keeps template and values, so that the answer shows it in others: under the
    member's name, and of a list of texts under `name/0`, `name/1`, ...
    """
    members: dict[str, Any] = {}
    said: dict[str, Sentence] = {}
    for name, words in texts.items():
        if isinstance(words, str):
            members[name] = words
            continue
        metric = [_in_metric(one) for one in (words if isinstance(words, tuple) else (words,))]
        for place, one in enumerate(metric):
            if isinstance(one, Sentence) and one.has_quantities:
                said[f"{name}/{place}" if isinstance(words, tuple) else name] = one
        shown = [written(one) for one in metric]
        members[name] = tuple(shown) if isinstance(words, tuple) else shown[0]
    return members | {"said": said} if said else members


def _in_metric(words: Words) -> Words:
    """A sentence with its quantities in metric units, whatever units its values came in."""
    if not isinstance(words, Sentence):
        return words
    values = {name: value.in_metric() if isinstance(value, Quantity) else value for name, value in words.values.items()}
    return Sentence(words.template, values)


def respoken(members: dict[str, Any], said: dict[str, Sentence], units: Units) -> dict[str, Any]:
    """The members of `spoken` as they read in these units; `members` has the lists of texts."""
    changed: dict[str, Any] = {}
    for key, sentence in said.items():
        name, _, place = key.partition("/")
        if place:
            texts = list(changed.get(name, members[name]))
            texts[int(place)] = sentence.text(units)
            changed[name] = tuple(texts)
        else:
            changed[name] = sentence.text(units)
    return changed


def say(template: str, /, **values: Any) -> Sentence:
    """A sentence with named values: `say("It carries the load for {time}.", time=Duration(8, "min"))`.

    The template is a constant of the code, never put together from what a caller sent: braces in it are places.
    Quantities, and lists of them, are given as they are; `{length:.1f}` says how a number is written, `{load:us=ton}` that a
    US answer says tons of cooling, and not the kW of a motor. A sentence may stand inside another one.
    """
    plain, names = _without_sentences(template)
    try:
        given = {name: values[name] for name in names}
    except KeyError as error:
        name = error.args[0]
        raise Defect(f"the sentence {template!r} has a place that nothing was given for: {name}") from None
    return _unfolded(template, given) if Sentence in map(type, given.values()) else Sentence(plain, given)


def _unfolded(template: str, values: dict[str, Any]) -> Sentence:
    """With the sentences among the values written out in their places."""
    flat: dict[str, Any] = {}
    pieces: list[str] = []
    for literal, name, spec in _places(template):
        pieces.append(literal)
        if name is None:
            continue
        if isinstance(inner := values[name], Sentence):
            pieces.append(_renamed(inner.template, name))
            flat |= {f"{name}_{own}": value for own, value in inner.values.items()}
        else:
            pieces.append(_place(name, spec))
            flat[name] = inner
    return Sentence("".join(pieces), flat)


def joined(sentences: "list[Sentence]", between: str = "; ") -> Sentence:
    """Several sentences as one."""
    names = [f"part{place}" for place in range(len(sentences))]
    return say(between.join("{" + name + "}" for name in names), **dict(zip(names, sentences, strict=True)))


def written(words: Words, units: Units = "metric") -> str:
    """Plain words of either."""
    return words if isinstance(words, str) else words.text(units)


def in_both(words: Words) -> str:
    """Plain words with each quantity in its own unit and, where that differs, in the US one in brackets.

    For a text that is quoted apart from the answer that holds its numbers.
    """
    if isinstance(words, str):
        return words
    own = us_units_of(words.template)
    return Sentence(words.template, {name: _both(v, own.get(name, "")) for name, v in words.values.items()}).text()


def _both(value: Any, own: str) -> Any:
    if isinstance(value, list | tuple):
        return ", ".join(str(_both(v, "")) for v in value)
    if not isinstance(value, Quantity):
        return value
    us = _in_us(value, own)
    return value if us.unit == value.unit else _InBoth(value, us)


class _InBoth:
    def __init__(self, quantity: Quantity, us: Quantity) -> None:
        self._quantity, self._us = quantity, us

    def __format__(self, spec: str) -> str:
        return f"{self._quantity:{spec}} ({self._us:{spec}})"

    def __str__(self) -> str:
        return format(self, "")


@lru_cache(maxsize=4096)
def _renamed(template: str, prefix: str) -> str:
    """A template whose places are named after the place that it goes into."""
    return "".join(_pieces(template, prefix))


@lru_cache(maxsize=4096)
def _places(template: str) -> tuple[tuple[str, str | None, str | None], ...]:
    """Of each place the text before it, its name and how a number is written. Templates are constants: parsed once."""
    parsed = Formatter().parse(template)
    return tuple((text.replace("{", "{{").replace("}", "}}"), name, spec) for text, name, spec, _ in parsed)


@lru_cache(maxsize=4096)
def _without_sentences(template: str) -> tuple[str, tuple[str, ...]]:
    """A template as it stands where none of its values is a sentence, and the names of its places, each once."""
    places = _places(template)
    plain = "".join(literal + ("" if name is None else _place(name, spec)) for literal, name, spec in places)
    return plain, tuple(dict.fromkeys(name for _, name, _ in places if name is not None))


def _place(name: str, spec: str | None) -> str:
    return "{" + name + (f":{spec}" if spec else "") + "}"


def _pieces(template: str, prefix: str) -> Iterator[str]:
    for literal, name, spec in _places(template):
        yield literal
        if name is not None:
            yield _place(f"{prefix}_{name}", spec)


def _holds_quantity(value: Any) -> bool:
    return isinstance(value, Quantity) or (isinstance(value, (list, tuple)) and any(map(_holds_quantity, value)))


def _listed(values: "list[Any] | tuple[Any, ...]") -> str:
    return ", ".join(_listed(v) if isinstance(v, (list, tuple)) else str(v) for v in values)


def _in_us_words(value: Any, own: str) -> Any:
    if isinstance(value, Quantity):
        return _in_us(value, own)
    if isinstance(value, (list, tuple)):
        return ", ".join(str(_in_us_words(v, "")) for v in value)
    return value


def _in_us(value: Quantity, own: str) -> Quantity:
    return value.as_unit(own) if own in value.units else value.in_us()


@lru_cache(maxsize=4096)
def us_units_of(template: str) -> dict[str, str]:
    """Places that say in which unit a US answer says them: `{load:us=ton}`."""
    if IN_US not in template:
        return {}
    return {
        name: spec.partition(IN_US)[2].strip()
        for _, name, spec, _ in Formatter().parse(template)
        if name and spec and IN_US in spec
    }
