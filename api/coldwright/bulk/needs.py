"""What a process must serve to work on a job: a calculator's major version, and the version that the job began with."""

from coldwright.registry import Registry, Served


def needs_of(served: Served) -> str:
    """As it is kept with a job: `family.name@major version`."""
    return f"{served.calculator.pinned} {served.calculator.version}"


def served_for(registry: Registry, needs: str) -> Served | None:
    """What is served for it here; nothing where it is not, or in another version. Without a version any will do."""
    name, _, version = needs.partition(" ")
    served = registry.find(name)
    return served if served is not None and version in ("", served.calculator.version) else None


def all_served(registry: Registry) -> set[str]:
    """Everything that this process serves, in every spelling."""
    every = [*registry.served.values(), *registry.older.values()]
    versions = {needs_of(s) for s in every} | {f"{s.calculator.pinned} " for s in every}
    return versions | {f"{s.calculator.id} " for s in registry.served.values()}
