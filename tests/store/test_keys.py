"""The life of a key in the store: rotation, its end, its last use."""

from datetime import UTC, datetime, timedelta

from coldwright.store import Database
from coldwright.store.keys import create_key, get_key, list_keys, note_uses, rotate_key


def test_a_rotated_key_goes_on_for_the_grace_and_no_longer(database: Database) -> None:
    key, _ = create_key(database, "acme", ("book",), "office", "us", person="ann", roles=("electrician",))
    done = rotate_key(database, key.id, timedelta(hours=1))
    assert done is not None
    new, secret, old = done
    assert secret.startswith("cwk_")
    assert (new.scopes, new.units, new.person, new.roles) == (("book",), "us", "ann", ("electrician",))
    assert new.expires_at is None
    assert old.expires_at is not None
    assert timedelta(minutes=59) < old.expires_at - datetime.now(UTC) <= timedelta(hours=1)
    assert rotate_key(database, key.id, timedelta(0), "other") is None, "of another tenant"
    assert rotate_key(database, new.id, timedelta(0)) is not None
    assert rotate_key(database, new.id, timedelta(0)) is None, "it has ended"
    assert {k.state for k in list_keys(database, "acme")} == {"in_force", "expired"}
    assert list_keys(database, "other") == []


def test_a_key_that_was_to_end_is_followed_by_one_that_lasts_as_long(database: Database) -> None:
    ends = datetime.now(UTC) + timedelta(days=30)
    key, _ = create_key(database, "acme", ("book",), expires_at=ends)
    done = rotate_key(database, key.id, timedelta(days=90))
    assert done is not None
    new, _, old = done
    assert old.expires_at == key.expires_at, "grace never makes a key last longer"
    assert new.expires_at is not None
    assert abs(new.expires_at - ends) < timedelta(minutes=1)


def test_last_use_is_kept_and_never_goes_back(database: Database) -> None:
    key, _ = create_key(database, "acme", ("book",))
    late = datetime.now(UTC)
    note_uses(database, {key.id: late, "gone": late})
    note_uses(database, {key.id: late - timedelta(hours=1)})
    kept = get_key(database, key.id)
    assert kept is not None
    assert kept.last_used_at == late
