"""What a process must serve to work on a job: a calculator's major version, the version that the job began with, its parts.

Parts of others that join an answer are part of the question: a process that lacks one would give a plan without its stops.
"""

import hashlib

from coldwright.engine.joining import parts_of
from coldwright.registry import Registry, Served


def needs_of(registry: Registry, served: Served) -> str:
    """As it is kept with a job: `family.name@major version`, and by digest the parts that join the answer here."""
    return f"{served.calculator.pinned} {_version_of(registry, served)}"


def _version_of(registry: Registry, served: Served) -> str:
    parts = [f"{p.calculator.pinned} {p.calculator.version}" for p in parts_of(registry, served)]
    version = served.calculator.version
    if not parts:
        return version
    return f"{version} with parts {hashlib.sha256(chr(10).join(parts).encode()).hexdigest()[:12]}"


def served_for(registry: Registry, needs: str) -> Served | None:
    """What is served for it here; nothing where it is not, or in another version. Without a version any will do."""
    name, _, version = needs.partition(" ")
    served = registry.find(name)
    return served if served is not None and version in ("", _version_of(registry, served)) else None


def all_served(registry: Registry) -> set[str]:
    """Everything that this process serves, in every spelling."""
    every = [*registry.served.values(), *registry.older.values()]
    versions = {needs_of(registry, s) for s in every} | {f"{s.calculator.pinned} " for s in every}
    return versions | {f"{s.calculator.id} " for s in registry.served.values()}
