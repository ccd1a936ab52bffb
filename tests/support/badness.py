"""Bad bodies without end, each made from a seed: bytes, broken JSON, and good inputs with something wrong in them."""

import copy
import json
import random
from typing import Any

ATOMS: list[Any] = [
    None,
    True,
    False,
    0,
    -0.0,
    -1,
    1e308,
    5e-324,
    1e15,
    2**53,
    2**63,
    "",
    "x",
    "\x00",
    "\u202e",
    "é" * 300,
    "💧",
    "a/b~c",
    [],
    {},
    [[]],
    [None],
    {"": ""},
    {"value": 1},
    {"value": 1e308, "unit": "m"},
    {"value": -1e308, "unit": "kPa"},
    {"value": 5e-324, "unit": "L/s"},
    {"value": 0, "unit": "degC"},
    {"value": "1", "unit": "m"},
    {"value": 1, "unit": "furlong"},
    {"from": "a", "pointer": "/results"},
    {"from": "a"},
    "2026-02-30T25:61:61Z",
    "9999-12-31",
    "__proto__",
    "%00",
    "-1e999",
]
TEXTS = [
    b"",
    b" ",
    b"{",
    b"null",
    b"[]",
    b"0",
    b'""',
    b"{}{}",
    b"\xff\xfe{\x00}\x00",
    b"\xef\xbb\xbf{}",
    b'{"a":NaN}',
    b'{"a":1e999}',
    b'{"a":-Infinity}',
    b'{"a":01}',
    b'{"a":1,}',
    b'{"a":1,"a":2}',
    b'{"a":"\\ud800"}',
    b'{"a":"\xc3\x28"}',
    b'{"a":' + b"9" * 5000 + b"}",
    b'{"a":' + b"[" * 5000 + b"]" * 5000 + b"}",
    b'{"a":"' + b"\\u0000" * 1000 + b'"}',
]


def _places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path]
    if isinstance(value, dict):
        for key, item in value.items():
            found += _places(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            found += _places(item, (*path, index))
    return found


def _wrong(rng: random.Random, given: Any) -> Any:
    """The input with one to three places gone, doubled, renamed or replaced."""
    root = {"root": copy.deepcopy(given)}
    for _ in range(rng.randint(1, 3)):
        place = rng.choice([p for p in _places(root) if len(p) > 1] or [("root",)])
        parent: Any = root
        for step in place[:-1]:
            parent = parent[step]
        last, deed = place[-1], rng.randrange(6)
        if deed == 0:
            del parent[last]
        elif deed == 1 and isinstance(parent, list):
            parent.extend([copy.deepcopy(parent[last])] * rng.choice([1, 3, 300]))
        elif deed == 2 and isinstance(parent, dict):
            parent[f"{last}x"] = parent.pop(last)
        elif deed == 3 and isinstance(parent[last], int | float) and not isinstance(parent[last], bool):
            parent[last] = parent[last] * rng.choice([-1, 0, 1e-9, 1e-3, 0.5, 2, 1e3, 1e9])
        else:
            parent[last] = copy.deepcopy(rng.choice(ATOMS))
        if "root" not in root:
            return rng.choice(ATOMS)
    return root["root"]


def bad_body(seed: int, given: Any) -> bytes:
    """The body of that seed, from a good input; now and then it may be good after all."""
    rng = random.Random(seed)
    deed = rng.randrange(10)
    if deed == 0:
        return rng.choice(TEXTS)
    if deed == 1:
        return rng.randbytes(rng.choice([1, 10, 1000, 20_000]))
    text = json.dumps(_wrong(rng, given) if deed > 3 else given).encode()
    if deed == 2:
        return text[: rng.randrange(len(text))]
    if deed == 3:
        changed = bytearray(text)
        for _ in range(rng.randint(1, 8)):
            changed[rng.randrange(len(changed))] = rng.randrange(256)
        return bytes(changed)
    return text
