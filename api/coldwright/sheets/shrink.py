"""A drawing in fewer bytes, for a page: the same shapes and texts, what every tag repeats said once, nothing that is not seen."""

import itertools
import re
from collections import Counter
from collections.abc import Iterator
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

SVG, XLINK = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}"
LOOKS = (
    "fill", "fill-rule", "stroke", "stroke-width", "stroke-linejoin", "stroke-linecap", "stroke-dasharray", "font-size",
    "font-weight", "font-family", "text-anchor", "paint-order",
)  # fmt: skip
"""Attributes that a rule of a style sheet can say as well."""
FINE_ENOUGH = 200
"""Units across from which a tenth of one is finer than a screen or a printer shows."""
WORTH_A_CLASS = 2
"""Times that a look must stand there."""
_LINE = re.compile(r"-line-\d+$")
"""Name of a line in a plot, by which whoever reads the drawing finds it."""
_PIECES = re.compile(r"([A-Za-z])([^A-Za-z]*)")
_FINE = re.compile(r"\d+\.\d{2,}")
_AROUND_LETTERS = re.compile(r" ?\b([MLHVCQZz])\b ?")
_PLACES = ("d", "x", "y", "x1", "x2", "y1", "y2", "width", "height", "points", "transform")
ElementTree.register_namespace("", SVG.strip("{}"))
ElementTree.register_namespace("xlink", XLINK.strip("{}"))


def shrunk(svg: str, *, rounded: bool = False) -> str:
    """The same drawing. `rounded`: one of Matplotlib's, to a tenth of a point, which is finer than any eye and any printer.

    What is no XML, or declares entities, is left as it is; what has a style sheet of its own keeps its looks where they are.
    """
    if "<!" in svg.replace("<!--", ""):
        return svg
    try:
        root = ElementTree.fromstring(svg)  # noqa: S314 - no declarations, so nothing to expand
    except ElementTree.ParseError:
        return svg
    _drop_the_unseen(root)
    _name_shortly(root)
    _halo_once(root)
    if rounded or _units_across(root) >= FINE_ENOUGH:
        _round(root)
    if rounded or not any(element.tag == f"{SVG}style" or "class" in element.attrib for element in root.iter()):
        _share_looks(root)
    return ElementTree.tostring(root, encoding="unicode").replace(" />", "/>")


def _units_across(root: Element) -> float:
    """How many units a drawing is wide: a tenth of one is nothing where they are many."""
    try:
        return float(root.get("viewBox", "").split()[2])
    except (IndexError, ValueError):
        return 0.0


def _drop_the_unseen(root: Element) -> None:
    """Notes on the drawing, names that nothing refers to but of its lines, groups that say nothing, space between tags."""
    referred = {
        name for e in root.iter() for value in e.attrib.values() for name in re.findall(r"#([^)\s\"']+)", value)
    }
    for element in root.iter():
        if element.get("id") not in referred and not _LINE.search(element.get("id", "")):
            element.attrib.pop("id", None)
        if f"{XLINK}href" in element.attrib:
            element.set("href", element.attrib.pop(f"{XLINK}href"))  # as SVG 2 spells it
        if len(element) and not (element.text or "").strip():
            element.text = None
        if not (element.tail or "").strip():
            element.tail = None
    _flatten(root)


def _flatten(parent: Element) -> None:
    for child in list(parent):
        _flatten(child)
        bare = child.tag == f"{SVG}g" and not child.attrib
        if bare or child.tag == f"{SVG}metadata" or (child.tag == f"{SVG}defs" and not len(child)):
            place = list(parent).index(child)
            parent.remove(child)
            for offset, deeper in enumerate(child if bare else ()):
                parent.insert(place + offset, deeper)


def _round(root: Element) -> None:
    """Places to a tenth; letters in whatever plain font there is, for the one that they were measured with is not."""
    for element in root.iter():
        if "style" in element.attrib:
            element.set("style", element.attrib["style"].replace("'DejaVu Sans', ", ""))
        for name in _PLACES:
            if name in element.attrib:
                text = _FINE.sub(lambda found: f"{float(found[0]):.1f}".removesuffix(".0"), element.attrib[name])
                text = _AROUND_LETTERS.sub(r"\1", " ".join(text.split()))
                element.set(name, _straight(text) if name == "d" else text)
        if "rotate(-0 " in element.get("transform", "") or "rotate(0 " in element.get("transform", ""):
            del element.attrib["transform"]


def _straight(path: str) -> str:
    """A path whose lines along and across say only where they end: `M1 1L5 1L5 4` as `M1 1H5V4`."""
    pieces, at = [], ("", "")
    for letter, numbers in _PIECES.findall(path):
        places = numbers.split()
        if letter not in "MLZz" or len(places) not in (0, 2):
            return path
        if letter == "L" and places[1] == at[1]:
            pieces.append(f"H{places[0]}")
        elif letter == "L" and places[0] == at[0]:
            pieces.append(f"V{places[1]}")
        else:
            pieces.append(letter + numbers)
        at = (places[0], places[1]) if places else ("", "")
    return "".join(pieces)


def _name_shortly(root: Element) -> None:
    """Names that are referred to, as one or two letters; those of lines stay, for whoever reads the drawing."""
    own = [element for element in root.iter() if "id" in element.attrib and not _LINE.search(element.attrib["id"])]
    names = {element.attrib["id"]: f"i{n}" for n, element in enumerate(own)}
    if not names:
        return
    wanted = re.compile(f"#({'|'.join(map(re.escape, sorted(names, key=len, reverse=True)))})(?![\\w-])")
    for element in root.iter():
        for name, value in element.attrib.items():
            if "#" in value:
                element.set(name, wanted.sub(lambda found: f"#{names[found[1]]}", value))
    for element in own:
        element.set("id", names[element.attrib["id"]])


def _halo_once(parent: Element) -> None:
    """A text that is written twice, first as a light edge under itself, is written once with its edge painted first."""
    for below, above in itertools.pairwise(list(parent)):
        twice = below.tag == above.tag == f"{SVG}text" and below.text == above.text and above.get("stroke") == "none"
        if twice and dict(below.items()) | {"stroke": "none"} == dict(above.items()):
            parent.remove(above)
            below.set("paint-order", "stroke")


def _share_looks(root: Element) -> None:
    """Looks that stand in many tags, as classes."""
    looks = {element: _look_of(element) for element in root.iter() if element is not root}
    often = [look for look, times in Counter(looks.values()).items() if look and times >= WORTH_A_CLASS]
    names = {look: f"c{n}" for n, look in enumerate(often)}
    for element, look in looks.items():
        if look in names:
            for name in ("style", "clip-path") if "style" in element.attrib else LOOKS:
                element.attrib.pop(name, None)
            element.set("class", names[look])
    if names:
        style = Element(f"{SVG}style")
        style.text = "".join(f".{name}{{{look}}}" for look, name in names.items())
        root.insert(0, style)


def _look_of(element: Element) -> str:
    """As a rule: its own style, else its attributes. A size without a unit is one of the drawing's."""
    if "style" in element.attrib:
        clip = [f"clip-path:{element.attrib['clip-path']}"] if "clip-path" in element.attrib else []
        return ";".join([*_pairs(element.attrib["style"]), *clip])
    return ";".join(
        f"{name}:{value}px" if name == "font-size" and value.replace(".", "").isdecimal() else f"{name}:{value}"
        for name, value in element.attrib.items()
        if name in LOOKS
    )


def _pairs(style: str) -> Iterator[str]:
    for pair in style.split(";"):
        name, _, value = pair.partition(":")
        if value:
            yield f"{name.strip()}:{value.strip()}"
