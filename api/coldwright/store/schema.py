"""Tables of the store. A change here needs a migration in `migrations/versions`; a test compares the two."""

from sqlalchemy import BigInteger, Column, Float, Index, Integer, LargeBinary, String, Table, Text, text

from coldwright.store.columns import Packed, by_code, instant
from coldwright.store.columns import metadata as metadata  # with every table in it
from coldwright.store.job_tables import job_chunks as job_chunks
from coldwright.store.job_tables import job_items as job_items
from coldwright.store.job_tables import jobs as jobs

api_keys = Table(
    "api_keys",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("tenant", String(64), nullable=False, index=True),
    Column("name", String(200), nullable=False),
    Column("hash", LargeBinary(32), nullable=False, unique=True),
    Column("scopes", String(200), nullable=False),
    Column("units", String(10), nullable=False),
    Column("person", String(200), nullable=False),
    Column("roles", String(400), nullable=False),
    instant("created_at"),
    instant("revoked_at", nullable=True),
    instant("expires_at", nullable=True),
    instant("last_used_at", nullable=True),
)

sessions = Table(
    "sessions",
    metadata,
    Column("hash", LargeBinary(32), primary_key=True),
    Column("key_id", String(32), nullable=False),
    instant("created_at"),
    instant("expires_at"),
    Column("holder", Text, nullable=False, server_default=""),
)
"""People who signed in: with a key, and a session is never more than its key and ends with it; or through an identity
provider, with what it said of them as JSON, and no key."""

records = Table(
    "records",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("digest", String(64), primary_key=True),
    Column("calculator", String(100), nullable=False),
    Column("version", String(40), nullable=False),
    Column("outcome", String(20), nullable=False),
    Column("given", Packed(), nullable=False),
    Column("answer", Packed(), nullable=False),
    instant("created_at"),
)

fleets = Table(
    "fleets",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("id", String(100), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("document", LargeBinary, nullable=False),
    Column("etag", String(64), nullable=False),
    instant("created_at"),
)

bookings = Table(
    "bookings",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("reference", String(100), primary_key=True),
    Column("revision", Integer, primary_key=True),
    Column("document", LargeBinary, nullable=False),
    Column("etag", String(64), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("outcome", String(20), nullable=False),
    Column("period_from", String(40), nullable=False),
    Column("period_to", String(40), nullable=False),
    Column("site", String(200), nullable=False),
    Column("fleet", String(100), nullable=False),
    Column("fleet_version", Integer, nullable=False),
    Column("sent", LargeBinary, nullable=False),
    Column("standing", Integer, nullable=False),
    instant("created_at"),
)
"""Revisions. `sent` is the order as it came, `document` the same with its defaults; `standing` 0 is a proposal."""

booking_heads = Table(
    "booking_heads",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("reference", String(100), primary_key=True),
    Column("state", String(20), nullable=False),
    Column("wished", String(20), nullable=False),
    instant("held_until", nullable=True),
    Column("revision", Integer, nullable=False),
    Column("standing", Integer, nullable=False),
    Column("changes", Integer, nullable=False),
    Column("etag", String(64), nullable=False),
    Column("outcome", String(20), nullable=False),
    Column("period_from", String(40), nullable=False),
    Column("period_to", String(40), nullable=False),
    Column("site", String(200), nullable=False),
    Column("customer", String(200), nullable=False),
    Column("fleet", String(100), nullable=False),
    Column("fleet_version", Integer, nullable=False),
    Column("calculator_version", String(40), nullable=False),
    Column("severity", Integer, nullable=False),
    Column("why", Text, nullable=False),
    instant("created_at"),
    instant("updated_at"),
    instant("check_wanted", nullable=True),
    Column("latitude", Float, nullable=True),
    Column("longitude", Float, nullable=True),
    Column("site_folded", Text, nullable=False, server_default=""),
    Column("customer_folded", Text, nullable=False, server_default=""),
    Column("length_class", Integer, nullable=False, server_default="3"),
    Index("ix_booking_heads_period", "tenant", "period_from", "reference"),
    Index("ix_booking_heads_updated", "tenant", "updated_at", "reference"),
    Index("ix_booking_heads_severity", "tenant", "severity", "period_from", "reference"),
    Index("ix_booking_heads_fleet_period", "tenant", "fleet", "period_from", "reference"),
    Index("ix_booking_heads_state", "tenant", "state", "period_from", "reference"),
    Index("ix_booking_heads_outcome", "tenant", "outcome", "period_from", "reference"),
    Index("ix_booking_heads_length", "tenant", "length_class", "period_from", "reference", "period_to"),
    Index(
        "ix_booking_heads_proposed",
        *("tenant", "period_from", "reference"),
        sqlite_where=text("standing <> revision"),
        postgresql_where=text("standing <> revision"),
    ),
    Index("ix_booking_heads_site", "tenant", "site_folded", "reference"),
    Index("ix_booking_heads_customer", "tenant", "customer_folded", "reference"),
    Index("ix_booking_heads_check", "check_wanted"),
)
"""One row a booking: its state, which revision stands, whether its plan still holds (severity 0), and what lists show.
`calculator_version` stands for the versions and tables that its assessment rests on."""

name_endings = Table(
    "name_endings",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("ending", by_code(40), primary_key=True),
    Column("name", String(600), primary_key=True),
    sqlite_with_rowid=False,
)
"""Every ending of every name of a site or customer, folded, cut after 40 letters: `hall 7`, `all 7`, `ll 7`, ... A part of a
name is the beginning of one of its endings, so this table's own order finds it."""

booking_moves = Table(
    "booking_moves",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("reference", String(100), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("door", String(20), nullable=False),
    Column("state", String(20), nullable=False),
    Column("reason", Text, nullable=False),
    Column("caller", String(200), nullable=False),
    instant("moved_at"),
)
"""How a booking came to its state: append-only."""

booking_labels = Table(
    "booking_labels",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("reference", String(100), primary_key=True),
    Column("name", String(100), primary_key=True),
    Column("value", String(500), nullable=False),
    Index("ix_booking_labels_value", "tenant", "name", "value"),
)
"""The caller's own fields of a booking (`metadata` on the wire)."""

allocations = Table(
    "allocations",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("reference", String(100), primary_key=True),
    Column("fleet", String(100), primary_key=True),
    Column("item", String(200), primary_key=True),
    Column("count", Integer, nullable=False),
    Column("period_from", String(40), nullable=False),
    Column("period_to", String(40), nullable=False),
    Column("blocked_to", String(40), nullable=False),
    Column("out", Integer, nullable=False),
    Column("precedence", String(160), nullable=False),
    instant("until", nullable=True),
    Index("ix_allocations_fleet", "tenant", "fleet", "item"),
    Index("ix_allocations_item", "tenant", "item"),
    Index("ix_allocations_period", "tenant", "fleet", "blocked_to"),
)
"""What bookings hold of a fleet: `blocked_to` counts the days of turnaround, `out` 1 is on hire and not back,
`until` is when a hold lapses, and the smaller `precedence` keeps its stock when a fleet shrinks."""

fleet_machines = Table(
    "fleet_machines",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("fleet", String(100), primary_key=True),
    Column("serial", String(100), primary_key=True),
    Column("type", String(100), nullable=False),
    Column("state", String(20), nullable=False),
    Column("note", Text, nullable=False),
    Column("since", String(10), nullable=False),
    Column("until", String(10), nullable=False),
    Column("etag", String(64), nullable=False),
    instant("updated_at"),
)
"""Machines of a fleet by serial number. Out of service from `since` to `until`, both included; empty: no end known."""

assignments = Table(
    "assignments",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("reference", String(100), primary_key=True),
    Column("fleet", String(100), primary_key=True),
    Column("serial", String(100), primary_key=True),
    Column("type", String(100), nullable=False),
    Column("period_from", String(40), nullable=False),
    Column("blocked_to", String(40), nullable=False),
    Index("ix_assignments_serial", "tenant", "fleet", "serial"),
    Index("ix_assignments_of_serial", "tenant", "serial"),
)
"""Which machines, by serial number, a confirmed booking takes."""

forecasts = Table(
    "forecasts",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("id", String(100), primary_key=True),
    Column("version", Integer, nullable=False),
    Column("document", Packed(), nullable=False),
    Column("etag", String(64), nullable=False),
    Column("first_day", String(10), nullable=False),
    Column("last_day", String(10), nullable=False),
    instant("created_at"),
)
"""Forecasts as they were put: the newest version of each."""

forecast_days = Table(
    "forecast_days",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("forecast", String(100), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("day", String(10), primary_key=True),
    Column("site", String(200), nullable=False),
    Column("latitude", Float, nullable=True),
    Column("longitude", Float, nullable=True),
    Column("reach", Float, nullable=False),
    Column("hottest", Float, nullable=True),
    Column("coldest", Float, nullable=True),
    Column("wind", Float, nullable=True),
    Column("gust", Float, nullable=True),
    Index("ix_forecast_days_site", "tenant", "site", "day"),
)
"""The extremes of each day at each place of a forecast: degC and m/s. A place is a site by its folded name, or a point on
the map with its reach in km."""

schedules = Table(
    "schedules",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("id", String(100), primary_key=True),
    Column("document", LargeBinary, nullable=False),
    Column("etag", String(64), nullable=False),
    Column("forecast", String(100), nullable=False),
    instant("next_at", nullable=True),
    instant("last_at", nullable=True),
    Column("last_count", Integer, nullable=False),
    instant("created_at"),
    Index("ix_schedules_next_at", "next_at"),
)
"""When open bookings are looked at again without anything of ours having changed: at a time of the day (`next_at`), or
when a forecast is put (`forecast`)."""

events = Table(
    "events",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("number", BigInteger, primary_key=True),
    Column("kind", String(60), nullable=False),
    Column("subject", String(200), nullable=False),
    Column("body", LargeBinary, nullable=False),
    instant("happened_at"),
    Index("ix_events_subject", "tenant", "subject", "number"),
)
"""What happened, written with the change itself. Numbers count up by one in each tenant, without gaps."""

webhooks = Table(
    "webhooks",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("id", String(100), primary_key=True),
    Column("url", Text, nullable=False),
    Column("kinds", Text, nullable=False),
    Column("state", String(20), nullable=False),
    Column("why", Text, nullable=False),
    Column("secrets", LargeBinary, nullable=False),
    Column("queued_to", BigInteger, nullable=False),
    Column("etag", String(64), nullable=False),
    instant("created_at"),
)
"""Addresses that events are sent to. `queued_to` is the last event that was looked at for it."""

deliveries = Table(
    "deliveries",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("webhook", String(100), primary_key=True),
    Column("number", BigInteger, primary_key=True),
    Column("state", String(20), nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("said", Text, nullable=False),
    instant("next_at"),
    instant("happened_at"),
    Index("ix_deliveries_due", "state", "next_at"),
)
"""An event on its way to an address: `waiting`, `sent` or `dead`; `said` is what the last attempt came to."""

startups = Table(
    "startups",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("id", String(100), primary_key=True),
    Column("document", LargeBinary, nullable=False),
    Column("etag", String(64), nullable=False),
    Column("booking", String(200), nullable=False),
    Column("machine", String(200), nullable=False),
    Column("state", String(20), nullable=False),
    Column("state_of", BigInteger, nullable=False),
    instant("state_until", nullable=True),
    Column("stops", Text, nullable=False),
    Column("carries", LargeBinary, nullable=False),
    Column("rests_on", String(40), nullable=False),
    instant("created_at"),
    instant("changed_at"),
    Index("ix_startups_machine", "tenant", "machine"),
    Index("ix_startups_booking", "tenant", "booking"),
    Index("ix_startups_state_of", "state_of"),
    Index("ix_startups_state_until", "state_until"),
)
"""`machine` is folded, so that two spellings of one name are one machine. `state` is what the newest verdict said of the
first `state_of` observations, `stops` what it stopped and why; it holds until `state_until`, or as long as nothing
arrives. `carries` are the records that go along into the next start of the same machine, as the verdict takes them. All that
was concluded by the rules that `rests_on` stands for: where others are installed it is concluded anew."""

shared_starts = Table(
    "shared_starts",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("startup", String(100), primary_key=True),
    Column("name", String(300), primary_key=True),
    Column("bodies", LargeBinary, nullable=False),
    Index("ix_shared_starts_name", "tenant", "name"),
)
"""What a start says against the others of its source or loop: `name` is the field and the name given there, folded."""

configurations = Table(
    "configurations",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("startup", String(100), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("document", LargeBinary, nullable=False),
    Column("digest", String(64), nullable=False),
    Column("loosened", LargeBinary, nullable=False),
    Column("person", String(200), nullable=False),
    Column("reason", Text, nullable=False),
    Column("caller", String(64), nullable=False),
    instant("changed_at"),
)
"""Every configuration that a start-up ever had: a verdict of then is judged by the one of then."""

observations = Table(
    "observations",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("startup", String(100), primary_key=True),
    Column("sequence", BigInteger, primary_key=True),
    Column("observation", String(200), nullable=False),
    Column("content", String(64), nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("counted", LargeBinary, nullable=False),
    Column("caller", String(64), nullable=False),
    instant("sent_at", nullable=True),
    instant("received_at"),
    Index("uq_observations_content", "tenant", "startup", "observation", "content", unique=True),
)
"""`body` is what was sent; `counted` is what the verdict rests on: the same with who sent it, when it arrived and how far
its time may be off."""

verdicts = Table(
    "verdicts",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("startup", String(100), primary_key=True),
    Column("sequence", BigInteger, primary_key=True),
    Column("observation_count", Integer, nullable=False),
    Column("status", String(20), nullable=False),
    Column("meaning", String(64), nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("caller", String(64), nullable=False),
    Column("configuration", String(64), nullable=False),
    Column("calculator", String(200), nullable=False),
    instant("told_at"),  # when it was sent: the name that kept stores and archives have
)

locks = Table(
    "locks",
    metadata,
    Column("tenant", String(64), primary_key=True),
    Column("name", String(200), primary_key=True),
    Column("remark", Text, nullable=False, default=""),
)
"""Rows to lock on PostgreSQL so that two orders for the last machine come one after the other."""

plugin_ids = Table(
    "plugin_ids",
    metadata,
    Column("id", String(101), primary_key=True),
    Column("distribution", String(200), nullable=False),
    instant("registered_at"),
)
"""Who registered an id of a third party's calculator first: see `registry.ownership`. Of the installation, of no tenant."""

rate_windows = Table(
    "rate_windows",
    metadata,
    Column("name", String(200), primary_key=True),
    Column("count", BigInteger, nullable=False),
    Column("ends_at", Float, nullable=False),
)
"""Requests of a key or a tenant in the running minute; `ends_at` in seconds since 1970. Counts only: they may be lost."""

probes = Table(
    "probes",
    metadata,
    Column("name", String(20), primary_key=True),
    Column("filler", LargeBinary, nullable=False),
)
"""A row that is written now and then to see whether anything can be kept."""
