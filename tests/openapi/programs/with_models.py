"""Books, starts and sweeps with the models that datamodel-code-generator made: `URL DEMO STARTUP SWEEP`."""

import json
import sys
from pathlib import Path
from typing import Any

import httpx
from coldwright_models import BookingFleet, BookingOrder, KeptBooking, KeptStartup, StartupDocument, Sweep, SweepTable
from pydantic import BaseModel

url, demo, startup, sweep = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]), Path(sys.argv[4])
client = httpx.Client(base_url=url, timeout=60, headers={"content-type": "application/json"})


def read(path: Path) -> dict[str, Any]:
    decoded: dict[str, Any] = json.loads(path.read_text())
    return decoded


def text(model: BaseModel) -> str:
    return model.model_dump_json(by_alias=True, exclude_unset=True)


def ask(method: str, path: str, status: int, body: BaseModel | None = None) -> bytes:
    reply = client.request(method, path, content=None if body is None else text(body))
    assert reply.status_code == status, reply.text
    return reply.content


ask("PUT", "/v1/fleets/demo", 201, BookingFleet.model_validate(read(demo / "fleet.json")))
sent = read(demo / "order-indoor.json") | {"fleet_id": "demo"}
sent.pop("fleet", None)
order = BookingOrder.model_validate(sent)
assert json.loads(text(order)) == sent, "an order goes out as it came in"
booked = KeptBooking.model_validate_json(ask("PUT", f"/v1/bookings/{order.reference}", 201, order))
assert booked.state.value == "held"
answer = ask("GET", f"/v1/bookings/{order.reference}", 200)
assert json.loads(text(KeptBooking.model_validate_json(answer))).keys() == json.loads(answer).keys()
KeptStartup.model_validate_json(ask("PUT", "/v1/startups/S-1", 201, StartupDocument.model_validate(read(startup))))
table = SweepTable.model_validate_json(ask("POST", "/v1/sweeps", 200, Sweep.model_validate(read(sweep))))
assert len(table.rows) > 1
client.close()
