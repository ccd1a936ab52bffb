"""`coldwright plugins list | why | check | new | release`: what is loaded, what was set aside, what breaks the contract."""

import argparse
import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from coldwright.commands.errors import CommandError
from coldwright.commands.new_plugin import new_plugin
from coldwright.commands.say import say
from coldwright.conformance.kept_answers import KeptAnswers, kept_answers
from coldwright.conformance.kind_rules import factor_by_pint
from coldwright.conformance.kit import check_plugin
from coldwright.conformance.schema_rules import snapshot
from coldwright.contract import CONTRACT_VERSION, Defect, Plugin, Refused
from coldwright.engine.apart import Apart, NotASocketError
from coldwright.registry import Found, Registry
from coldwright.service.ids import ownership, remote_of
from coldwright.service.settings import from_environment
from coldwright.store import Database, StoreFull, StoreUnavailable, is_current, upgrade
from coldwright.store.plugin_ids import release

T = TypeVar("T")


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("plugins", help="list plugins, say why one was set aside, make a new one")
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    actions.add_parser("list", help="every plugin that was found").set_defaults(act=_list)
    why = actions.add_parser("why", help="everything about one plugin")
    why.add_argument("name", help="name of its entry point")
    why.set_defaults(act=_why)
    check = actions.add_parser("check", help="hold a plugin to the whole contract")
    check.add_argument("name", help="name of its entry point")
    check.add_argument("--schemas", metavar="FILE", help="schemas as last released, to find a change without a version")
    check.add_argument("--write-schemas", metavar="FILE", help="write the schemas there instead of comparing")
    check.add_argument("--answers", metavar="FILE", help="answers as last released, to find a number that moved alone")
    check.add_argument("--write-answers", metavar="FILE", help="write the answers to its examples there")
    check.set_defaults(act=_check)
    apart = actions.add_parser("serve", help="answer for the plugins that are installed here, over a Unix socket")
    apart.add_argument("--socket", required=True, metavar="PATH", help="where to listen")
    apart.add_argument("--memory", type=int, default=2048, metavar="MB", help="of each worker process (default: 2048)")
    apart.add_argument("--seconds", type=float, default=10.0, help="longest time of one answer (default: 10)")
    apart.set_defaults(act=_serve)
    factors = actions.add_parser("factors", help="factors of units of your own, by pint; the first has the factor 1")
    factors.add_argument("unit", nargs="+", help="as answers will spell it: kg/kWh lb/MWh")
    factors.set_defaults(act=_factors)
    free = actions.add_parser("release", help="let an id go, so that another distribution may have it")
    free.add_argument("id", help="id of a calculator: family.name")
    free.set_defaults(act=_release)
    new = actions.add_parser("new", help="make a distribution with one calculator that passes its own tests")
    new.add_argument("name", help="its family, in small letters: heat-wave")
    new.add_argument("--into", metavar="DIR", default=".", help="folder to make it in (default: this one)")
    new.set_defaults(act=_new)
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    act: Callable[[argparse.Namespace], int] = given.act
    return act(given)


def _list(_given: argparse.Namespace) -> int:
    say(f"contract {CONTRACT_VERSION}")
    for found in _registry().found:
        count = len(found.calculators)
        what = "1 calculator" if count == 1 else f"{count} calculators"
        if found.state != "loaded":
            what = f"{found.state.replace('_', ' ')}: {found.reason}"
        say(f"{found.entry_point:<20} {found.distribution} {found.distribution_version:<10} {what}")
    return 0


def _why(given: argparse.Namespace) -> int:
    stories = _named(_registry(), given.name)
    for number, found in enumerate(stories):
        if number:
            say("")
        for name in found.__struct_fields__:
            value = getattr(found, name)
            say(f"{name:<22}{', '.join(value) if isinstance(value, tuple) else value}".rstrip())
    return 0 if stories[0].state == "loaded" else 1


def _registry() -> Registry:
    """What a service with these settings would serve: by the ids that its store holds, where there is one to be read."""
    settings = from_environment()
    database = _store(settings.database_url)
    try:
        return Registry(ownership=ownership(settings, database), remote=remote_of(settings))
    except StoreUnavailable:
        return Registry(ownership=ownership(settings, None), remote=remote_of(settings))
    finally:
        if database is not None:
            database.close()


def _store(url: str) -> Database | None:
    """The store, if it is there and has this release's schema. Looking never makes one."""
    database = Database(url)
    file = database.url.database
    with contextlib.suppress(StoreUnavailable, ImportError):
        if (not database.is_sqlite or (file and Path(file).exists())) and is_current(database):
            return database
    database.close()
    return None


def _release(given: argparse.Namespace) -> int:
    database = Database(from_environment().database_url)
    try:
        upgrade(database)
        holder = release(database, given.id)
    except (StoreUnavailable, StoreFull) as error:
        raise CommandError(f"the store does not answer: {error}") from error
    finally:
        database.close()
    if not holder:
        raise CommandError(f"nobody has registered {given.id}")
    say(f"{given.id} belonged to {holder}. Whoever is served under it at the next start has it from then on.")
    return 0


def _named(registry: Registry, name: str) -> list[Found]:
    """Every plugin of that name; the one that is loaded comes first."""
    found = sorted((f for f in registry.found if f.entry_point == name), key=lambda f: f.state != "loaded")
    if not found:
        raise CommandError(f"there is no plugin {name}: see `coldwright plugins list`")
    return found


def _check(given: argparse.Namespace) -> int:
    registry = _registry()
    found = _named(registry, given.name)[0]
    if found.state != "loaded":
        say(f"{given.name} is {found.state.replace('_', ' ')} {found.stage}: {found.reason}\n{found.remedy}")
        return 1
    registry.take_in(registry.entries_for(found.distribution))  # its import went well in a process of its own
    plugin = registry.plugins[given.name]
    if not isinstance(plugin, Plugin):
        raise CommandError(f"{given.name} can't be imported here")
    if given.write_schemas or given.write_answers:
        return _write(given, plugin, registry)
    faults = list(
        check_plugin(
            plugin,
            distribution=found.distribution,
            lookup=registry.lookup,
            module=registry.entries[given.name].module,
            snapshot=_kept(given.schemas, "schemas", dict[str, dict[str, str]]) if given.schemas else None,
            answers=_kept(given.answers, "answers", dict[str, KeptAnswers]) if given.answers else None,
        )
    )
    for fault in faults:
        say(str(fault))
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    say(f"{given.name}: {count}" if faults else f"{given.name} keeps the contract {CONTRACT_VERSION}")
    return 1 if faults else 0


def _write(given: argparse.Namespace, plugin: Plugin, registry: Registry) -> int:
    """Keep what a release is compared with later."""
    kept: list[tuple[str | None, Callable[[], object]]] = [
        (given.write_schemas, lambda: snapshot(plugin)),
        (given.write_answers, lambda: kept_answers(plugin, registry.lookup)),
    ]
    for path, made in kept:
        if path:
            try:
                encoded = msgspec.json.format(msgspec.json.encode(made(), order="deterministic"), indent=1)
            except (Refused, Defect) as error:
                raise CommandError(f"an example does not run: {error}") from error
            Path(path).write_bytes(encoded + b"\n")
    return 0


def _kept(path: str, what: str, type_: type[T]) -> T:
    try:
        return msgspec.json.decode(Path(path).read_bytes(), type=type_)
    except (OSError, msgspec.MsgspecError) as error:
        raise CommandError(f"{path} holds no {what}: {error}") from error


def _serve(given: argparse.Namespace) -> int:
    """For a container of its own: see DEVELOPERS.md, "A plugin in a container of its own"."""
    try:
        return Apart(given.socket, given.memory * 1024**2, given.seconds).serve()
    except (OSError, NotASocketError) as error:
        raise CommandError(f"can't listen at {given.socket}: {error}") from error


def _factors(given: argparse.Namespace) -> int:
    base = given.unit[0]
    try:
        factors = {unit: float(f"{factor_by_pint(unit, base):.15g}") for unit in given.unit}
    except Exception as error:
        raise CommandError(f"pint does not read that: {error}") from error
    say(f"Kind({{{', '.join(f'{unit!r}: {factor!r}' for unit, factor in factors.items())}}})".replace("'", '"'))
    return 0


def _new(given: argparse.Namespace) -> int:
    folder = new_plugin(given.name, Path(given.into))
    say(f"made {folder}\nnow:\n  cd {folder}\n  pip install -e '.[dev]'\n  python -m pytest")
    return 0
