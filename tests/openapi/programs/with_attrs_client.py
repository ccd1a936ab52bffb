"""Books, starts and sweeps with the package that openapi-python-client made: `URL DEMO STARTUP SWEEP`."""

import json
import sys
from pathlib import Path
from typing import Any

from coldwright_client import Client
from coldwright_client.api.exploration import evaluate_sweep
from coldwright_client.api.plans import confirm_booking, get_booking, list_bookings, put_booking, put_fleet
from coldwright_client.api.startups import get_startup, put_startup
from coldwright_client.models import (
    BookingFleet,
    BookingOrder,
    KeptBooking,
    KeptFleet,
    StartupDocument,
    Sweep,
    SweepTable,
)
from coldwright_client.types import Response

url, demo, startup, sweep = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]), Path(sys.argv[4])


def read(path: Path) -> dict[str, Any]:
    decoded: dict[str, Any] = json.loads(path.read_text())
    return decoded


def same(reply: Response[Any], status: int, kind: type) -> Any:
    """The typed answer, which says all that came over the wire and nothing else."""
    assert reply.status_code == status, reply.content
    assert isinstance(reply.parsed, kind), reply.parsed
    return reply.parsed


client = Client(base_url=url, timeout=60, raise_on_unexpected_status=True)
fleet = BookingFleet.from_dict(read(demo / "fleet.json"))
same(put_fleet.sync_detailed("demo", client=client, body=fleet), 201, KeptFleet)
sent = read(demo / "order-indoor.json") | {"fleet_id": "demo"}
sent.pop("fleet", None)
order = BookingOrder.from_dict(sent)
assert order.to_dict() == sent, "an order goes out as it came in"
reference = order.reference
booked = same(put_booking.sync_detailed(reference, client=client, body=order), 201, KeptBooking)
assert booked.state.value == "held"
raw = client.get_httpx_client().get(f"/v1/bookings/{reference}").json()
read_back = same(get_booking.sync_detailed(reference, client=client), 200, KeptBooking)
assert read_back.assessment.to_dict() == raw["assessment"], "nothing of the plan is lost in the types"
again = same(put_booking.sync_detailed(reference, client=client, body=order), 200, KeptBooking)
assert again.revision == 1
refused = put_booking.sync_detailed(reference, client=client, body=BookingOrder.from_dict(sent | {"practice": "iec"}))
assert refused.status_code == 428, refused.content
assert refused.parsed.type_.endswith("/problems/precondition-missing"), refused.parsed
confirmed = same(confirm_booking.sync_detailed(reference, client=client), 200, KeptBooking)
assert confirmed.state.value == "confirmed"
assert [b.reference for b in list_bookings.sync(client=client).bookings] == [reference]
document = StartupDocument.from_dict(read(startup))
assert put_startup.sync_detailed("S-1", client=client, body=document).status_code == 201
verdict = get_startup.sync("S-1", client=client)
assert verdict.verdict.results.status.value in ("wait", "blocked"), verdict
table = same(evaluate_sweep.sync_detailed(client=client, body=Sweep.from_dict(read(sweep))), 200, SweepTable)
assert len(table.rows) > 1
client.get_httpx_client().close()
