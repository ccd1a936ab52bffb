"""Which plugins are served, by who had each id first in this store."""

from coldwright.registry import Holder, Ownership, Registry
from coldwright.registry.ownership import pinned_in
from coldwright.registry.remote import remote_in
from coldwright.service.settings import SettingError, Settings
from coldwright.store import Database
from coldwright.store.plugin_ids import holders, register

TRIES = 3
"""Services that start at one time on one store settle at the second."""


def ownership(settings: Settings, database: Database | None) -> Ownership:
    """From the store, where there is one, and the settings; raises `SettingError`."""
    try:
        pinned = pinned_in(settings.plugins_pinned)
    except ValueError as error:
        raise SettingError(f"COLDWRIGHT_PLUGINS_PINNED: {error}") from error
    kept = holders(database) if database is not None else {}
    return Ownership({id_: Holder(name, since.isoformat()) for id_, (name, since) in kept.items()}, pinned)


def remote_of(settings: Settings) -> dict[str, str]:
    """Distributions that run in containers of their own; raises `SettingError`."""
    try:
        return remote_in(settings.plugins_remote)
    except ValueError as error:
        raise SettingError(f"COLDWRIGHT_PLUGINS_REMOTE: {error}") from error


def settled_registry(settings: Settings, database: Database) -> Registry:
    """The plugins that are served; ids that nobody had are registered for those that are served under them."""
    denied = [n.strip() for n in settings.plugins_denied.split(",") if n.strip()]
    owned = ownership(settings, database)
    for _ in range(TRIES):
        registry = Registry(denied=denied, ownership=owned, remote=remote_of(settings))
        claims = {id_: name for id_, name in registry.claims().items() if id_ not in owned.pinned}  # a pin is no claim
        if not register(database, claims):
            break
        owned = ownership(settings, database)
    return registry
