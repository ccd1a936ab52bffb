"""A rendered page as somebody reads it."""

import html
import re

PROGRAMS_WORDS = re.compile(r"`|\bdeg[CF]\b|delta_|\w_\w|Said by|nobody has told|[{}]")
"""Words that belong to programs."""


def pages_of(pdf: bytes) -> int:
    """Of a document that keeps its list of pages uncompressed, as the library writes it."""
    counted = re.search(rb"/Count (\d+)", pdf)
    assert counted
    return int(counted[1])


def shown_in(page: bytes) -> str:
    """What somebody reads of an HTML page."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page.decode().partition("</style>")[2])).split())
