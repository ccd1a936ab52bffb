"""A page of the document that needs no script and no other site. Everything in it is escaped."""

from typing import Any

import msgspec


def render_page(document: bytes) -> bytes:
    """The document as HTML."""
    from jinja2 import Environment, PackageLoader  # with the first who looks at it: a start need not wait for it

    loader = PackageLoader("coldwright.service", "templates")
    environment = Environment(loader=loader, autoescape=True, trim_blocks=True, lstrip_blocks=True)
    data: dict[str, Any] = msgspec.json.decode(document)
    by_tag: dict[str, list[dict[str, Any]]] = {}
    for path, item in data["paths"].items():
        for method, operation in item.items():
            by_tag.setdefault(operation["tags"][0], []).append({"path": path, "method": method.upper()} | operation)
    template = environment.get_template("document.html")
    pretty = _pretty
    return template.render(document=data, by_tag=by_tag, pretty=pretty, name_of=_name_of).encode()


def _pretty(value: Any) -> str:
    return msgspec.json.format(msgspec.json.encode(value), indent=2).decode()


def _name_of(schema: dict[str, Any]) -> str:
    """The component that a schema names, or its type in words."""
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if "prefixItems" in schema:
        return f"list of {len(schema['prefixItems'])}: {', '.join(_name_of(s) for s in schema['prefixItems'])}"
    if schema.get("type") == "array":
        return f"list of {_name_of(schema.get('items', {}))}"
    if "anyOf" in schema:
        return " or ".join(_name_of(s) for s in schema["anyOf"])
    if "enum" in schema:
        return " | ".join(str(word) for word in schema["enum"])
    return str(schema.get("type", "any"))
