"""Words of a page in the reader's language: gettext, a catalogue for each package, beside its code.

The words in the code are English. A package keeps `locale/LANGUAGE/LC_MESSAGES/words.po`, and the `words.mo` that Babel makes
of it: `python tests/support/catalogues.py` renews both. What a catalogue lacks stays English.
"""

import gettext
from collections.abc import Callable, Sequence
from functools import cache
from importlib.resources import as_file, files
from typing import Literal

Language = Literal["en", "en-US", "en-GB", "es"]
LANGUAGES: tuple[Language, ...] = ("en", "en-US", "en-GB", "es")
"""`en` is that of the job: a page that knows the country's practice chooses."""
BY_MACHINE = ("es",)
"""Translated by a machine, and read by nobody yet who speaks it: the page says so."""
Say = Callable[[str], str]


@cache
def words_in(package: str, language: str) -> Say:
    """What turns English words of `package` into those of a language: `_ = words_in(__package__, occasion.language)`."""
    name = f"locale/{language.replace('-', '_')}/LC_MESSAGES/words.mo"
    with as_file(files(package).joinpath(name)) as path:
        if not path.is_file():
            return _as_it_is
        with path.open("rb") as catalogue:
            found = gettext.GNUTranslations(catalogue).gettext

    def said(text: str) -> str:
        return found(text) if text else ""  # gettext answers nothing with the head of the catalogue

    return said


def _as_it_is(text: str) -> str:
    return text


def marked(text: str) -> str:
    """Marks words for the catalogue, `from ... import marked as _`; whoever writes the page looks them up."""
    return text


def chosen(asked: str | None, accepted: str | None, offered: Sequence[str] = LANGUAGES) -> str:
    """What was asked for by name; else what `Accept-Language` likes best (RFC 9110, 12.5.4; RFC 4647, 3.4); else English."""
    if asked:
        return asked
    by_name = {name.casefold(): name for name in offered}
    for wanted in _ranked(accepted or ""):
        range_ = wanted
        while range_:
            if range_ in by_name:
                return by_name[range_]
            range_ = range_.rpartition("-")[0]
    return offered[0]


def _ranked(header: str) -> list[str]:
    """Ranges of a header, the most wanted first; those that are refused, and those that cannot be read, are left out."""
    ranked = []
    for place, part in enumerate(header.split(",")[:MOST_RANGES]):
        name, _, parameter = part.partition(";")
        try:
            quality = float(parameter.partition("=")[2]) if parameter.strip() else 1.0
        except ValueError:
            continue
        if 0 < quality <= 1:
            ranked.append((-quality, place, name.strip().casefold()))
    return [name for _, _, name in sorted(ranked)]


MOST_RANGES = 20
