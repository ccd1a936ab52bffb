"""`coldwright keys create | list | rotate | revoke`."""

import argparse
import re
from datetime import UTC, datetime, timedelta
from typing import Any

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.service.http.callers import ALL_SCOPES
from coldwright.service.settings import from_environment
from coldwright.store import Database, StoreUnavailable, upgrade
from coldwright.store.keys import Key, create_key, list_keys, revoke_key, rotate_key

_TENANT = re.compile(r"[a-z0-9][a-z0-9_.-]{0,63}")
_ROLE = re.compile(r"[a-z][a-z0-9_]{0,39}")
_LONGEST_PERSON = 200
_MOST_ROLES = 9
_LONGEST_DAYS = 3650


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("keys", help="make, list and revoke API keys")
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    create = actions.add_parser("create", help="make a key; its secret is shown once")
    create.add_argument("--tenant", required=True, help="whose rows the key sees")
    create.add_argument("--scopes", required=True, help=f"comma-separated: {', '.join(sorted(ALL_SCOPES))}")
    create.add_argument("--name", default="", help="what it is for")
    create.add_argument("--person", default="", help="who uses it: what is recorded with it is recorded by that person")
    create.add_argument(
        "--role",
        action="append",
        default=[],
        help="what that person is qualified for, such as `electrician` or `supervisor`; may be repeated, the usual first",
    )
    create.add_argument("--units", choices=("metric", "us"), default="metric", help="units of its answers")
    create.add_argument("--days", type=float, help="days after which it ends by itself (default: it does not)")
    actions.add_parser("list", help="list keys, without secrets")
    rotate = actions.add_parser("rotate", help="make a key like another, which ends a while later")
    rotate.add_argument("id", help="id of the key, from the list")
    rotate.add_argument("--grace-hours", type=float, default=24.0, help="how long the old one goes on (default: 24)")
    revoke = actions.add_parser("revoke", help="revoke a key for good")
    revoke.add_argument("id", help="id of the key, from the list")
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    database = Database(from_environment().database_url)
    try:
        upgrade(database)
        if given.action == "create":
            _create(database, given)
        elif given.action == "rotate":
            _rotate(database, given)
        elif given.action == "list":
            for key in list_keys(database):
                state = _state(key)
                who = f"{key.person} ({', '.join(key.roles) or 'no role'})" if key.person else ""
                say(
                    f"{key.id}  {key.tenant:<20} {','.join(key.scopes):<40} {key.units:<7} {state}  {key.name}  {who}".rstrip()
                )
        elif not revoke_key(database, given.id):
            raise CommandError(f"there is no key {given.id} in force")
    except StoreUnavailable as error:
        raise CommandError(f"the store does not answer: {error}") from error
    finally:
        database.close()
    return 0


def _create(database: Database, given: argparse.Namespace) -> None:
    scopes = tuple(sorted({s.strip() for s in given.scopes.replace(" ", ",").split(",") if s.strip()}))
    if not scopes or set(scopes) - ALL_SCOPES:
        wrong = ", ".join(map(repr, sorted(set(scopes) - ALL_SCOPES))) or "none"
        raise CommandError(f"scopes {wrong}: choose from {', '.join(sorted(ALL_SCOPES))}")
    if not _TENANT.fullmatch(given.tenant):
        raise CommandError("a tenant is 1 to 64 small letters, digits, dots, dashes and underscores")
    if not given.name.isprintable() or len(given.name) > _LONGEST_PERSON:
        raise CommandError(f"a name is at most {_LONGEST_PERSON} characters that can be printed")
    person, roles = _who(given.person.strip(), given.role)
    key, secret = create_key(
        database,
        given.tenant,
        scopes,
        given.name,
        given.units,
        person=person,
        roles=roles,
        expires_at=None if given.days is None else datetime.now(UTC) + _span(days=given.days),
    )
    if key.expires_at:
        say(f"ends    {key.expires_at:%Y-%m-%d %H:%M} UTC")
    say(f"id      {key.id}\ntenant  {key.tenant}\nscopes  {' '.join(key.scopes)}")
    if key.person:
        say(f"person  {key.person}\nroles   {' '.join(key.roles) or 'none'}")
    say(f"secret  {secret}")
    say("The secret is shown this once. Send it as `Authorization: Bearer SECRET`.")


def _rotate(database: Database, given: argparse.Namespace) -> None:
    done = rotate_key(database, given.id, _span(hours=given.grace_hours))
    if done is None:
        raise CommandError(f"there is no key {given.id} in force")
    new, secret, old = done
    say(f"id      {new.id}\ntenant  {new.tenant}\nscopes  {' '.join(new.scopes)}\nsecret  {secret}")
    say(f"The secret is shown this once. The old key {old.id} ends {old.expires_at:%Y-%m-%d %H:%M} UTC.")


def _span(**length: float) -> timedelta:
    (unit, count), *_ = length.items()
    if not 0 <= count <= _LONGEST_DAYS * 24:
        raise CommandError(f"{count:g} {unit} is not between 0 and {_LONGEST_DAYS} days")
    return min(timedelta(**length), timedelta(days=_LONGEST_DAYS))


def _state(key: Key) -> str:
    state = {"revoked": "revoked", "expired": "expired", "in_force": "in force"}[key.state]
    when = key.revoked_at or key.expires_at
    state += f" {when:%Y-%m-%d}" if key.state != "in_force" else f" until {when:%Y-%m-%d}" if when else ""
    return f"{state}, used {key.last_used_at:%Y-%m-%d %H:%M}" if key.last_used_at else f"{state}, never used"


def _who(person: str, roles: list[str]) -> tuple[str, tuple[str, ...]]:
    if not person.isprintable() or len(person) > _LONGEST_PERSON:
        raise CommandError(f"a person is named in 1 to {_LONGEST_PERSON} characters that can be printed")
    if roles and not person:
        raise CommandError("a role belongs to a person: give --person too")
    if wrong := [r for r in roles if not _ROLE.fullmatch(r)]:
        raise CommandError(f"a role is 1 to 40 small letters, digits and underscores, not {wrong[0]!r}")
    if len(roles) > _MOST_ROLES:
        raise CommandError(f"one person has at most {_MOST_ROLES} roles")
    return person, tuple(dict.fromkeys(roles))
