"""A drawing in half the bytes: what it says in each tag anew is said once. Nothing in a text is touched."""

import re
from collections import Counter
from collections.abc import Callable

_TAG = re.compile(r"<[^>]*>")
_NUMBER = re.compile(r"\d+\.\d{2,}")
_NO_TURN = re.compile(r' transform="rotate\(-?0[ \d.-]*\)"')
_GROUP_ID = re.compile(r' id="(?:patch|line2d|text|[xy]tick|axes|figure|matplotlib\.axis|LineCollection|legend)_\d+"')
_EMPTY = re.compile(r"<defs>\s*</defs>|<g/>")
_METADATA = re.compile(r"\s*<metadata>.*?</metadata>|<!--.*?-->", re.DOTALL)
_BETWEEN = re.compile(r">\s*\n\s*<")
_STYLE = re.compile(r' style="([^"]*)"')
_CLIPPED = re.compile(r' clip-path="(url\([^)"]*\))" style="([^"]*)"')
_HASHED_ID = re.compile(r'\bid="([a-z][0-9a-f]{10})"')
_ALONE = re.compile(r"<g>((?:(?!</?g\b).)*)</g>", re.DOTALL)
_PATH = re.compile(r'(\sd=)(["\'])([^"\']*)\2')
_STEP = re.compile(r"\s*([MLZz])((?:[\s,]+-?\d+(?:\.\d+)?)*)\s*")
_ZEROS = re.compile(r"""(?<=[\s"'])(-?\d+)\.(\d*?)0+(?=[\s"'])""")
_LOOKS = "fill|fill-rule|stroke|stroke-(?:width|linejoin|linecap|dasharray)|font-(?:size|weight|family)|text-anchor"
_LOOK = re.compile(rf""" ({_LOOKS})=(["'])([^"'<>{{}};&]*)\2""")
NEEDLESS = (' xmlns:xlink="http://www.w3.org/1999/xlink"', "xlink:", ' version="1.1"', ' type="text/css"')
"""What SVG 2 leaves out, as every browser understands it."""
WORTH_A_CLASS = 2
"""Times that a look must stand there."""


def shrunk(svg: str) -> str:
    """The same drawing of Matplotlib's. A tenth of a point is finer than any eye and any printer."""
    text = _METADATA.sub("", svg)
    text = _TAG.sub(lambda found: _tag(found[0]), text)
    text = _BETWEEN.sub("><", text)
    while (flat := _ALONE.sub(r"\1", _EMPTY.sub("", text))) != text:
        text = flat
    for place, name in enumerate(dict.fromkeys(_HASHED_ID.findall(text))):
        text = text.replace(name, f"i{place}")
    for needless in NEEDLESS:
        text = text.replace(needless, "")
    return _classes(text.strip(), _style_of)


def packed(svg: str) -> str:
    """Anybody's drawing, for a page: the same points and looks, written shorter. One with rules of its own keeps its looks."""
    if "CDATA" in svg or "<!" in svg:
        return svg
    text = _TAG.sub(lambda found: _PATH.sub(_path, _ZEROS.sub(_without_zeros, found[0])).replace(" />", "/>"), svg)
    return text if "<style" in text or "class=" in text else _classes(text, _looks_of)


def _tag(tag: str) -> str:
    tag = _NO_TURN.sub("", _GROUP_ID.sub("", tag.replace("\n", " ")))
    tag = _NUMBER.sub(lambda found: f"{float(found[0]):.1f}".removesuffix(".0"), tag)
    tag = _CLIPPED.sub(r' style="\2;clip-path:\1"', tag)
    return (
        re.sub(r" {2,}", " ", tag)
        .replace(' "', '"')
        .replace(": ", ":")
        .replace("; ", ";")
        .replace("'", "")
        .replace("DejaVu Sans, ", "")
    )


def _without_zeros(found: re.Match[str]) -> str:
    return f"{found[1]}.{found[2]}" if found[2] else found[1]


def _path(found: re.Match[str]) -> str:
    """Straight lines from point to point; along an axis only what changes is written. Other paths stay as they are."""
    steps = list(_STEP.finditer(found[3]))
    if "".join(s[0] for s in steps) != found[3]:
        return found[0]
    written, at = "", ("", "")
    for step in steps:
        numbers = step[2].replace(",", " ").split()
        if (len(numbers) != 2) != (step[1] in "Zz") or (step[1] in "Zz" and numbers):
            return found[0]
        if step[1] in "Zz":
            written += "z"
            continue
        x, y = numbers
        if step[1] == "M":
            written += f"M{x} {y}"
        elif (x, y) != at:
            written += f"V{y}" if x == at[0] else f"H{x}" if y == at[1] else f"L{x} {y}"
        at = (x, y)
    return f"{found[1]}{found[2]}{written}{found[2]}"


def _style_of(tag: str) -> tuple[str, str]:
    """The look of a tag as a rule, and the tag without it."""
    found = _STYLE.search(tag)
    return (found[1], _STYLE.sub("", tag, count=1)) if found else ("", tag)


def _looks_of(tag: str) -> tuple[str, str]:
    """The same, of a tag with an attribute for each part of its look. A size without a unit is one of the drawing's."""
    if tag.startswith(("<svg", "<pattern")) or " style=" in tag:
        return "", tag
    rule = ";".join(
        f"{name}:{value}px" if name == "font-size" and re.fullmatch(r"[\d.]+", value) else f"{name}:{value}"
        for name, _, value in _LOOK.findall(tag)
    )
    return rule, _LOOK.sub("", tag)


def _classes(svg: str, look_of: Callable[[str], tuple[str, str]]) -> str:
    """Looks that stand in many tags, as classes."""
    often = Counter(look_of(tag)[0] for tag in _TAG.findall(svg))
    names = {look: f"c{n}" for n, look in enumerate(k for k, times in often.items() if k and times >= WORTH_A_CLASS)}
    if not names:
        return svg

    def named(found: re.Match[str]) -> str:
        look, rest = look_of(found[0])
        return re.sub(r"^(<[\w:]+)", rf'\1 class="{names[look]}"', rest) if look in names else found[0]

    rules = "".join(f".{name}{{{look}}}" for look, name in names.items())
    return re.sub(r"(<svg[^>]*>)", lambda found: f"{found[1]}<style>{rules}</style>", _TAG.sub(named, svg), count=1)
