// Books, starts and sweeps with the functions that hey-api made: `URL DEMO STARTUP SWEEP`.
import { strict as assert } from "node:assert";
import { readFileSync } from "node:fs";
import { evaluateSweep, getStartup, putBooking, putFleet, putStartup, returnBooking } from "./sdk";
import { client } from "./sdk/client.gen";
import type { BookingFleet, BookingOrder, StartupDocument, Sweep } from "./sdk";

const [url, demo, startup, sweep] = process.argv.slice(2) as [string, string, string, string];
const read = <T>(path: string): T => JSON.parse(readFileSync(path, "utf-8")) as T;

async function main(): Promise<void> {
  client.setConfig({ baseUrl: url });
  const kept = await putFleet({ path: { id: "demo" }, body: read<BookingFleet>(`${demo}/fleet.json`) });
  assert.equal(kept.data?.version, 1);
  const { fleet: _, ...sent } = read<BookingOrder>(`${demo}/order-indoor.json`);
  const order: BookingOrder = { ...sent, fleet_id: "demo" };
  const booked = await putBooking({ path: { reference: order.reference }, body: order });
  assert.equal(booked.data?.state, "held");
  const refused = await returnBooking({ path: { reference: order.reference } });
  assert.equal(refused.error?.status, 409);
  const started = await putStartup({ path: { id: "S-1" }, body: read<StartupDocument>(startup) });
  assert.equal(started.response?.status, 201);
  const verdict = await getStartup({ path: { id: "S-1" } });
  assert.ok(typeof verdict.data === "object" && ["wait", "blocked"].includes(verdict.data.verdict.results.status));
  const swept = await evaluateSweep({ body: read<Sweep>(sweep) });
  assert.ok(typeof swept.data === "object" && swept.data.rows.length > 1);
}

main().catch((error: unknown) => {
  console.error(error);
  process.exit(1);
});
