"""A drawing of Matplotlib's in half the bytes: what it says in each tag anew is said once. Nothing in a text is touched."""

import re
from collections import Counter

_TAG = re.compile(r"<[^>]*>")
_NUMBER = re.compile(r"\d+\.\d{2,}")
_NO_TURN = re.compile(r' transform="rotate\(-?0[ \d.-]*\)"')
_GROUP_ID = re.compile(r' id="(?:patch|line2d|text|[xy]tick|axes|figure|matplotlib\.axis|LineCollection|legend)_\d+"')
_EMPTY = re.compile(r"<defs>\s*</defs>")
_METADATA = re.compile(r"\s*<metadata>.*?</metadata>|<!--.*?-->", re.DOTALL)
_BETWEEN = re.compile(r">\s*\n\s*<")
_STYLE = re.compile(r' style="([^"]*)"')
_ALONE = re.compile(r"<g>((?:(?!</?g\b).)*)</g>", re.DOTALL)
WORTH_A_CLASS = 3
"""Times that a style must stand there."""


def shrunk(svg: str) -> str:
    """The same drawing. A tenth of a point is finer than any eye and any printer."""
    text = _METADATA.sub("", svg)
    text = _TAG.sub(lambda found: _tag(found[0]), text)
    text = _BETWEEN.sub("><", text)
    while (flat := _ALONE.sub(r"\1", text)) != text:
        text = flat
    return _classes(_EMPTY.sub("", text))


def _tag(tag: str) -> str:
    tag = _NO_TURN.sub("", _GROUP_ID.sub("", tag.replace("\n", " ")))
    tag = _NUMBER.sub(lambda found: f"{float(found[0]):.1f}".removesuffix(".0"), tag)
    return (
        re.sub(r" {2,}", " ", tag)
        .replace(' "', '"')
        .replace(": ", ":")
        .replace("; ", ";")
        .replace("'", "")
        .replace("DejaVu Sans, ", "")
    )


def _classes(svg: str) -> str:
    """Styles that stand in many tags, as classes."""
    often = [s for s, n in Counter(_STYLE.findall(svg)).items() if n >= WORTH_A_CLASS]
    if not often:
        return svg
    rules = "".join(f".c{n}{{{style}}}" for n, style in enumerate(often))
    for n, style in enumerate(often):
        svg = svg.replace(f' style="{style}"', f' class="c{n}"')
    return re.sub(r"(<svg[^>]*>)", lambda found: f"{found[1]}<style>{rules}</style>", svg, count=1)
