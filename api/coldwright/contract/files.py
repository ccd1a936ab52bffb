"""Pictures and files as results: bytes with their media type, up to a size that the field states."""

import re
from collections.abc import Hashable
from functools import cache
from typing import Annotated, Any, Literal, Self, cast

from msgspec import Meta

from coldwright.contract.fields import Results, exactly
from coldwright.contract.refusal import Defect
from coldwright.contract.walk import FieldFacts, all_structs, children, fields_of

LARGEST_FILE = 2 * 1024 * 1024
"""Bytes of one file, at most; a field may state less."""
MEDIA_TYPE = exactly("[a-z]+/[a-z0-9][a-z0-9.+-]{0,80}")
_NAME = exactly("[A-Za-z0-9][A-Za-z0-9 _.-]{0,99}")
_SIGNATURES = {"image/png": b"\x89PNG\r\n\x1a\n", "image/jpeg": b"\xff\xd8\xff", "application/pdf": b"%PDF-"}
_Content = Annotated[bytes, Meta(max_length=LARGEST_FILE, description="The bytes, in Base64.")]


class File(Results, frozen=True, kw_only=True):
    """A file: of any media type but a page or a script, since somebody may open it in a browser."""

    name: Annotated[str, Meta(pattern=_NAME, description="Its name.")]
    media_type: Annotated[str, Meta(pattern=MEDIA_TYPE, description="Media type, as IANA lists it.")]
    content: _Content

    @classmethod
    def of(cls, name: str, media_type: str, content: bytes) -> Self:
        """Check and make; raises `Defect` for what is too large, misnamed, or not what its media type says."""
        wrong = fault_of(name, media_type, content)
        if wrong:
            raise Defect(wrong)
        return cls(name=name, media_type=media_type, content=content)


class Picture(Results, frozen=True, kw_only=True):
    """A picture, which pages show. An SVG document is shown as an image, in which no script runs."""

    title: Annotated[str, Meta(min_length=1, max_length=200, description="What it shows.")]
    media_type: Annotated[
        Literal["image/png", "image/jpeg", "image/svg+xml"], Meta(description="Media type of the bytes.")
    ]
    content: _Content

    @classmethod
    def of(cls, title: str, media_type: Literal["image/png", "image/jpeg", "image/svg+xml"], content: bytes) -> Self:
        """Check and make; raises `Defect` for what is too large, or not what its media type says."""
        wrong = fault_of("picture", media_type, content)
        if wrong:
            raise Defect(wrong)
        return cls(title=title, media_type=media_type, content=content)


UNSAFE = ("text/html", "application/xhtml+xml", "text/javascript", "application/javascript", "text/xml")
"""Media types that a browser would run or draw as a page of whoever serves it."""


def fault_of(name: str, media_type: str, content: bytes) -> str:
    """What is wrong with a file; empty where nothing is."""
    if not re.fullmatch(_NAME, name):
        return f"the file name {name!r} is not of letters, digits, spaces, dots and dashes"
    if not re.fullmatch(MEDIA_TYPE, media_type) or media_type in UNSAFE:
        return f"the media type {media_type!r} of {name} is none that is taken"
    if len(content) > LARGEST_FILE:
        return f"{name} has {len(content)} bytes; {LARGEST_FILE} are the most"
    begins = _SIGNATURES.get(media_type)
    if begins is not None and not content.startswith(begins):
        return f"{name} does not begin as {media_type} does"
    if media_type == "image/svg+xml" and b"<svg" not in content[:1000]:
        return f"{name} does not begin as an SVG document does"
    return ""


def wrong_file(results: Any) -> str:
    """The first fault of the files and pictures inside results, by itself or by the limit of its field; else empty."""
    if not _may_hold_files(cast(Hashable, type(results))):
        return ""
    for _, struct in children(results, ""):
        for facts in fields_of(type(struct)):
            value = getattr(struct, facts.name)
            for item in value if isinstance(value, tuple | list) else (value,):
                wrong = _wrong(item, facts) if isinstance(item, File | Picture) else wrong_file(item)
                if wrong:
                    return wrong
    return ""


def _wrong(file: File | Picture, facts: FieldFacts) -> str:
    name, limit = file.name if isinstance(file, File) else "picture", facts.about.file
    if limit is not None and limit.media_types and file.media_type not in limit.media_types:
        return f"{facts.name} is {file.media_type}; {', '.join(limit.media_types)} were promised"
    if limit is not None and limit.most_bytes and len(file.content) > limit.most_bytes:
        return f"{facts.name} has {len(file.content)} bytes; {limit.most_bytes} were promised at most"
    return fault_of(name, file.media_type, file.content)


@cache
def _may_hold_files(struct: Hashable) -> bool:
    return isinstance(struct, type) and any(issubclass(s, File | Picture) for s in all_structs(struct))
