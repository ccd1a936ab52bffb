"""A page of the API for people: what it has, each calculator once, and how to come in. Everything in it is escaped."""

import re
from typing import Any

import msgspec
from jinja2 import Environment, PackageLoader

from coldwright.sheets.html import style

_environment = Environment(
    loader=PackageLoader("coldwright.service", "templates"), autoescape=True, trim_blocks=True, lstrip_blocks=True
)
_CALCULATOR = re.compile(r"/v1/calculators/[^/{}]+/[^/{}]+")


def render_page(document: bytes) -> bytes:
    """The document as HTML, without its schemas: those are for programs."""
    data: dict[str, Any] = msgspec.json.decode(document)
    resources: dict[str, list[dict[str, Any]]] = {}
    calculators: dict[str, list[dict[str, Any]]] = {}
    for path, item in data["paths"].items():
        if path.startswith("/v1/calculators/") and "post" in item and _CALCULATOR.fullmatch(path):
            calculators.setdefault(item["post"]["tags"][0], []).append(_shown(path, "post", item["post"]))
        elif not path.startswith("/v1/calculators/") or path.endswith("/forms"):
            for method, operation in item.items():
                resources.setdefault(operation["tags"][0], []).append(_shown(path, method, operation))
    template = _environment.get_template("document.html")
    by_name = {tag["name"]: tag for tag in data["tags"]}
    groups = ([(by_name[name], found) for name, found in kind.items()] for kind in (resources, calculators))
    listed, tried = groups
    page = template.render(info=data["info"], resources=listed, calculators=tried, style=style(forms=True))
    return re.sub(r"\n\s*\n", "\n", page).encode()


def _shown(path: str, method: str, operation: dict[str, Any]) -> dict[str, Any]:
    return {
        "path": path,
        "method": method.upper(),
        "id": operation["operationId"],
        "summary": operation["summary"],
        "description": _plain(operation.get("description", "")),
        "scope": operation.get("x-scope", ""),
        "parameters": [(p["name"], _plain(p.get("description", ""))) for p in operation.get("parameters", ())],
    }


def _plain(text: str) -> str:
    return text.replace("`", "")
