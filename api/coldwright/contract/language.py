"""Words of a page in the reader's language: gettext, a catalogue for each package, beside its code.

The words in the code are English; `en_US` says what a yard in North America calls otherwise. A package keeps
`locale/LANGUAGE/LC_MESSAGES/words.po`, and the `words.mo` that Babel makes of it. What a catalogue lacks stays English.
"""

import gettext
from collections.abc import Callable
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
            return gettext.GNUTranslations(catalogue).gettext


def _as_it_is(text: str) -> str:
    return text
